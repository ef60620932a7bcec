"""The true gap that a plan's own day notices, for whoever sets something else against it."""

from __future__ import annotations

import math

from antexp.design.order import make_order
from antexp.errors import OrderError
from antexp.plan.model import Plan
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.what_if import Days, ModelledDay, enough_blocks


def planned_detectable_db(plan: Plan) -> float | None:
    """Return the true gap that the day as planned notices with the wanted chance.

    Parameters
    ----------
    plan : Plan
        Its blocks; else as many as its hours hold; else the fewest that reach the chance, as
        `antexp.how_many_repeats` chooses.

    Returns
    -------
    float or None, dB
        In closed form; the largest over the asked gaps. None where there is no such day, or nothing scatters in it.
    """
    if spreads_of(plan).hanging.sd_db == 0.0:
        return None
    days = Days(plan)
    day = _day(days)
    if day is None:
        return None
    detectable = days.chances(day, spreads_of(plan)).detectable_db
    return detectable if math.isfinite(detectable) else None


def _day(days: Days) -> ModelledDay | None:
    """Return the day that the plan asks for, in the order that it would be hung in."""
    plan, blocks = days.plan, days.plan.field.blocks
    if blocks is None and plan.field.minutes_available is None:
        blocks = None if plan.question.matter_db is None else enough_blocks(days, spreads_of(plan))
        if blocks is None:
            return None
    try:
        return days.modelled(make_order(plan, blocks=blocks).table)
    except OrderError:
        return None
