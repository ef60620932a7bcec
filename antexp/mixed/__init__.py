"""The linear mixed model of a swap experiment: arrays in, arrays out; no tables, no files."""
