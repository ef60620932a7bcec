"""How many repeats: the answer before anyone drives out."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from antexp.design.order import make_order
from antexp.design.order_document import Order
from antexp.design.randomisation import Progress
from antexp.errors import Fault, RepeatsError, seed_faults
from antexp.json_text import JsonText
from antexp.notices import Notice
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan
from antexp.plan.words import MOST_BLOCKS
from antexp.repeats.answer_notices import answer_notices
from antexp.repeats.answer_table import answer_table, with_rehearsals
from antexp.repeats.closed_form import Chances
from antexp.repeats.offers import Offer, offers
from antexp.repeats.planned_gaps import Spreads, spreads_of
from antexp.repeats.rehearsed_chance import RehearsedChance, rehearsed_chance
from antexp.repeats.sensitivity import which_guess_matters
from antexp.repeats.trial_day import trial_day
from antexp.repeats.what_if import Days, ModelledDay, cautious_factors, enough_blocks, floor_db
from antexp.views import Viewable


@dataclass(frozen=True, eq=False)
class Answer(JsonText, Viewable):
    """How many repeats, and what they buy.

    Attributes
    ----------
    blocks, swaps : int
        Of the chosen day: the plan's blocks; else as many as its hours hold; else the fewest that reach the chance.
    hours : float
        Of swapping, breaks not counted.
    resolution_db : float, dB
        The smallest observed gap that will be called real; the largest over the asked gaps.
    detectable_db : float, dB
        The true gap that is noticed with the wanted chance.
    chance : float
        Of noticing a true gap of matter_db; the smallest over the asked gaps. NaN without a gap that matters.
    chance_all, chance_settled_if_equal : float
        Of noticing all asked gaps, each at matter_db; of `no gap that matters` for a gap of 0.
    detectable_cautious_db, chance_cautious : float
        At the upper limits of the spreads.
    enough_blocks, enough_cautious_blocks : int or None
        The fewest blocks that reach the wanted chance; None where 200 do not, or no gap matters.
    matter_db : float or None, dB
    wanted_chance, confidence : float
    chosen_by : str
        ``"plan"``, ``"hours"`` or ``"chance"``.
    table : DataFrame
        One row a number of blocks; columns of `antexp.columns.REPEATS`. Blocks that cannot be judged have no
        resolution and the chance 0.
    gaps : DataFrame
        One row a gap of the chosen day: see `antexp.repeats.closed_form.Chances`.
    sensitivity : DataFrame
        Which guess matters most: see `antexp.repeats.sensitivity`.
    offers : tuple of Offer
        With `hours` or `sittings`: three ways to spend them.
    rehearsal : RehearsedChance or None
        The chosen day rehearsed through the code that judges.
    order : Order
        Of the chosen day.
    warnings : tuple of Notice
    """

    blocks: int
    swaps: int
    hours: float
    resolution_db: float
    detectable_db: float
    chance: float
    chance_all: float
    chance_settled_if_equal: float
    detectable_cautious_db: float
    chance_cautious: float
    enough_blocks: int | None
    enough_cautious_blocks: int | None
    matter_db: float | None
    wanted_chance: float
    confidence: float
    chosen_by: str
    table: pd.DataFrame
    gaps: pd.DataFrame
    sensitivity: pd.DataFrame
    offers: tuple[Offer, ...]
    rehearsal: RehearsedChance | None
    order: Order
    warnings: tuple[Notice, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the document that ``antexp repeats --json`` prints."""
        names = [name for name in self.__dataclass_fields__ if name not in ("table", "gaps", "sensitivity", "offers",
                                                                            "rehearsal", "order", "warnings")]
        return {
            **{name: getattr(self, name) for name in names},
            "table": self.table.to_dict(orient="records"),
            "gaps": self.gaps.to_dict(orient="records"),
            "sensitivity": self.sensitivity.to_dict(orient="records"),
            "offers": [offer.to_dict() for offer in self.offers],
            "rehearsal": None if self.rehearsal is None else self.rehearsal.to_dict(),
            "warnings": [notice.to_dict() for notice in self.warnings],
        }


def how_many_repeats(
    plan: str | os.PathLike[str] | Plan,
    *,
    records: int = 10_000,
    seed: int = 1,
    pilot_df: Mapping[str, float] | None = None,
    rehearse_all: bool = False,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Answer how many repeats a plan needs, or what its hours can do.

    Parameters
    ----------
    plan : path or Plan
        The plan file, or what `antexp.read_plan` returns.
    records : int
        Records of the rehearsal of the chosen day; 0 leaves it out.
    seed : int
        Of the rehearsal.
    pilot_df : mapping of str to float, optional
        Degrees of freedom with which a pilot has measured a spread (``rehang_sd_db`` and so on); its upper limit then
        stands for the cautious answer instead of half as much again.
    rehearse_all : bool
        True rehearses every row of the table.
    executor : concurrent.futures.Executor, optional
        Where the rehearsal runs.
    progress : callable, optional
        Called with the share done, 0 … 1, and what is being done.

    Returns
    -------
    Answer

    Raises
    ------
    FileError, PlanError
        When the plan's file is at fault.
    RepeatsError
        Spreads of zero, a gap that even 200 blocks do not notice (with the floor), or nothing that limits the day.
    OrderError
        When the hours do not hold a single block, or the plan leaves no order that can be judged.
    """
    plan = as_plan(plan)
    _check(plan, pilot_df, records, seed)
    report = progress or (lambda share, what: None)
    factors = cautious_factors(pilot_df)
    days, spreads = Days(plan), spreads_of(plan)
    enough = enough_cautious = None
    if plan.question.matter_db is not None:
        enough = enough_blocks(days, spreads)
        enough_cautious = enough_blocks(days, spreads.times(**factors))
    blocks, chosen_by = _choose(days, enough)
    report(0.1, "weighing numbers of blocks")
    order, day, chosen = _ordered(days, spreads, blocks)
    while chosen_by == "chance" and chosen.chance < plan.question.chance and order.blocks < MOST_BLOCKS:
        # the quick draw was a little luckier than the order itself
        order, day, chosen = _ordered(days, spreads, order.blocks + 1)
        enough = order.blocks
    cautious = days.chances(day, spreads.times(**factors))
    table = answer_table(days, enough, factors, day)
    report(0.3, "rehearsing")
    rehearsal = None
    if records and plan.question.matter_db is not None:
        rehearsal = rehearsed_chance(plan, day, chosen, records=records, seed=seed, executor=executor,
                                     progress=lambda share, what: report(0.3 + 0.7 * share, what))
        table = with_rehearsals(days, table, order.blocks, rehearsal, records if rehearse_all else 0, seed, executor)
    found = offers(plan, factors, day if chosen_by == "hours" else None)
    sensitivity = which_guess_matters(days, day, factors)
    report(1.0, "done")
    return Answer(
        blocks=order.blocks, swaps=order.swaps, hours=order.swaps * plan.field.minutes_per_swap / 60.0,
        resolution_db=chosen.resolution_db, detectable_db=chosen.detectable_db, chance=chosen.chance,
        chance_all=chosen.chance_all, chance_settled_if_equal=chosen.chance_settled_if_equal,
        detectable_cautious_db=cautious.detectable_db, chance_cautious=cautious.chance, enough_blocks=enough,
        enough_cautious_blocks=enough_cautious, matter_db=plan.question.matter_db, wanted_chance=plan.question.chance,
        confidence=plan.question.confidence, chosen_by=chosen_by, table=table, gaps=chosen.gaps,
        sensitivity=sensitivity, offers=found, rehearsal=rehearsal, order=order,
        warnings=answer_notices(plan, order, chosen, enough, rehearsal),
    )


def _ordered(days: Days, spreads: Spreads, blocks: int) -> tuple[Order, ModelledDay, Chances]:
    """Return the order of so many blocks, its day and what that can tell."""
    order = make_order(days.plan, blocks=blocks)
    day = replace(days.modelled(order.table), block_starts=order.block_starts)
    return order, day, days.chances(day, spreads, joint=True)


def _check(plan: Plan, pilot_df: Mapping[str, float] | None, records: int, seed: int) -> None:
    """Refuse a question that has no answer."""
    faults = [*seed_faults(seed)]
    if spreads_of(plan).hanging.sd_db == 0.0:
        faults.append(Fault("all scatter is planned as 0, and then one hanging of each would do",
                            "plan, keys field.rehang_sd_db and meter.reading_sd_db", "0 and 0", "at least one above 0",
                            "Hang the reference a few times (a pilot) and see how far its level moves."))
    field = plan.field
    if plan.question.matter_db is None and field.blocks is None and field.minutes_available is None:
        faults.append(Fault("nothing says how long the day is", "plan, section field", "",
                            "field.blocks, field.hours, field.sittings, or question.matter_db",
                            "State one of them: the time there is, or the gap that matters."))
    for name, df in (pilot_df or {}).items():
        if name not in cautious_factors() or not df > 0:
            faults.append(Fault("pilot_df is not understood", got=f"{name} = {df!r}",
                                allowed=f"degrees of freedom above 0 for {', '.join(cautious_factors())}"))
    if records < 0:
        faults.append(Fault("records is not a number of records", got=str(records), allowed="0 or more"))
    if faults:
        raise RepeatsError(faults)


def _choose(days: Days, enough: int | None) -> tuple[int, str]:
    """Return the blocks of the chosen day, and by what they were chosen."""
    plan = days.plan
    if plan.field.blocks is not None:
        return plan.field.blocks, "plan"
    if plan.field.minutes_available is not None:
        day = days.day()
        return trial_day(plan).blocks if day is None else day.blocks, "hours"  # trial_day says what is wrong
    if enough is None:
        matter = plan.question.matter_db
        raise RepeatsError(Fault(
            "no number of blocks reaches the wanted chance", "plan, key question.matter_db", f"{matter:g} dB",
            f"{floor_db(days, spreads_of(plan)):.2g} dB and more: what {MOST_BLOCKS} blocks notice",
            "A larger matter_db, a smaller re-hanging scatter, fewer candidates or a lower chance would do."))
    return enough, "chance"
