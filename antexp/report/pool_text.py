"""Several days together, in the terminal and as files."""

from __future__ import annotations

import os
from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.analysis.pool import Pooled
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import decibels, interval, percent
from antexp.report.printed import print_answer, print_notes


def print_pooled(pooled: Pooled, written: Path | None = None, console: Console | None = None) -> None:
    """Print what several days say together.

    Parameters
    ----------
    pooled : Pooled
    written : Path, optional
        The picture, when one was written.
    console : Console, optional
    """
    console = print_answer(pooled_answer(pooled), console)
    print_table(console, pooled_table(pooled))
    print_notes(console, pooled.warnings)
    if written is not None:
        console.print(f"\nPicture: {written}", soft_wrap=True)


def pooled_answer(pooled: Pooled) -> str:
    """Return in one sentence how many days were put together, and how the verdicts fall."""
    counts = pooled.gaps["verdict"].value_counts(sort=False)
    verdicts = "; ".join(f"{count} × {verdict}" for verdict, count in counts.items())
    return (f"{len(pooled.provenance)} days together, each candidate against “{pooled.reference}” unless said "
            f"otherwise, at {percent(pooled.confidence)} for all: {verdicts}.")


def write_pooled(pooled: Pooled, folder: str | os.PathLike[str]) -> Path:
    """Write ``pooled.json`` and the picture of all days as SVG and PNG; return the picture's path.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    from antexp.report.picture_files import write_pictures
    from antexp.report.pool_figure import pool_figure

    return write_pictures(folder, {"days": pool_figure(pooled)}, {"pooled.json": pooled.to_json()})[-1]


def pooled_table(pooled: Pooled) -> Table:
    """Return the gaps as a table; what each is held against only where it differs from row to row."""
    several = pooled.gaps["against"].nunique() > 1
    table = Table("candidate", *(["against"] if several else []), box=SIMPLE_HEAD, pad_edge=False,
                  caption="day to day: how far the gap itself moves between days, dB", caption_justify="left")
    for name in ("gap dB", "between", "day to day"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("days", justify="right", no_wrap=True)
    table.add_column("verdict")
    for row in pooled.gaps.to_dict(orient="records"):
        names = [Text(row["candidate"]), *([Text(row["against"])] if several else [])]
        table.add_row(
            *names, decibels(row["gap_db"], True), interval(row["interval_db"]), decibels(row["between_sd_db"]),
            str(row["days"]), row["verdict"],
        )  # fmt: skip
    return table
