"""What to buy, in the terminal: the answer, two tables, and what goes with loads."""

from __future__ import annotations

from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.padding import Padding
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
    missing_keys,
    span_sentence,
    weak_sentences,
)
from antexp.report.scope import scope_sentence


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
    console = console or Console(highlight=False)
    console.print(Text(choice_answer(choice), style="bold"))
    console.print(Text(scope_sentence(choice.judgement.family, plan)))
    _bullets(console, choice_sentences(choice))
    console.print(choice_grid(choice, sort, loads=False))
    _loads(choice, sort, console)
    _bullets(console, corrosion_lines(choice))
    _bullets(console, [f"Hanging end on {line}" for line in handling_lines(choice)])
    if missing_keys(choice):
        console.print(Text(missing_keys(choice)))
    for notice in choice.judgement.warnings:
        console.print(Padding(Text(f"Note: {notice.text}"), (0, 0, 0, 2)))
    if written is not None:
        console.print(f"\nPage: {written}", soft_wrap=True)


def choice_grid(choice: Choice, sort: str | None = None, loads: bool | None = None) -> Table:
    """Return the wires as a table for the terminal, by standing, the group bold."""
    rows = choice_table(choice, sort, loads)
    columns = [name for name in rows.columns if name != "standing"]
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for name in columns:
        table.add_column(name, justify="left" if name == "wire" else "right", no_wrap=name == "between",
                         min_width=18 if name == "wire" else None)
    for standing, inside in rows.groupby("standing", sort=False):
        table.add_row(Text(str(standing), style="italic"))
        for cells in inside[columns].to_numpy().tolist():
            table.add_row(*(Text(str(cell)) for cell in cells), style="bold" if standing == IN_THE_GROUP else "")
    return table


def _loads(choice: Choice, sort: str | None, console: Console) -> None:
    """Print loads with their cautions, or what to give to have them."""
    console.print(Text(span_sentence(choice)))
    if choice.span is None:
        return
    console.print(choice_grid(choice, sort, loads=True))
    _bullets(console, weak_sentences(choice))
    for caution in choice.cautions:
        console.print(Padding(Text(f"Caution: {caution}"), (0, 0, 0, 2)))


def _bullets(console: Console, sentences: list[str]) -> None:
    for sentence in sentences:
        console.print(Padding(Text(f"• {sentence}"), (0, 0, 0, 2)))
