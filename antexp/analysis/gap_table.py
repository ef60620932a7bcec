"""The table of gaps: one row a comparison and scope, in the columns the results file promises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pandas as pd

from antexp.analysis.comparisons import Estimates, Limits
from antexp.analysis.more_blocks import more_blocks
from antexp.analysis.result import GAP_COLUMNS
from antexp.analysis.settings import Settings
from antexp.mixed.verdict import CANNOT_TELL, classify


def gap_rows(
    estimates: Estimates, limits: Limits, scopes: list[str], settings: Settings, blocks: int, counts: bool
) -> pd.DataFrame:
    """Write gaps as rows.

    Parameters
    ----------
    estimates : Estimates
        The gaps.
    limits : Limits
        Their limits.
    scopes : list of str, length m
        Scope of each.
    settings : Settings
        With the smallest gap that matters.
    blocks : int
        Blocks done, for `more_blocks`.
    counts : bool
        Whether the rows belong to the family and carry its verdicts.

    Returns
    -------
    DataFrame
        The columns of `GAP_COLUMNS`.
    """
    verdicts = classify(limits.lower_db, limits.upper_db, settings.matter_db)
    half = (limits.upper_db - limits.lower_db) / 2.0
    rows = []
    for i, (candidate, against) in enumerate(estimates.pairs):
        verdict = str(verdicts[i]) if counts else None
        df = float(estimates.degrees_of_freedom[i])
        extra = (
            more_blocks(float(estimates.gap_db[i]), float(half[i]) * settings.end_over_now(df), settings.matter_db,
                        blocks, df)
            if verdict == CANNOT_TELL
            else None
        )
        rows.append(
            {
                "candidate": candidate,
                "against": against,
                "gap_db": float(estimates.gap_db[i]),
                "standard_error_db": float(estimates.standard_error_db[i]),
                "degrees_of_freedom": df,
                "interval_db": [float(limits.lower_db[i]), float(limits.upper_db[i])],
                "p_value": float(limits.p_value[i]),
                "p_adjusted": float(limits.p_adjusted[i]),
                "resolution_db": float(half[i]),
                "detectable_db": float(limits.detectable_db[i]),
                "scope": scopes[i],
                "verdict": verdict,
                "counts": counts,
                "more_blocks": extra,
            }
        )
    return gaps_frame(rows)


def gaps_frame(rows: Sequence[Mapping[str, object]]) -> pd.DataFrame:
    """Put rows of gaps together as a table in the columns of `GAP_COLUMNS`.

    Whole numbers beside None stay whole, which pandas would turn into floats.
    """
    table = pd.DataFrame(rows, columns=list(GAP_COLUMNS)).astype({"counts": bool})
    for name in ("more_blocks", "verdict"):
        table[name] = pd.Series([row[name] for row in rows], index=table.index, dtype=object)
    return table
