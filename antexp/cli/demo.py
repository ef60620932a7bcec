"""`antexp demo`: an invented comparison from plan to report, in seconds."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from antexp.cli.options import Json
from antexp.cli.print_json import print_json


def command(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder for the files.", show_default=False)] = Path(
        "antexp-demo"
    ),
    json: Json = False,
) -> None:
    """Play an invented comparison, with the truth beside it."""
    from antexp.demo.run import run_demo

    shown = run_demo(folder)
    if json:
        print_json(shown.judgement.to_dict())
        return
    from antexp.report.demo_text import print_demonstration

    print_demonstration(shown.fixed_order, shown.judgement, shown.truth, shown.folder, shown.choice)
