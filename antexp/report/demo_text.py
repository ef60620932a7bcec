"""What the demonstration prints: the naive comparison, the fair one, the truth, and what to try next."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.analysis.choice import Choice
from antexp.analysis.result import Judgement
from antexp.report.demo_choice import print_demo_choice
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import decibels, joined
from antexp.report.printed import print_answer, print_heading
from antexp.report.terminal import print_judgement

_UNDERLINED = "bold underline"


def print_demonstration(
    fixed_order: pd.DataFrame, judgement: Judgement, truth: pd.DataFrame, folder: Path, choice: Choice,
    console: Console | None = None,
) -> None:
    """Print the demonstration.

    Parameters
    ----------
    fixed_order : DataFrame
        One hanging each: ``candidate, gap_db, true_gap_db``.
    judgement : Judgement
        Of the fair day.
    truth : DataFrame
        ``candidate, true_gap_db, gap_db, low_db, high_db, verdict``.
    folder : Path
        Where the files are.
    choice : Choice
        What to buy after the fair day.
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer("An invented comparison of eight wires. Place, wires and numbers are made up.", console,
                           "italic")
    print_heading(console, "1  One hanging each, in the order of the list", _UNDERLINED)
    print_table(console, _naive_table(fixed_order))
    console.print(Text(_naive_remark(fixed_order, judgement.matter_db)))
    print_heading(console, "2  The same wires in a fair, randomised order, the reference again and again", _UNDERLINED)
    print_judgement(judgement, folder / "report.html", console)
    print_heading(console, "3  The truth, which only an invented day can tell", _UNDERLINED)
    print_table(console, _truth_table(truth))
    held = int(((truth["low_db"] <= truth["true_gap_db"]) & (truth["true_gap_db"] <= truth["high_db"])).sum())
    console.print(f"{held} of {len(truth)} true gaps lie inside their limits.")
    print_heading(console, "4  What to buy", _UNDERLINED)
    console.print(Text(_other_question(judgement)))
    print_demo_choice(choice, folder, console)
    print_heading(console, "Try next", _UNDERLINED)
    for line in _next_steps(folder):
        console.print(Text(f"  {line}"), soft_wrap=True)


def _naive_table(fixed_order: pd.DataFrame) -> Table:
    """Return the naive comparison as a table."""
    table = Table("candidate", box=SIMPLE_HEAD, pad_edge=False)
    for name in ("gap dB", "true gap dB", "wrong by dB"):
        table.add_column(name, justify="right", no_wrap=True)
    for row in fixed_order.itertuples():
        gap, true = float(str(row.gap_db)), float(str(row.true_gap_db))
        table.add_row(str(row.candidate), *(decibels(value, True) for value in (gap, true, gap - true)))
    return table


def _naive_remark(fixed_order: pd.DataFrame, matter_db: float | None) -> str:
    """Say what is wrong with the naive comparison: how far off it was, and that it cannot know."""
    wires = fixed_order.iloc[1:]
    error = wires["gap_db"] - wires["true_gap_db"]
    worst = wires.iloc[int(error.abs().to_numpy().argmax())]
    off = decibels(float(error.abs().max()))
    text = (
        f"Off by up to {off} dB (“{worst['candidate']}”): the tide wets the path meanwhile, and no hanging is like the "
        "last. Nothing in these eight numbers says so."
    )
    if matter_db is None:
        return text
    wrong = wires[(wires["gap_db"].abs() >= matter_db) != (wires["true_gap_db"].abs() >= matter_db)]
    if wrong.empty:
        return text
    names = joined([f"“{name}”" for name in wrong["candidate"]])
    return f"{text} On the wrong side of the {matter_db:g} dB that matter: {names}."


def _other_question(judgement: Judgement) -> str:
    """Say why the wires to choose from are not those that may still be the strongest."""
    return (f"Above, {len(judgement.could_be_best)} wires may still be the strongest: none of these is ruled out. To "
            f"buy, the question is turned round: which are sure to come within {judgement.matter_db:g} dB of the "
            "strongest? A wire can be not ruled out and yet not sure.")


def _truth_table(truth: pd.DataFrame) -> Table:
    """Return judgement and truth side by side."""
    table = Table("candidate", box=SIMPLE_HEAD, pad_edge=False)
    for name in ("true gap dB", "judged dB"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("between", justify="right", no_wrap=True)
    table.add_column("verdict")
    for row in truth.sort_values("true_gap_db", ascending=False).to_dict(orient="records"):
        limits = f"{decibels(row['low_db'], True)} … {decibels(row['high_db'], True)}"
        table.add_row(row["candidate"], decibels(row["true_gap_db"], True), decibels(row["gap_db"], True), limits,
                      row["verdict"])
    return table


def _next_steps(folder: Path) -> list[str]:
    """List commands that work as they stand."""
    return [
        f"open {folder / 'report.html'}",
        f"antexp judge {folder / 'readings.csv'} --plan {folder / 'plan.toml'} --compare each-other",
        f"antexp repeats {folder / 'plan.toml'}",
        f"antexp say {folder}",
        "antexp new my-plan.toml",
    ]
