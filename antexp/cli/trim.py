"""`antexp trim`: from measured resonance to the cut, a list for the bench."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, PlanArgument


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
        typer.echo(json_format.dumps(sheet.to_dict(), ensure_ascii=False, indent=1, allow_nan=False))
        return
    from antexp.report.trim_text import print_trim

    print_trim(sheet)
