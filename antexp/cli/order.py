"""`antexp order`: which antenna hangs when."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from antexp.cli.options import Json, PlanArgument
from antexp.cli.print_json import print_json
from antexp.cli.progress import progress_bar

if TYPE_CHECKING:
    from antexp.design.order_document import Order
    from antexp.plan.model import Plan


def command(
    plan: PlanArgument,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="ORDER", help="Order file to write, such as order.csv; two companions "
                     "and a picture are written beside it.", show_default=False),
    ] = None,
    done: Annotated[
        Optional[Path],
        typer.Option(metavar="READINGS", help="Readings so far: what hung is kept, the rest is laid out anew.",
                     show_default=False),
    ] = None,
    without: Annotated[
        Optional[list[str]],
        typer.Option(metavar="NAME", help="A candidate that can no longer be hung; may be given several times.",
                     show_default=False),
    ] = None,
    same_block: Annotated[
        bool, typer.Option("--same-block", help="With --done: the last block goes on; nothing made the level jump.")
    ] = False,
    pilot: Annotated[
        bool, typer.Option("--pilot", help="The set-up test and six re-hangings of the reference alone, with the form "
                           "to fill in for antexp pilot.")
    ] = False,
    json: Json = False,
) -> None:
    """Make a fair swap order, with check words, and say what it can tell."""
    from antexp.design.order import make_order
    from antexp.plan.reader import read_plan

    found = read_plan(plan)
    if pilot:
        _pilot(found, output, done is not None or bool(without), json)
        return
    record = None
    if done is not None:
        from antexp.field.readings import read_readings

        record = read_readings(done, found)
    with progress_bar(quiet=json) as progress:
        order = make_order(found, done=record, without=tuple(without or ()), same_block=same_block, progress=progress)
    written: tuple[Path, ...] = ()
    if output is not None:
        from antexp.report.order_files import write_order_and_picture

        written = write_order_and_picture(order, output)
    expectation = _expectation(found, order)
    if json:
        from antexp.design.order_report import order_report

        document = {**order_report(order), "expectation": expectation}
        print_json(document)
        return
    from antexp.report.order_text import print_order

    print_order(order, written, expectation=expectation)


def _expectation(plan: Plan, order: Order) -> list[str]:
    """Set what physics expects of the metals against what the order notices, one sentence each."""
    from antexp.plan.expected_losses import expected_losses
    from antexp.plan.expected_sentences import separation_sentences

    detectable = max((gap.detectable_db for gap in order.gaps), default=None)
    hung = set(order.table["candidate"])
    expected = [each for each in expected_losses(plan, detectable).candidates if each.name in hung]
    return separation_sentences(plan, expected, detectable)


def _pilot(plan: Plan, output: Path | None, replans: bool, json: bool) -> None:
    """Lay out the pilot and write its order and form."""
    from antexp.design.order_report import order_report
    from antexp.design.pilot_order import pilot_order, write_pilot
    from antexp.errors import Fault, OrderError

    if replans:
        raise OrderError(Fault("--pilot stands alone", got="--done or --without beside it",
                               do="Make the pilot first, then the order."))
    order = pilot_order(plan)
    written = write_pilot(order, output) if output is not None else ()
    if json:
        print_json(order_report(order))
        return
    from antexp.report.order_text import print_pilot_steps

    print_pilot_steps(order, written)
