"""Chances of a plan under other numbers of blocks, other spreads, other plans: the arithmetic behind every table."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd
from scipy import special

from antexp.design.planned_looks import end_confidence
from antexp.errors import OrderError
from antexp.plan.model import Plan
from antexp.plan.words import MOST_BLOCKS
from antexp.repeats.closed_form import Chances, closed_form
from antexp.repeats.planned_gaps import Spreads, planned_gaps
from antexp.repeats.scoped_model import ScopedModels, scoped_models
from antexp.repeats.trial_day import trial_day

# Without a pilot a guessed spread may well be half as large again (method section 7).
GUESS_FACTOR = 1.5
# Of the upper limit of a spread that a pilot has measured.
PILOT_CONFIDENCE = 0.95


@dataclass(frozen=True)
class ModelledDay:
    """A day with the models that the judgement will fit to it.

    Attributes
    ----------
    table : DataFrame
        One row a swap.
    models : ScopedModels
    blocks, swaps : int
    block_starts : tuple of (float or None)
        As in `antexp.repeats.trial_day.TrialDay`.
    """

    table: pd.DataFrame
    models: ScopedModels
    blocks: int
    swaps: int
    block_starts: tuple[float | None, ...] = ()


class Days:
    """The days of one plan, laid out when they are first asked for.

    Parameters
    ----------
    plan : Plan
    """

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._known: dict[int | None, ModelledDay | None] = {}

    def day(self, blocks: int | None = None) -> ModelledDay | None:
        """Return the day of so many blocks, or of as many as there is room for; None where there is no such day."""
        if blocks not in self._known:
            self._known[blocks] = self._lay_out(blocks)
        return self._known[blocks]

    def chances(self, day: ModelledDay, spreads: Spreads, joint: bool = False) -> Chances:
        """Work out the chances of a day; `chance_all` only where `joint` asks for it."""
        question = self.plan.question
        planned = planned_gaps(day.table, day.models, spreads)
        return closed_form(planned, compare=question.compare, matter_db=question.matter_db,
                           confidence=end_confidence(self.plan.field.may_stop_after, day.blocks, question.confidence),
                           chance=question.chance, joint=joint)

    def modelled(self, table: pd.DataFrame) -> ModelledDay:
        """Return a day that is laid out already."""
        plan = self.plan
        models = scoped_models(table, plan.reference, plan.field.drift, plan.question.compare)
        return ModelledDay(table, models, int(table["block"].nunique()), len(table))

    def _lay_out(self, blocks: int | None) -> ModelledDay | None:
        try:
            trial = trial_day(self.plan, blocks)
        except OrderError:
            return None
        return replace(self.modelled(trial.table), block_starts=trial.block_starts)


def cautious_factors(pilot_df: Mapping[str, float] | None = None) -> dict[str, float]:
    """Return by how much each spread may be larger than guessed.

    Parameters
    ----------
    pilot_df : mapping of str to float, optional
        Degrees of freedom with which a pilot has measured a spread: ``rehang_sd_db``, ``reading_sd_db``,
        ``specimen_sd_db``, ``drift_db_per_hour``, ``wander_db_per_sqrt_hour``.

    Returns
    -------
    dict of str to float
        The one-sided 95 % limit √(ν/χ²) where a pilot knows it, else 1.5.
    """
    names = ("rehang_sd_db", "reading_sd_db", "specimen_sd_db", "drift_db_per_hour", "wander_db_per_sqrt_hour")
    known = {name: upper_factor(df) for name, df in (pilot_df or {}).items()}
    return {name: known.get(name, GUESS_FACTOR) for name in names}


def upper_factor(df: float) -> float:
    """Return the one-sided upper limit of a spread over its estimate, √(ν/χ²₀.₀₅,ν)."""
    return math.sqrt(df / (2.0 * float(special.gammaincinv(df / 2.0, 1.0 - PILOT_CONFIDENCE))))


def enough_blocks(days: Days, spreads: Spreads) -> int | None:
    """Return the smallest number of blocks that notices a gap of matter_db with the wanted chance.

    Parameters
    ----------
    days : Days
        Of a plan with `question.matter_db`.
    spreads : Spreads

    Returns
    -------
    int or None
        None where 200 blocks are not enough.
    """
    low, high = 0, 2  # the chance grows with the blocks: double, then halve
    while not _is_enough(days, high, spreads):
        if high >= MOST_BLOCKS:
            return None
        low, high = high, min(2 * high, MOST_BLOCKS)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _is_enough(days, middle, spreads) else (middle, high)
    return high


def floor_db(days: Days, spreads: Spreads) -> float:
    """Return the gap that 200 blocks notice with the wanted chance, dB; NaN where there is no such day."""
    day = days.day(MOST_BLOCKS)
    return math.nan if day is None else days.chances(day, spreads).detectable_db


def _is_enough(days: Days, blocks: int, spreads: Spreads) -> bool:
    """Tell whether so many blocks are enough; a number that cannot be laid out, or judged, is not."""
    day = days.day(blocks)
    if day is None:
        return False
    chances = days.chances(day, spreads)
    return can_be_ordered(chances) and chances.chance >= days.plan.question.chance


def can_be_ordered(chances: Chances) -> bool:
    """Tell whether the order maker accepts a day: at least four swaps left to judge the scatter by."""
    these = chances.gaps[chances.gaps["scope"] == "these specimens"]
    return not chances.gaps.empty and (these.empty or float(these["degrees_of_freedom"].min()) >= 4)


def with_changes(plan: Plan, **tables: Mapping[str, Any]) -> Plan:
    """Return the plan with some keys of its tables changed: ``with_changes(plan, field={"blocks": 3})``."""
    changed = {name: getattr(plan, name).model_copy(update=dict(update)) for name, update in tables.items()}
    return plan.model_copy(update=changed)
