"""`antexp expect`: what physics expects of the wires before the day."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, PlanArgument
from antexp.cli.print_json import print_json


def command(
    plan: PlanArgument,
    detectable: Annotated[
        Optional[float],
        typer.Option(metavar="DB", min=0.0, help="The true gap your day notices, to set the expected gaps against; "
                     "left out: what the plan's own day notices.", show_default=False),
    ] = None,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="DIR", help="Folder for the two pictures.", show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Say how much each wire should lose, with a range, and which gaps the day can show."""
    from antexp.plan.expected_losses import expected_losses
    from antexp.plan.reader import read_plan

    found = read_plan(plan)
    if detectable is None:
        from antexp.repeats.planned_detectable import planned_detectable_db

        detectable = planned_detectable_db(found)
    expected = expected_losses(found, detectable)
    written: tuple[Path, ...] = ()
    if output is not None:
        from antexp.report.expect_text import write_expected_pictures

        written = write_expected_pictures(found, expected, output)
    if json:
        print_json(expected.to_dict())
        return
    from antexp.report.expect_text import print_expected

    print_expected(expected, written)
