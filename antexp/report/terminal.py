"""The judgement in the terminal: one answer, a table, what to know, what next, and where the report is."""

from __future__ import annotations

from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.analysis.budget_result import GapBudgets
from antexp.analysis.result import Judgement, Opinion
from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS, REAL_AND_MATTERS, REAL_MAY_MATTER, REAL_TOO_SMALL
from antexp.report.budget_tables import budget_table
from antexp.report.less_sure import LESS_SURE, WHY_LESS_SURE, in_doubt
from antexp.report.narrow_tables import print_table
from antexp.report.next_steps import next_steps
from antexp.report.printed import print_answer, print_heading, print_points
from antexp.report.tables import gap_table
from antexp.report.wording import answer, best, findings, question

_STYLE = {
    REAL_AND_MATTERS: "bold",
    REAL_MAY_MATTER: "bold",
    REAL_TOO_SMALL: "",
    NO_GAP_THAT_MATTERS: "",
    CANNOT_TELL: "italic",
}

_SHORT = {"metal, expected dB": "metal", "height and sag dB": "height, sag"}


def print_judgement(judgement: Judgement, written: Path | None = None, console: Console | None = None) -> None:
    """Print a judgement for people.

    Parameters
    ----------
    judgement : Judgement
        The result.
    written : Path, optional
        The report, when one was written.
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer(answer(judgement), console)
    print_points(console, [*findings(judgement), best(judgement)])
    console.print()
    console.print(Text(question(judgement)))
    print_table(console, _table(judgement))
    if in_doubt(judgement).any():
        console.print(Text(f"{WHY_LESS_SURE}\n"))
    if judgement.budgets is not None:
        console.print(Text("Where the gaps come from (as used; ± one standard uncertainty)", style="bold"))
        print_table(console, _budget_table(judgement.budgets))
    if judgement.warnings:
        console.print(Text("What to know beside the numbers", style="bold"))
        print_points(console, [notice.text for notice in judgement.warnings])
    others = [f"{opinion.method}: {_agreement(opinion)}" for opinion in judgement.second_opinions]
    if others:
        print_heading(console, "Other ways to the same answer")
        print_points(console, others)
    print_heading(console, "What next")
    print_points(console, next_steps(judgement))
    if written is not None:
        console.print(f"\nReport: {written}", soft_wrap=True)
    elif not others:
        console.print(Text("\nOther ways to the same answer are tried with -o DIR, which also writes the report."))


def _agreement(opinion: Opinion) -> str:
    """Say in a word where a second opinion agrees, in its own words where it does not or cannot."""
    return "agrees" if opinion.agrees else opinion.text


def _budget_table(budgets: GapBudgets) -> Table:
    """Return the shares of the gaps as a table for the terminal; what to do about them is said by the notes."""
    rows = budget_table(budgets).drop(columns="remark")
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for name in rows.columns:
        table.add_column(_SHORT.get(name, name.removesuffix(" dB")), justify="left" if name == "candidate" else "right",
                         no_wrap=name != "candidate", overflow="fold")
    for row in rows.to_numpy().tolist():
        table.add_row(*(Text(str(cell)) for cell in row))
    return table


def _table(judgement: Judgement) -> Table:
    """Return the gaps as a table for the terminal."""
    rows = gap_table(judgement)
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    numbers = {"gap dB", "between", "resolves dB"}
    for name in rows.columns:
        table.add_column(name, justify="right" if name in numbers else "left", no_wrap=name in numbers, overflow="fold")
    for row in rows.to_dict(orient="records"):
        style = _STYLE.get(str(row["verdict"]).removesuffix(f" ({LESS_SURE})"), "")
        table.add_row(*(Text(str(cell)) for cell in row.values()), style=style)
    return table
