"""`antexp judge`: which gaps of a record are real, and which of them matter."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Confidence, Json, Matter, OrderOption, PlanOption, comparisons, drift_forms, offered
from antexp.cli.print_json import print_json


def command(
    readings: Annotated[Path, typer.Argument(metavar="READINGS", help="Readings file (CSV).", show_default=False)],
    plan: PlanOption = None,
    order: OrderOption = None,
    reference: Annotated[
        Optional[str], typer.Option(metavar="NAME", help="Candidate the others are compared with.", show_default=False)
    ] = None,
    matter: Matter = None,
    confidence: Confidence = None,
    compare: Annotated[
        Optional[str], typer.Option(metavar="WHAT", help="reference, each-other or best.", show_default=False,
                                    autocompletion=offered(comparisons)),
    ] = None,
    drift: Annotated[
        Optional[str],
        typer.Option(metavar="FORM", help="none, steady, curved or wandering.", show_default=False,
                     autocompletion=offered(drift_forms)),
    ] = None,
    bench: Annotated[
        Optional[Path],
        typer.Option(metavar="BENCH", help="Bench book (CSV) with the match of each antenna.", show_default=False),
    ] = None,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="DIR", help="Folder for results, report and pictures.",
                     show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Say which gaps are real; write results and report."""
    from antexp.analysis.judge import judge

    judgement = judge(
        readings, plan, order, reference=reference, matter_db=matter, confidence=confidence, compare=compare,
        drift=drift, bench=bench, second_opinions=output is not None,
    )
    if judgement.look is not None:
        from antexp.analysis.looks import log_look

        log_look(str(readings), str(judgement.provenance["readings_sha256"]), judgement.look)
    written = None
    if output is not None:
        from antexp.report.write import write_report

        written = write_report(judgement, output)
    if json:
        print_json(judgement.to_dict())
        return
    from antexp.report.terminal import print_judgement

    print_judgement(judgement, written)
