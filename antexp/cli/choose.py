"""`antexp choose`: what to buy, the gaps first, then price, weight, strength, weather and handling."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, Matter, OrderOption, offered, sort_keys
from antexp.cli.print_json import print_json
from antexp.errors import Fault, JudgementError


def command(
    readings: Annotated[Path, typer.Argument(metavar="READINGS", help="Readings file (CSV).", show_default=False)],
    plan: Annotated[Path, typer.Option("--plan", metavar="PLAN", help="Plan file with price_per_m, mass_g_per_m, "
                                       "breaking_load_n and lives_where of the candidates.", show_default=False)],
    order: OrderOption = None,
    matter: Matter = None,
    span: Annotated[
        Optional[float], typer.Option(metavar="M", help="Metres between the supports; left out: a horizontal dipole's "
                                      "length.", show_default=False),
    ] = None,
    tension: Annotated[
        Optional[float], typer.Option(metavar="N", help="Pull in newtons; left out: the plan's tension_n.",
                                      show_default=False),
    ] = None,
    sag: Annotated[
        Optional[float], typer.Option(metavar="M", help="Instead of a pull: the sag every wire is pulled to.",
                                      show_default=False),
    ] = None,
    gust: Annotated[
        Optional[float], typer.Option(metavar="M_PER_S", help="Gust to reckon with, as your local code says.",
                                      show_default=False),
    ] = None,
    sort: Annotated[
        Optional[str], typer.Option(metavar="WHAT", help="gap, price, mass, breaking-load, sag, pull, factor, wind, "
                                    "weather, handling, minutes …", show_default=False,
                                    autocompletion=offered(sort_keys)),
    ] = None,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="DIR", help="Folder for choice.html and its pictures.",
                     show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Say which wires cannot be told apart, and lay out what else to choose by."""
    from antexp.analysis.choice import choose
    from antexp.plan.reader import read_plan
    from antexp.report.choice_table import SORT_KEYS

    if sort is not None and sort not in SORT_KEYS:
        raise JudgementError(Fault("the table cannot be sorted by that", "--sort", repr(sort), ", ".join(SORT_KEYS)))
    found = read_plan(plan)
    choice = choose(readings, found, order, matter_db=matter, span_m=span, tension_n=tension, sag_m=sag,
                    gust_m_per_s=gust)
    written = None
    if output is not None:
        from antexp.report.choice_page import write_choice

        written = write_choice(choice, output, found, sort)
    if json:
        print_json(choice.to_dict())
        return
    from antexp.report.choice_text import print_choice

    print_choice(choice, found, written, sort)
