"""`antexp open`: an archive opened into a new folder, checked, and judged again."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from antexp.cli.options import Json
from antexp.cli.print_json import print_json


def command(
    archive: Annotated[Path, typer.Argument(metavar="ARCHIVE", help="File that keep wrote.", show_default=False)],
    output: Annotated[
        Path, typer.Option("--output", "-o", metavar="DIR", help="New or empty folder to open it into.",
                           show_default=False)],
    json: Json = False,
) -> None:
    """Open an archive, check it, and judge it again."""
    from antexp.analysis.archive import open_archive

    opened = open_archive(archive, output)
    if json:
        print_json(opened.to_dict())
        return
    print(f"Opened {len(opened.files)} files into {opened.path}; every digest is right.")
    if opened.same_bytes:
        print("Judged again: the same results, byte for byte.")
    else:
        print(f"Judged again: not the same bytes ({opened.why}). The results in the folder are those that were kept.")
