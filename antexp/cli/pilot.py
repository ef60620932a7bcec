"""`antexp pilot`: whether the set-up is fit to compare anything, and how much it scatters."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from antexp.cli.options import Json, PlanOption
from antexp.cli.print_json import print_json


def command(
    readings: Annotated[
        Path,
        typer.Argument(metavar="READINGS", help="Readings of a pilot (CSV); antexp order PLAN --pilot writes the form.",
                       show_default=False),
    ],
    plan: PlanOption = None,
    json: Json = False,
) -> None:
    """Say go or what to mend, and give the spreads for the plan."""
    from antexp.analysis.pilot import judge_pilot
    from antexp.plan.reader import read_plan

    found = judge_pilot(readings, None if plan is None else read_plan(plan))
    if json:
        print_json(found.to_dict())
        return
    from antexp.report.pilot_text import print_pilot

    print_pilot(found)
