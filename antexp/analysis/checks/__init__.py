"""Questions to the residuals, one file each: what the model takes for granted, held against the record."""
