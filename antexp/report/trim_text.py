"""The trim in the terminal: a table, and the steps for the bench with a box to tick."""

from __future__ import annotations

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.field.trim_advice import is_far_off
from antexp.field.trimmed import TrimSheet
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import MINUS, decibels
from antexp.report.printed import print_answer, print_indented, print_notes

BOX = "☐"


def print_trim(sheet: TrimSheet, console: Console | None = None) -> None:
    """Print a trim for people.

    Parameters
    ----------
    sheet : TrimSheet
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer(trim_answer(sheet), console)
    print_table(console, trim_table(sheet))
    print_indented(console, [f"{BOX} {step}" for step in sheet.bench_list])
    print_notes(console, sheet.warnings)


def trim_answer(sheet: TrimSheet) -> str:
    """Return in one sentence how much there is to cut, and what leaving it costs at worst."""
    measured = [trim for trim in sheet.candidates if trim.cut_m is not None]
    if not measured:
        return f"Nothing has been measured yet: these are lengths to begin with for {_target(sheet)}."
    near = [trim for trim in measured if not is_far_off(trim)]
    if not near:
        return f"Every measured resonance is far off {_target(sheet)}: measure again before anything is cut."
    worst = max(near, key=lambda trim: abs(trim.cut_m or 0.0))
    word = "off" if (worst.cut_m or 0.0) >= 0 else "to be added"
    text = (f"For {_target(sheet)} at most {abs(100 * (worst.cut_m or 0.0)):.1f} cm {word} a leg ({worst.name}, "
            f"specimen {worst.specimen})")
    costs = [trim.mistuning_cost_db for trim in measured if trim.mistuning_cost_db is not None]
    return f"{text}; leaving it would cost up to {decibels(max(costs))} dB." if costs else f"{text}."


def _target(sheet: TrimSheet) -> str:
    """Write the frequency that is trimmed to."""
    return f"{sheet.candidates[0].target_mhz:g} MHz"


def trim_table(sheet: TrimSheet) -> Table:
    """Return the trims as a table for the terminal."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for name in ("candidate", "specimen"):
        table.add_column(name, no_wrap=name == "specimen", overflow="fold")
    for name in ("leg m", "MHz", "new leg m", "cut cm", "kHz/cm", "costs dB"):
        table.add_column(name, justify="right", no_wrap=True)
    for trim in sheet.candidates:
        cut = "–" if trim.cut_m is None else f"{100 * trim.cut_m:+.1f}".replace("-", MINUS)
        table.add_row(Text(trim.name), Text(trim.specimen), _number(trim.leg_m, 3), _number(trim.resonance_mhz, 3),
                      f"{trim.new_leg_m:.3f}", cut, _number(trim.khz_per_cm, 1),
                      decibels(trim.mistuning_cost_db))
    return table


def _number(value: float | None, digits: int) -> str:
    return "–" if value is None else f"{value:.{digits}f}"
