"""From a record to verdicts."""
