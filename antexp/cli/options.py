"""Options and arguments that several subcommands share, so that they read the same everywhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
PlanArgument = Annotated[Path, typer.Argument(metavar="PLAN", help="Plan file (TOML).", show_default=False)]
PlanOption = Annotated[
    Optional[Path],
    typer.Option("--plan", metavar="PLAN", help="Plan file the record belongs to.", show_default=False),
]
OrderOption = Annotated[
    Optional[Path],
    typer.Option("--order", metavar="ORDER", help="Order file the record followed.", show_default=False),
]
