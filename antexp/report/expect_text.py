"""What physics expects, in the terminal; and its pictures as files."""

from __future__ import annotations

import os
from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.plan.expected_loss import ExpectedLosses
from antexp.plan.model import Plan
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import decibels
from antexp.report.picture_files import write_pictures
from antexp.report.printed import print_answer, print_indented, print_notes, print_written
from antexp.report.radio_figures import expected_loss_figure, plan_bands_figure


def print_expected(expected: ExpectedLosses, written: tuple[Path, ...] = (), console: Console | None = None) -> None:
    """Print what physics expects for people.

    Parameters
    ----------
    expected : ExpectedLosses
    written : tuple of Path
        The files that were written.
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer(expected_answer(expected), console)
    print_table(console, expected_table(expected))
    print_indented(console, expected.sentences)
    print_notes(console, expected.warnings)
    print_written(console, written)


def expected_answer(expected: ExpectedLosses) -> str:
    """Return in one sentence how far physics expects the candidates to lie apart."""
    losses = {each.name: each.conductor_loss_db for each in expected.candidates if each.conductor_loss_db is not None}
    if len(losses) < 2:
        return "Physics cannot compare the candidates: it needs frequency, material and diameter of at least two."
    best, worst = min(losses, key=losses.__getitem__), max(losses, key=losses.__getitem__)
    return (f"Physics expects the candidates within {decibels(losses[worst] - losses[best])} dB of each other as a "
            f"{expected.element} at {expected.frequency_mhz:g} MHz: least loss {best}, most {worst}.")


def expected_table(expected: ExpectedLosses) -> Table:
    """Return the expectation as a table for the terminal."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("candidate", overflow="fold")
    for name in ("Ω/m", "Ω at feed", "wire dB", "between", "mismatch dB", "gap dB"):
        table.add_column(name, justify="right", no_wrap=True)
    for each in expected.candidates:
        table.add_row(Text(each.name), _figure(each.resistance_ohm_per_m), _figure(each.loss_resistance_ohm),
                      decibels(each.conductor_loss_db), _range(each.conductor_loss_range_db),
                      decibels(each.mismatch_loss_db), decibels(each.gap_to_reference_db, True))
    return table


def write_expected_pictures(plan: Plan, expected: ExpectedLosses, folder: str | os.PathLike[str]) -> tuple[Path, ...]:
    """Write both pictures as SVG and PNG.

    Parameters
    ----------
    plan : Plan
    expected : ExpectedLosses
        Of that plan.
    folder : path-like
        Made when missing.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    return write_pictures(folder, {"expected-loss": expected_loss_figure(expected), "bands": plan_bands_figure(plan)})


def _figure(value: float | None) -> str:
    """Write a number of ohms to three significant digits."""
    return "–" if value is None else f"{value:.3g}"


def _range(limits: tuple[float, float] | None) -> str:
    """Write a range of losses."""
    return "–" if limits is None else f"{decibels(limits[0])}…{decibels(limits[1])}"
