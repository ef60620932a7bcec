"""What to buy, in the terminal: the answer, two tables, and what goes with loads."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.analysis.choice import IN_THE_GROUP, Choice
from antexp.plan.model import Plan
from antexp.report.choice_table import choice_table
from antexp.report.choice_wording import (
    choice_answer,
    choice_sentences,
    corrosion_lines,
    handling_lines,
    has_loads,
    missing_keys,
    span_sentence,
    weak_sentences,
)
from antexp.report.printed import print_answer, print_indented, print_notes, print_points
from antexp.report.scope import scope_sentence

_WIRE_WIDTH, _PADDING = 20, 3


def print_choice(choice: Choice, plan: Plan | None = None, written: Path | None = None, sort: str | None = None,
                 console: Console | None = None) -> None:
    """Print what to buy for people.

    Parameters
    ----------
    choice : Choice
    plan : Plan, optional
        Gives the scope its numbers.
    written : Path, optional
        The page, when one was written.
    sort : str, optional
        One of `antexp.report.choice_table.SORT_KEYS`.
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer(choice_answer(choice), console)
    console.print(Text(scope_sentence(choice.judgement.family, plan)))
    print_points(console, choice_sentences(choice))
    for table in choice_grids(choice, console.width, sort, loads=False):
        console.print(table)
    _loads(choice, sort, console)
    print_points(console, corrosion_lines(choice))
    print_points(console, [f"Hanging end on {line}" for line in handling_lines(choice)])
    if missing_keys(choice):
        console.print(Text(missing_keys(choice)))
    print_notes(console, choice.judgement.warnings)
    if written is not None:
        console.print(f"\nPage: {written}", soft_wrap=True)


def choice_grids(choice: Choice, width: int, sort: str | None = None, loads: bool | None = None) -> list[Table]:
    """Return the wires as tables for the terminal, by standing, the group bold; as many as the width asks for.

    Parameters
    ----------
    choice : Choice
    width : int
        Of the terminal, in letters.
    sort : str, optional
    loads : bool, optional
        As in `antexp.report.choice_table.choice_table`.
    """
    rows = choice_table(choice, sort, loads)
    columns = [name for name in rows.columns if name not in ("wire", "standing")]
    parts: list[list[str]] = [[]]
    for name in columns:
        if parts[-1] and _grid_width(rows, [*parts[-1], name]) > width:
            parts.append([])
        parts[-1].append(name)
    return [_grid(rows, part) for part in parts]


def _grid_width(rows: pd.DataFrame, columns: list[str]) -> int:
    """Return how wide a table of some columns is at least: contents, and the room rich puts around each column."""
    return _WIRE_WIDTH + sum(_narrowest(name, rows[name]) + _PADDING for name in columns)


def _grid(rows: pd.DataFrame, columns: list[str]) -> Table:
    """Return one table of some columns."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("wire", min_width=_WIRE_WIDTH - _PADDING, overflow="fold")
    for name in columns:
        table.add_column(name, justify="right", width=_narrowest(name, rows[name]))
    for standing, inside in rows.groupby("standing", sort=False):
        table.add_row(Text(str(standing), style="italic"))
        for cells in inside[["wire", *columns]].to_numpy().tolist():
            table.add_row(*(Text(str(cell)) for cell in cells), style="bold" if standing == IN_THE_GROUP else "")
    return table


def _narrowest(name: str, cells: pd.Series) -> int:
    """Return the width below which a column is no longer read: its numbers in one piece, the head word by word."""
    return max([len(word) for word in name.split()] + [len(str(cell)) for cell in cells])


def _loads(choice: Choice, sort: str | None, console: Console) -> None:
    """Print loads with their cautions, or what to give to have them."""
    console.print(Text(span_sentence(choice)))
    if choice.span is None or not has_loads(choice):
        return
    for table in choice_grids(choice, console.width, sort, loads=True):
        console.print(table)
    print_points(console, weak_sentences(choice))
    print_indented(console, [f"Caution: {caution}" for caution in choice.cautions])
