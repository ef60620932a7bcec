"""Two days side by side in words, in the terminal and as pictures."""

from __future__ import annotations

import os
from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.analysis.compare_days import AGREEMENTS, AGREES, CHANGED, MOVED_LITTLE, OPEN, DayComparison
from antexp.report.compare_figure import compare_figure
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import decibels, degrees, interval, joined, percent, probability
from antexp.report.picture_files import write_pictures
from antexp.report.printed import print_answer, print_points, print_written


def compare_answer(days: DayComparison) -> str:
    """Return in one sentence whether the new day agreed."""
    names = {word: [f"“{name}”" for name in days.table.loc[days.table["agreement"] == word, "candidate"]]
             for word in AGREEMENTS}
    parts = []
    if names[CHANGED]:
        parts.append(f"the new day does not agree on {joined(names[CHANGED])}")
    if names[MOVED_LITTLE]:
        parts.append(f"{joined(names[MOVED_LITTLE])} changed by less than the {days.matter_db:g} dB that matter")
    if names[AGREES]:
        parts.append(f"it agrees within {days.matter_db:g} dB on {joined(names[AGREES])}")
    if names[OPEN]:
        parts.append(f"the two days together cannot tell of {joined(names[OPEN])}")
    text = "; ".join(parts)
    return f"{text[0].upper()}{text[1:]}."


def compare_sentences(days: DayComparison) -> list[str]:
    """Return what stands beside the answer."""
    said = [f"All gaps are to “{days.against}”; limits hold for all changes together at {percent(days.confidence)}. "
            f"Days without any change would differ as much somewhere with probability {probability(days.p_together)}."]
    for which, names in (("earlier", days.only_earlier), ("later", days.only_later)):
        if names:
            said.append(f"On the {which} day only: {joined([f'“{name}”' for name in names])}.")
    return [*said, *days.remarks]


def print_days(days: DayComparison, written: tuple[Path, ...] = (), console: Console | None = None) -> None:
    """Print the comparison of two days for people.

    Parameters
    ----------
    days : DayComparison
    written : tuple of Path
        The files that were written.
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer(compare_answer(days), console)
    print_table(console, days_table(days))
    print_points(console, compare_sentences(days))
    print_written(console, written)


def days_table(days: DayComparison) -> Table:
    """Return both days' gaps, the change and its limits as a table."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, caption_justify="left",
                  caption="gaps in dB; df: degrees of freedom, few make wide limits")
    table.add_column("candidate", min_width=14)
    for name in ("earlier", "later", "change", "between", "df"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("so", min_width=10)
    for row in days.table.sort_values("later_db", ascending=False, kind="stable").to_dict(orient="records"):
        table.add_row(Text(row["candidate"]), decibels(row["earlier_db"], True), decibels(row["later_db"], True),
                      decibels(row["change_db"], True), interval([row["low_db"], row["high_db"]]),
                      degrees(row["degrees_of_freedom"]), row["agreement"],
                      style="bold" if row["agreement"] == CHANGED else "")
    return table


def write_days(days: DayComparison, folder: str | os.PathLike[str]) -> tuple[Path, ...]:
    """Write the picture as SVG and PNG; return the files.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    return write_pictures(folder, {"days": compare_figure(days)})
