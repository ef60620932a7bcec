"""Other ways to the same answer, one file each: where they disagree, something about the record wants explaining."""
