"""`antexp keep`: a judged experiment in one file that opens again and judges to the same bytes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, OrderOption, PlanOption
from antexp.cli.print_json import print_json


def command(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder that judge -o wrote to.", show_default=False)],
    output: Annotated[
        Path, typer.Option("--output", "-o", metavar="FILE", help="Archive to write, such as meadow.zip.",
                           show_default=False)],
    plan: PlanOption = None,
    order: OrderOption = None,
    readings: Annotated[
        Optional[Path], typer.Option(metavar="READINGS", help="Readings file, where it stands elsewhere.",
                                     show_default=False)] = None,
    bench: Annotated[
        Optional[Path], typer.Option(metavar="BENCH", help="Bench book, where it stands elsewhere.",
                                     show_default=False)] = None,
    also: Annotated[
        Optional[list[Path]], typer.Option(metavar="FILE", help="A further file to keep; may be given several times.",
                                           show_default=False)] = None,
    json: Json = False,
) -> None:
    """Put plan, order, records, results and report into one file."""
    from antexp.analysis.archive import keep

    kept = keep(folder, output, plan=plan, readings=readings, order=order, bench=bench, also=tuple(also or ()))
    if json:
        print_json(kept.to_dict())
        return
    print(f"Kept {len(kept.files)} files in {kept.path}; its readings judge to its results, byte for byte.")
    for file in kept.files:
        print(f"  {file.name} ({file.role})")
    print(f"Digest of the archive (SHA-256): {kept.sha256}")
    print("Notes and remarks in it can name people: look through them before you hand it on.")
