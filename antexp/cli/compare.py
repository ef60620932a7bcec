"""`antexp compare`: two judged experiments of the same wires; did the new day agree."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json
from antexp.cli.print_json import print_json


def command(
    earlier: Annotated[Path, typer.Argument(metavar="EARLIER", help="Folder that judge -o wrote to.",
                                            show_default=False)],
    later: Annotated[Path, typer.Argument(metavar="LATER", help="That of the new day.", show_default=False)],
    matter: Annotated[
        Optional[float], typer.Option(metavar="DB", help="Smallest change that matters; left out: the later day's.",
                                      show_default=False)] = None,
    confidence: Annotated[
        Optional[float], typer.Option(metavar="P", help="Of all changes together.", show_default=False)] = None,
    output: Annotated[
        Optional[Path], typer.Option("--output", "-o", metavar="DIR", help="Folder for the picture.",
                                     show_default=False)] = None,
    json: Json = False,
) -> None:
    """Set two days side by side and say whether the gaps changed."""
    from antexp.analysis.compare_days import compare_days
    from antexp.analysis.results_file import read_results

    days = compare_days(read_results(earlier), read_results(later), matter_db=matter, confidence=confidence)
    written: tuple[Path, ...] = ()
    if output is not None:
        from antexp.report.compare_text import write_days

        written = write_days(days, output)
    if json:
        print_json(days.to_dict())
        return
    from antexp.report.compare_text import print_days

    print_days(days, written)
