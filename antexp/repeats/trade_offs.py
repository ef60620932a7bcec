"""The same hours spent otherwise: readings against swaps, specimens against repeats, one long day against two short."""

from __future__ import annotations

from typing import Any

import pandas as pd

from antexp.plan.model import Plan
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.what_if import Days, can_be_ordered, with_changes

# From one reading of a hanging to the next; common practice, no source.
MINUTES_PER_READING = 0.3
_READINGS = (1, 2, 3, 5, 10, 20)
_SPECIMENS = (1, 2, 3)


def trade_offs(plan: Plan, hours: float, minutes_per_reading: float = MINUTES_PER_READING) -> pd.DataFrame:
    """Spend the same hours in different ways.

    Parameters
    ----------
    plan : Plan
    hours : float
        Of swapping.
    minutes_per_reading : float, minutes
        By which a swap becomes longer with each reading more than the plan's, or shorter with each less.

    Returns
    -------
    DataFrame
        One row a way: ``choice, setting, as_planned, blocks, swaps, hours, scope, detectable_db, chance``. Ways that
        leave no day that can be judged have no detectable gap and the chance 0.
    """
    base = with_changes(plan, field={"blocks": None, "hours": hours, "sittings": None})
    rows = [*_readings(base, minutes_per_reading), *_specimens(base), *_days(base, hours)]
    return pd.DataFrame(rows)


def _readings(plan: Plan, minutes_per_reading: float) -> list[dict[str, Any]]:
    """Take more or fewer readings of each swap."""
    planned, minutes = plan.meter.readings, plan.field.minutes_per_swap
    rows = []
    for readings in sorted({*_READINGS, planned}):
        longer = minutes + (readings - planned) * minutes_per_reading
        if longer > 0:
            changed = with_changes(plan, meter={"readings": readings}, field={"minutes_per_swap": longer})
            setting = f"{readings} reading{'s' if readings > 1 else ''} a swap, {longer:.3g} min"
            rows.append(_row("readings against swaps", setting, readings == planned, changed))
    return rows


def _specimens(plan: Plan) -> list[dict[str, Any]]:
    """Make one or several specimens of every candidate."""
    planned = {candidate.specimens for candidate in plan.candidates}
    rows = []
    for count in _SPECIMENS:
        candidates = tuple(candidate.model_copy(update={"specimens": count}) for candidate in plan.candidates)
        changed = plan.model_copy(update={"candidates": candidates})
        setting = f"{count} specimen{'s' if count > 1 else ''} of each"
        rows.append(_row("specimens against repeats", setting, planned == {count}, changed))
    return rows


def _days(plan: Plan, hours: float) -> list[dict[str, Any]]:
    """Spend the hours on one day or on two half days, where each holds whole blocks only."""
    half = Days(with_changes(plan, field={"hours": hours / 2})).day()
    rows = [_row("one long day against two short ones", "one day", True, plan)]
    if half is not None:
        both = with_changes(plan, field={"blocks": 2 * half.blocks, "hours": None})
        rows.append(_row("one long day against two short ones", "two half days", False, both))
    return rows


def _row(choice: str, setting: str, as_planned: bool, plan: Plan) -> dict[str, Any]:
    """Weigh one way."""
    days = Days(plan)
    day = days.day()
    row: dict[str, Any] = {"choice": choice, "setting": setting, "as_planned": as_planned, "blocks": 0, "swaps": 0,
                           "hours": 0.0, "scope": "", "detectable_db": float("nan"), "chance": 0.0}
    if day is None:
        return row
    hours = day.swaps * plan.field.minutes_per_swap / 60.0
    row |= {"blocks": day.blocks, "swaps": day.swaps, "hours": hours}
    chances = days.chances(day, spreads_of(plan))
    if not can_be_ordered(chances):
        return row
    scopes = " and ".join(sorted(set(chances.gaps["scope"])))
    return row | {"scope": scopes, "detectable_db": chances.detectable_db, "chance": chances.chance}
