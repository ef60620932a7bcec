"""Which guess matters most: the chosen day with one guess at a time at its upper limit."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from antexp.plan.model import Plan
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.what_if import GUESS_FACTOR, Days, ModelledDay, with_changes

_GUESSES = {
    "rehang_sd_db": "scatter between hangings",
    "reading_sd_db": "scatter of readings",
    "specimen_sd_db": "scatter between specimens",
    "drift_db_per_hour": "drift",
    "wander_db_per_sqrt_hour": "wandering path",
}


def which_guess_matters(days: Days, day: ModelledDay, factors: Mapping[str, float]) -> pd.DataFrame:
    """Move one guess at a time to its upper limit.

    Parameters
    ----------
    days : Days
        Of the plan.
    day : ModelledDay
        The chosen one.
    factors : mapping of str to float
        Upper limit of each guess over the guess.

    Returns
    -------
    DataFrame
        One row a guess, the one that matters most on top: ``guess, meaning, value, upper, detectable_db, chance,
        detectable_gained_db, chance_lost``. A guess of 0 is left out: half as much again of nothing is nothing.
    """
    plan, spreads = days.plan, spreads_of(days.plan)
    base = days.chances(day, spreads)
    rows = []
    for name, meaning in _GUESSES.items():
        value = getattr(plan.meter if name == "reading_sd_db" else plan.field, name)
        if value > 0:
            there = days.chances(day, spreads.times(**{name: factors[name]}))
            rows.append((name, meaning, value, value * factors[name], there.detectable_db, there.chance))
    slow = _slower_swaps(plan)
    if slow is not None:
        rows.append(slow)
    columns = ["guess", "meaning", "value", "upper", "detectable_db", "chance"]
    found = pd.DataFrame(rows, columns=columns)
    found["detectable_gained_db"] = found["detectable_db"] - base.detectable_db
    found["chance_lost"] = base.chance - found["chance"]
    return found.sort_values("detectable_gained_db", ascending=False, kind="stable").reset_index(drop=True)


def _slower_swaps(plan: Plan) -> tuple[str, str, float, float, float, float] | None:
    """Return the row of swaps that take half as long again, where the hours are what limits the day."""
    if plan.field.minutes_available is None or plan.field.blocks is not None:
        return None
    value = plan.field.minutes_per_swap
    slower = Days(with_changes(plan, field={"minutes_per_swap": value * GUESS_FACTOR}))
    day = slower.day()
    if day is None:
        return None
    there = slower.chances(day, spreads_of(plan))
    return "minutes_per_swap", "time a swap takes", value, value * GUESS_FACTOR, there.detectable_db, there.chance
