"""What a gap is about: these specimens, or any specimen of the candidate (method section 2).

The planner and the judgement ask here, so that what was planned is what will be judged.
"""

from __future__ import annotations

import pandas as pd

THESE = "these specimens"
ANY = "any specimen"

# Fewer specimens than this beyond one a candidate cannot show how specimens differ (method section 2, trial).
_SPARE_SPECIMENS = 4


def specimen_counts(rows: pd.DataFrame) -> pd.Series:
    """Return how many specimens each candidate has."""
    return rows.drop_duplicates(["candidate", "specimen"]).groupby("candidate").size()


def specimens_can_differ(rows: pd.DataFrame) -> bool:
    """Return whether there are enough specimens to say how they differ."""
    counts = specimen_counts(rows)
    return bool(counts.sum() - len(counts) >= _SPARE_SPECIMENS)


def pairs_of_many(rows: pd.DataFrame, pairs: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return the gaps whose candidates both have at least two specimens."""
    counts = specimen_counts(rows)
    return [pair for pair in pairs if counts[pair[0]] >= 2 and counts[pair[1]] >= 2]
