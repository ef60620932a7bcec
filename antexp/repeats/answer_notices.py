"""What must be known beside the answer."""

from __future__ import annotations

from antexp.design.order_document import Order
from antexp.notices import Notice
from antexp.plan.model import Plan
from antexp.plan.words import MOST_BLOCKS
from antexp.repeats.closed_form import Chances
from antexp.repeats.rehearsed_chance import RehearsedChance

_ANSWERED = ("order-for-these-specimens", "order-takes-walk-as-known")
"""Warnings of an order that send its reader to this answer."""


def answer_notices(
    plan: Plan, order: Order, chances: Chances, enough: int | None, rehearsal: RehearsedChance | None
) -> tuple[Notice, ...]:
    """Collect the warnings of an answer: those of the order, and those of the question."""
    found = [notice for notice in order.warnings if notice.code not in _ANSWERED]
    if plan.question.matter_db is None:
        found.append(Notice("no-matter-db", "No gap that matters was stated (question.matter_db), so there is no "
                            "chance of noticing it; the table tells how large a gap each day notices."))
    elif enough is None:
        found.append(Notice("never-enough", f"Not even {MOST_BLOCKS} blocks like these notice "
                            f"{plan.question.matter_db:g} dB with the wanted chance."))
    if rehearsal is not None and rehearsal.disagrees:
        found.append(Notice("rehearsal-disagrees", "The closed form and the rehearsal differ by "
                            f"{100 * rehearsal.largest_difference:.1f} points. The rehearsal goes through the code "
                            "that judges: believe it."))
    return tuple([*found, *_coarse(plan), *_unseen_specimens(plan, chances)])


def _coarse(plan: Plan) -> list[Notice]:
    """Warn of a display whose rounding does not average out."""
    step, scatter = plan.meter.step_db, plan.meter.reading_sd_db
    if step is None or scatter >= step / 2:
        return []
    return [Notice("coarse-meter", f"The display's step of {step:g} dB is coarse beside the scatter of readings "
                   f"({scatter:g} dB): every reading of a hanging is rounded alike, and more readings do not help.")]


def _unseen_specimens(plan: Plan, chances: Chances) -> list[Notice]:
    """Say how far single specimens alone may lie apart, whatever the number of hangings."""
    spread, matter = plan.field.specimen_sd_db, plan.question.matter_db
    these = (chances.gaps["scope"] == "these specimens").any()
    limit = 1.96 * 2**0.5 * spread
    if not these or matter is None or limit < matter / 2:
        return []
    return [Notice("specimens-unseen", f"Two specimens of the same wire may differ by {limit:.1f} dB (95 %), at the "
                   f"planned scatter between specimens of {spread:g} dB. With one specimen each that is part of every "
                   "gap, however often they are hung: make more specimens.")]
