"""`antexp say`: what may be said of a judgement, and what may not."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, PlanOption
from antexp.cli.print_json import print_json


def command(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder that judge -o wrote to.", show_default=False)],
    plan: PlanOption = None,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="OUT", help="Folder for the club page, a slide, a newsletter paragraph "
                     "and a methods paragraph.", show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Tell a result on: sentences that may be said beside those that may not."""
    from antexp.analysis.judged_folder import find_judged
    from antexp.analysis.results_file import read_results
    from antexp.plan.reader import read_plan

    judgement = read_results(folder)
    files = find_judged(folder, plan=plan)
    found = read_plan(files.plan) if files.plan is not None else None
    written: tuple[Path, ...] = ()
    if output is not None:
        from antexp.report.say_files import write_said

        written = write_said(judgement, output, found)
    if json:
        from antexp.report.paragraphs import methods, newsletter
        from antexp.report.statements import statements

        document = {"statements": [dict(each.__dict__) for each in statements(judgement, found)],
                    "newsletter": newsletter(judgement, found), "methods": methods(judgement, found)}
        print_json(document)
        return
    from antexp.report.say_text import print_said

    print_said(judgement, found, written)
