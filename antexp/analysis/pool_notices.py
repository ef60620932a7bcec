"""What days put together can and cannot say, as warnings."""

from __future__ import annotations

from collections import Counter

import pandas as pd

from antexp.analysis.pooled_gaps import Pair
from antexp.analysis.result import Judgement
from antexp.notices import Notice, named_gap


def pool_notices(
    days: list[Judgement], gaps: pd.DataFrame, counted: Counter[Pair], matter_db: float | None
) -> list[Notice]:
    """Say what the days can and cannot say together."""
    found = []
    if (gaps["days"] == 2).any():
        found.append(Notice("two-days", "Two days cannot show how much days differ: their common value and each day "
                            "are shown, and no gap is called real on the two together."))
    alone = [named_gap(*pair) for pair, count in counted.items() if count < 2]
    if alone:
        found.append(Notice("one-day-only", f"Only one day tells of: {', '.join(alone)}; left out here."))
    differ = gaps[gaps["heterogeneity_p"] < 0.05]
    if len(differ):
        rows = ", ".join(named_gap(*pair) for pair in zip(differ["candidate"], differ["against"], strict=True))
        found.append(Notice("days-differ", f"The days differ by more than their own errors for: {rows}. What differs "
                            "between them (band, ground, height, specimens) is part of these gaps."))
    found += _specimen_notices(days)
    if matter_db is None:
        found.append(Notice("no-matter-db", "No gap that matters was stated (--matter), so antexp can say which gaps "
                            "are real but not which of them matter."))
    return found


def _specimen_notices(days: list[Judgement]) -> list[Notice]:
    """Say whether the same specimens hung on all days."""
    sets = [set(day.specimens) for day in days]
    if not all(sets) or any(one != sets[0] for one in sets):
        return []
    return [Notice("same-specimens", "The same specimens are named on all days. If they are the same antennas, these "
                   "gaps are about them, however many days there are; new ones cut from the same reels could differ.")]
