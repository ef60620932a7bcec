"""How long each wire took to change, from the time stamps of a record."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from antexp.field.record import Record


@dataclass(frozen=True)
class SwapMinutes:
    """How long swaps took.

    Attributes
    ----------
    median : float or None, minutes
        Over all timed swaps; None without time stamps.
    timed : int
        How many swaps could be timed.
    by_candidate : dict of str to (float, int)
        Median of the minutes that hanging this candidate took, and how many swaps it rests on.
    """

    median: float | None
    timed: int
    by_candidate: dict[str, tuple[float, int]]


def swap_minutes(record: Record) -> SwapMinutes:
    """Measure how long swaps took.

    Parameters
    ----------
    record : Record
        Its times must have been written down, as ``minutes`` or ``time``.

    Returns
    -------
    SwapMinutes
        A swap's time runs from the first reading of the swap before to its own first reading, and is put down to the
        wire that went up. The first swap of a block has none, nor has one after a swap that is missing.
    """
    if record.times_from not in ("minutes", "time"):
        return SwapMinutes(None, 0, {})
    first = record.table.groupby(["block", "swap", "candidate"], sort=False)["minutes"].min().reset_index()
    first = first.sort_values(["block", "swap"], kind="stable")
    before = first.groupby("block", sort=False)[["swap", "minutes"]].shift(1)
    follows = first["swap"] - before["swap"] == 1
    taken = (first["minutes"] - before["minutes"])[follows]
    taken = taken[taken > 0]
    if taken.empty:
        return SwapMinutes(None, 0, {})
    each = pd.DataFrame({"candidate": first["candidate"].loc[taken.index], "minutes": taken})
    grouped = each.groupby("candidate", sort=False)["minutes"]
    return SwapMinutes(float(taken.median()), len(taken),
                       {str(name): (float(inside.median()), len(inside)) for name, inside in grouped})
