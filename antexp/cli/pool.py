"""`antexp pool`: several judged days put together."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Confidence, Json, Matter
from antexp.cli.print_json import print_json


def command(
    days: Annotated[
        list[Path], typer.Argument(metavar="DIR DIR...", help="Folders that judge -o wrote.", show_default=False)
    ],
    matter: Matter = None,
    confidence: Confidence = None,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="DIR", help="Folder for pooled.json and the picture of all days.",
                     show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Put several judged days or sites together."""
    from antexp.analysis.pool import pool

    pooled = pool(days, confidence=confidence, matter_db=matter)
    written = None
    if output is not None:
        from antexp.report.pool_text import write_pooled

        written = write_pooled(pooled, output)
    if json:
        print_json(pooled.to_dict())
        return
    from antexp.report.pool_text import print_pooled

    print_pooled(pooled, written)
