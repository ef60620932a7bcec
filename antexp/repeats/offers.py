"""An honest day out: what the stated time can do, side by side (method section 7)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import timedelta
from typing import Any

from antexp.design.order_facts import clock
from antexp.errors import PlanError
from antexp.plan.model import Plan
from antexp.plan.sittings import Sitting
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.what_if import Days, ModelledDay, can_be_ordered, with_changes

ALL = "all candidates, coarsely"
FEWER = "fewer candidates, finely"
TWO_DAYS = "two days"

_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Offer:
    """One way to spend the time.

    Attributes
    ----------
    kind : str
        ``"all candidates, coarsely"``, ``"fewer candidates, finely"`` or ``"two days"``.
    candidates : tuple of str
        What is compared, the reference first.
    left_out : tuple of str
        What is not; for the second offer the ones last named, as a proposal.
    blocks, swaps : int
    hours : float
        Of swapping, breaks not counted.
    clock : tuple of str
        Start and end of the swapping in each block where the plan has sittings: ``"09:30-10:05"``.
    resolution_db, detectable_db : float, dB
    chance, chance_cautious : float
        Of noticing a gap of matter_db; NaN without one.
    reaches_chance : bool
        Whether the wanted chance is reached.
    advice : str
        Which candidates to drop or to treat as one; empty where there is nothing to say.
    """

    kind: str
    candidates: tuple[str, ...]
    left_out: tuple[str, ...]
    blocks: int
    swaps: int
    hours: float
    clock: tuple[str, ...]
    resolution_db: float
    detectable_db: float
    chance: float
    chance_cautious: float
    reaches_chance: bool
    advice: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return the offer as the JSON document holds it."""
        return asdict(self)


def offers(plan: Plan, factors: Mapping[str, float], chosen: ModelledDay | None = None) -> tuple[Offer, ...]:
    """Set three ways to spend the stated time side by side.

    Parameters
    ----------
    plan : Plan
        With `field.hours` or `field.sittings`; its `field.blocks` is not used.
    factors : mapping of str to float
        Of the cautious spreads.
    chosen : ModelledDay, optional
        The day that fills the stated time, where it is laid out already.

    Returns
    -------
    tuple of Offer
        Those that can be laid out and judged: all candidates in the time; the most candidates whose chance reaches
        the wanted one (with two left where none does); all candidates on two such days.
    """
    if plan.field.minutes_available is None:
        return ()
    free = with_changes(plan, field={"blocks": None})
    found = [_offer(ALL, free, factors, day=chosen), _fewer(free, factors), _offer(TWO_DAYS, _twice(free), factors)]
    return tuple(offer for offer in found if offer is not None)


def _offer(kind: str, plan: Plan, factors: Mapping[str, float], advice: str = "",
           left_out: tuple[str, ...] = (), day: ModelledDay | None = None) -> Offer | None:
    """Weigh a plan; None where it leaves no day that can be judged."""
    days, spreads = Days(plan), spreads_of(plan)
    day = day or days.day()
    if day is None or not can_be_ordered(chances := days.chances(day, spreads)):
        return None
    cautious = days.chances(day, spreads.times(**factors))
    names = (plan.reference, *plan.others)
    hours = day.swaps * plan.field.minutes_per_swap / 60.0
    return Offer(kind, names, left_out, day.blocks, day.swaps, hours, _clock(plan, day), chances.resolution_db,
                 chances.detectable_db, chances.chance, cautious.chance, bool(chances.chance >= plan.question.chance),
                 advice)


def _fewer(plan: Plan, factors: Mapping[str, float]) -> Offer | None:
    """Drop candidates, the last named first, until the wanted chance is reached."""
    names = list(plan.others)
    last = None
    for kept in range(len(names) - 1, 0, -1):
        left_out = tuple(names[kept:])
        offer = _offer(FEWER, _only(plan, names[:kept]), factors, _advice(plan, len(left_out)), left_out)
        last = offer or last
        if offer is not None and (offer.reaches_chance or plan.question.matter_db is None):
            return offer
    return last


def _only(plan: Plan, names: list[str]) -> Plan:
    """Return the plan with the reference and some candidates only."""
    kept = tuple(c for c in plan.candidates if c.name == plan.reference or c.name in names)
    return plan.model_copy(update={"candidates": kept})


def _twice(plan: Plan) -> Plan:
    """Return the plan with its hours twice; sittings are held again on another day."""
    sittings = plan.field.sittings
    if sittings:
        return with_changes(plan, field={"sittings": (*sittings, *(_later(each, sittings) for each in sittings))})
    return with_changes(plan, field={"hours": 2 * (plan.field.hours or 0.0)})


def _later(sitting: Sitting, sittings: tuple[Sitting, ...]) -> Sitting:
    """Return a sitting after all the others, where it has a date."""
    days = [each.day for each in sittings if each.day is not None]
    return sitting if sitting.day is None else replace(sitting, day=sitting.day + (max(days) - min(days)) + _ONE_DAY)


def _clock(plan: Plan, day: ModelledDay) -> tuple[str, ...]:
    """Return the clock times of the blocks, where there are any."""
    counts = day.table.groupby("block", sort=False).size()
    times = []
    for start, swaps in zip(day.block_starts, counts, strict=False):
        if start is not None:
            times.append(f"{clock(start)}-{clock(start + swaps * plan.field.minutes_per_swap)}")
    return tuple(times)


def _advice(plan: Plan, count: int) -> str:
    """Say which candidates to drop or to treat as one."""
    alike = _alike(plan)
    if alike:
        pairs = "; ".join(f"“{one}” and “{other}”" for one, other in alike[: max(1, count)])
        return (f"Physics expects hardly any difference between {pairs}: treat them as one, or drop one of them. Else "
                "drop those you could live without.")
    return ("Drop those you could live without, or treat as one what is made alike; the ones last named in the plan "
            "are left out here.")


def _alike(plan: Plan) -> list[tuple[str, str]]:
    """Return pairs whose conductor losses are expected to be nearer than a fifth of matter_db, the nearest first."""
    from antexp.plan.expected_losses import expected_losses

    if plan.question.matter_db is None or plan.radio.frequency_mhz is None:
        return []
    try:
        found = expected_losses(plan)
    except PlanError:
        return []
    loss = {c.name: c.conductor_loss_db for c in found.candidates if c.conductor_loss_db is not None}
    names = list(loss)
    pairs = [(abs(loss[a] - loss[b]), a, b) for i, a in enumerate(names) for b in names[i + 1 :]]
    return [(a, b) for gap, a, b in sorted(pairs) if gap < plan.question.matter_db / 5]
