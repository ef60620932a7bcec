"""Tables in narrow terminals: no number is cut or broken, no row loses its name."""

from __future__ import annotations

import io

import pytest
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from antexp.report.narrow_tables import folded, print_table

NAMES = ("copper-clad steel, 0.8 mm", "tinned copper with a poor crimp, 1.0 mm")
NUMBERS = (("−0.03", "−0.65 … +0.72", "0.69"), ("−1.00", "−1.68 … −0.33", "0.67"))


def gaps(against: bool) -> Table:
    table = Table("candidate", *(["against"] if against else []), box=SIMPLE_HEAD, pad_edge=False)
    for head in ("gap dB", "between", "resolves dB"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("verdict")
    for name, numbers in zip(NAMES, NUMBERS, strict=True):
        table.add_row(name, *(["spring steel, 0.8 mm"] if against else []), *numbers, "no gap that matters")
    return table


def shown(table: Table, width: int) -> str:
    stream = io.StringIO()
    print_table(Console(file=stream, width=width, force_terminal=False), table)
    return stream.getvalue()


@pytest.mark.parametrize("width", [40, 60, 80])
@pytest.mark.parametrize("against", [False, True])
def test_every_number_stands_whole_within_the_width(width, against):
    text = shown(gaps(against), width)
    assert max(len(line.rstrip()) for line in text.splitlines()) <= width
    for number in (number for numbers in NUMBERS for number in numbers):
        assert number in text
    assert "verdict" in text and "…\n" not in text


def test_each_part_repeats_what_its_rows_are_about():
    parts = folded(gaps(True), Console(width=60, file=io.StringIO()))
    assert len(parts) > 1
    assert {tuple(str(column.header) for column in part.columns[:2]) for part in parts} == {("candidate", "against")}


def test_a_table_that_fits_is_left_as_it_is():
    table = gaps(False)
    assert folded(table, Console(width=200, file=io.StringIO())) == [table]
