"""The table of `antexp.how_many_repeats`: one number of blocks after another, and what it buys."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor
from typing import Any

import numpy as np
import pandas as pd

from antexp.columns import REPEATS
from antexp.plan.model import Plan
from antexp.repeats.closed_form import Chances
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.rehearsed_chance import RehearsedChance, rehearsed_chance
from antexp.repeats.what_if import Days, ModelledDay

# Rows of the table beyond what the chosen day needs.
_FIRST_BLOCKS = 12
_MOST_ROWS = 24


def answer_table(days: Days, enough: int | None, factors: Mapping[str, float], chosen: ModelledDay) -> pd.DataFrame:
    """Weigh one number of blocks after another; the chosen day's row is that of its own order."""
    spreads = spreads_of(days.plan)
    rows = []
    for number in _numbers(chosen.blocks, enough):
        day = chosen if number == chosen.blocks else days.day(number)
        if day is not None:  # so few blocks may not hold every candidate
            chances = days.chances(day, spreads, joint=True)
            rows.append(_row(day, days.plan, chances, days.chances(day, spreads.times(**factors))))
    return pd.DataFrame(rows, columns=list(REPEATS.names))


def _numbers(chosen: int, enough: int | None) -> list[int]:
    """Return the numbers of blocks of the table: 1 … 12, and on to what the day needs, in steps where it is far."""
    last = max(_FIRST_BLOCKS, chosen, enough or 0)
    if last <= _MOST_ROWS:
        return list(range(1, last + 1))
    spaced = np.unique(np.linspace(1, last, _MOST_ROWS).round().astype(int)).tolist()
    return sorted({*spaced, chosen, *([enough] if enough else [])})


def _row(day: ModelledDay, plan: Plan, chances: Chances, cautious: Chances) -> dict[str, Any]:
    """Write one row of the table."""
    return {
        "blocks": day.blocks, "swaps": day.swaps, "hours": day.swaps * plan.field.minutes_per_swap / 60.0,
        "resolution_db": chances.resolution_db, "detectable_db": chances.detectable_db, "chance": chances.chance,
        "chance_all": chances.chance_all, "chance_settled_if_equal": chances.chance_settled_if_equal,
        "chance_rehearsed": np.nan, "chance_rehearsed_se": np.nan,
        "detectable_cautious_db": cautious.detectable_db, "chance_cautious": cautious.chance,
    }


def with_rehearsals(
    days: Days, table: pd.DataFrame, blocks: int, chosen: RehearsedChance, records: int, seed: int,
    executor: Executor | None,
) -> pd.DataFrame:
    """Fill in the rehearsed chances: of the chosen day, and of all days where records are given."""
    shares, errors = [], []
    for number, resolution_db in zip(table["blocks"], table["resolution_db"], strict=True):
        found = chosen if number == blocks else None
        day = days.day(int(number)) if found is None and records and np.isfinite(resolution_db) else None
        if day is not None:
            chances = days.chances(day, spreads_of(days.plan))
            found = rehearsed_chance(days.plan, day, chances, records=records, seed=seed, executor=executor)
        shares.append(np.nan if found is None else found.chance)
        errors.append(np.nan if found is None else found.chance_se)
    return table.assign(chance_rehearsed=shares, chance_rehearsed_se=errors)
