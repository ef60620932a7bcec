"""`antexp sheet`: paper and pages for both ends of the field."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, PlanOption
from antexp.cli.print_json import print_json


def command(
    order: Annotated[Path, typer.Argument(metavar="ORDER", help="Order file (CSV).", show_default=False)],
    plan: PlanOption = None,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="DIR", help="Folder for the files; left out: beside ORDER.",
                     show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Write sheets to print and pages for the telephone, for both ends."""
    from antexp.field.companions import write_companions

    written = write_companions(order, plan, output)
    if json:
        print_json(written.to_dict())
        return
    for sentence in written.assumed:
        typer.echo(sentence)
    for path, what in written.files.items():
        typer.echo(f"Wrote {path}: {what}.")
