"""`antexp trim`: from measured resonance to the cut, a list for the bench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, PlanArgument
from antexp.cli.print_json import print_json


def command(
    plan: PlanArgument,
    bench: Annotated[
        Optional[Path],
        typer.Option(metavar="BENCH", help="Bench book (CSV): one row a measurement, in time order.",
                     show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Say how much to cut off each antenna, and what leaving it would cost."""
    from antexp.field.bench_book import read_bench_book
    from antexp.field.trim import trim_sheet
    from antexp.plan.reader import read_plan

    found = read_plan(plan)
    sheet = trim_sheet(found, None if bench is None else read_bench_book(bench, found))
    if json:
        print_json(sheet.to_dict())
        return
    from antexp.report.trim_text import print_trim

    print_trim(sheet)
