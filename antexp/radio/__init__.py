"""The radio physics behind a gap: arrays in, arrays out; no tables, no files."""
