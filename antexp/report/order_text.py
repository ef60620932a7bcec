"""The design report in the terminal: what there is to do, what it can tell, what to know."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.design.order_document import Order
from antexp.design.order_report import order_report
from antexp.design.setup_test import SETUP_STEPS
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import decibels, joined, percent
from antexp.report.printed import print_answer, print_indented, print_notes, print_written

_PAIRS_NAMED = 4


def print_order(order: Order, written: tuple[Path, ...] = (), console: Console | None = None,
                expectation: Sequence[str] = ()) -> None:
    """Print an order's report for people.

    Parameters
    ----------
    order : Order
    written : tuple of Path
        The files that were written.
    console : Console, optional
        Where to; left out: standard output.
    expectation : sequence of str
        What physics expects, set against what the order notices.
    """
    report = order_report(order)
    console = print_answer(order_answer(order), console)
    print_indented(console, order_sentences(order, report))
    print_table(console, _timetable(report))
    print_table(console, _gaps(order))
    print_indented(console, expectation)
    print_notes(console, order.warnings)
    print_written(console, written)


def print_pilot_steps(order: Order, written: tuple[Path, ...] = (), console: Console | None = None) -> None:
    """Print the set-up test as a list to work through, and where the form is.

    Parameters
    ----------
    order : Order
        As `antexp.design.pilot_order.pilot_order` makes it.
    written : tuple of Path
        The files that were written.
    console : Console, optional
        Where to; left out: standard output.
    """
    end = duration(float(order.table["minutes"].iloc[-1] + (order.minutes_per_swap or 0.0)))
    console = print_answer(f"The pilot: “{order.reference}” alone, {_count(order.swaps, 'hanging')}, about {end}.",
                           console)
    for number, step in enumerate(SETUP_STEPS, start=1):
        head = f"{number}. {step.title} ({step.name}, {_count(step.readings, 'reading')})."
        print_indented(console, [f"{head} {step.do} {step.good} ({step.kind})"])
        if step.caution:
            print_indented(console, [f"Caution: {step.caution}"], style="italic", indent=5)
    print_written(console, written)
    console.print("Fill in the form, then: antexp pilot FORM")


def order_answer(order: Order) -> str:
    """Return the order in one sentence: blocks, swaps, hours, and what it can tell."""
    size = f"{_count(order.blocks, 'block')}, {_count(order.swaps, 'swap')}"
    if order.hours is not None:
        size += f", {duration(order.hours * 60)} of swapping"
    if not order.gaps:
        return f"{size}."
    resolution = max(gap.resolution_db for gap in order.gaps)
    detectable = max(gap.detectable_db for gap in order.gaps)
    return (f"{size}: gaps beyond {decibels(resolution)} dB will be called real, and a true gap of "
            f"{decibels(detectable)} dB is noticed with the planned chance.")


def order_sentences(order: Order, report: dict[str, Any]) -> list[str]:
    """Return what is worth knowing about the order, a sentence each."""
    said = [_blocks_sentence(report)]
    said += _reference_sentence(order)
    if order.hung:
        said.append(f"The first {_count(order.hung, 'swap')} hung before; what follows them is laid out anew.")
    if order.precision_kept is not None:
        said.append(f"Drift takes {percent(round(1 - order.precision_kept, 3))} of the precision; the rest is kept.")
    if report["hang_again"]:
        said.append(f"Swaps {joined([str(swap) for swap in report['hang_again']])}: the antenna that hangs is lowered "
                    "and hung again. It is a new swap.")
    said += _neighbours_sentence(order, report)
    never = report["never_in_one_block"]
    if never:
        pairs = joined([f"“{one}” and “{other}”" for one, other in never[:_PAIRS_NAMED]])
        more = f" ({len(never) - _PAIRS_NAMED} more pairs)" if len(never) > _PAIRS_NAMED else ""
        said.append(f"Never in one block: {pairs}{more}. Other candidates tie them together.")
    return said


def duration(minutes: float) -> str:
    """Write minutes as hours and minutes."""
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def _reference_sentence(order: Order) -> list[str]:
    """Explain how often the reference hangs where the plan leaves it to the √k rule."""
    recipe, count = order.recipe, len(order.recipe.get("names", ())) - 1
    if count < 2 or recipe.get("reference_every") is not None or recipe.get("compare") != "reference":
        return []
    swaps = int((order.table["role"] == "reference").sum())
    times = swaps / ((order.swaps - swaps) / count)
    return [f"The reference opens and closes every block and hangs {times:.2g} times as often as a candidate. Gaps to "
            f"it are most precise near √{count} ≈ {count**0.5:.2g} times (Dunnett 1955); field.reference_every changes "
            "that."]


def _neighbours_sentence(order: Order, report: dict[str, Any]) -> list[str]:
    """Say which candidate follows the same other one most often."""
    pairs = [(n, name, other) for name, row in report["follows"].items() for other, n in row.items()
             if order.reference not in (name, other) and name != other]
    if not pairs:
        return []
    times, name, other = max(pairs, key=lambda pair: pair[0])
    if times < 2:
        return ["No candidate follows the same other one twice."]
    return [f"“{name}” follows “{other}” {times} times; no candidate follows another more often."]


def _blocks_sentence(report: dict[str, Any]) -> str:
    """Say what the blocks hold."""
    return {
        "complete": "Every candidate that is left hangs in every block still to come." if report["hung"]
        else "Every candidate hangs in every block.",
        "balanced incomplete": "A block cannot hold all candidates: every candidate hangs equally often, and every "
        "pair of candidates shares a block equally often.",
        "incomplete": "A block does not hold all candidates: who shares a block was searched so that the asked gaps "
        "come out as precise as they can.",
    }[report["blocks_are"]]


def _timetable(report: dict[str, Any]) -> Table:
    """Return the blocks as a table for the terminal."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    clocks = any(row["starts"] for row in report["timetable"])
    names = ["block", "swaps", "reference swaps", "time", *(["from", "to"] if clocks else [])]
    for name in names:
        table.add_column(name, justify="left" if name == "block" else "right")
    for row in report["timetable"]:
        cells = [str(row["block"]), str(row["swaps"]), str(row["references"]),
                 "–" if row["minutes"] is None else duration(row["minutes"])]
        cells += [row["starts"] or "–", row["finishes"] or "–"] if clocks else []
        table.add_row(*(Text(cell) for cell in cells))
    return table


def _gaps(order: Order) -> Table:
    """Return what the order can tell as a table for the terminal."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    several = len({gap.against for gap in order.gaps}) > 1
    table.add_column("candidate" if several or not order.gaps else f"against “{order.gaps[0].against}”")
    if several:
        table.add_column("against")
    for name in ("standard error dB", "can resolve dB", "notices dB", "tied to time"):
        table.add_column(name, justify="right")
    for gap in order.gaps:
        names = [Text(gap.candidate), *([Text(gap.against)] if several else [])]
        table.add_row(*names, decibels(gap.standard_error_db), decibels(gap.resolution_db),
                      decibels(gap.detectable_db), percent(round(gap.tied_to_time, 2)))
    return table


def _count(number: int, word: str) -> str:
    """Write a number with its noun."""
    return f"{number} {word}{'' if number == 1 else 's'}"
