"""`antexp join`: one readings file out of the two ends' files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from antexp.cli.options import Json
from antexp.cli.print_json import print_json


def command(
    order: Annotated[Path, typer.Argument(metavar="ORDER", help="Order file (CSV) with names.", show_default=False)],
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE...", help="What the pages exported: of the reading end, one file a receiver; "
                       "of the hanging end, one at most.", show_default=False),
    ],
    output: Annotated[Path, typer.Option("--output", "-o", metavar="READINGS", help="Readings file to write.",
                                         show_default=False)],
    json: Json = False,
) -> None:
    """Join the files of both ends by swap and word, each reading with what really hung."""
    from antexp.errors import Fault, InputError
    from antexp.field.book_file import to_csv
    from antexp.field.join_ends import join_ends
    from antexp.field.swap_list import read_swap_list
    from antexp.files import write_whole

    if output.resolve() in [path.resolve() for path in (order, *files)]:
        raise InputError(Fault("the readings would replace one of the files they come from", str(output),
                               do="Choose another name with -o."))
    joined = join_ends(read_swap_list(order), files)
    write_whole(output, to_csv(joined.columns, joined.rows))
    if json:
        print_json({
            "file": str(output), "readings": joined.readings, "swaps": joined.swaps,
            "warnings": [notice.to_dict() for notice in joined.notices]})
        return
    for notice in joined.notices:
        typer.echo(notice.text)
    typer.echo(f"Wrote {output}: {joined.readings} readings of {joined.swaps} swaps.")
