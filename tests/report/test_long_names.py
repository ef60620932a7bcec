"""Pictures of wires with long names: a number keeps its unit, no label touches the next one, nothing is cut off."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from rich.console import Console

from antexp.analysis.compare_days import AGREES, DayComparison
from antexp.analysis.judge import judge
from antexp.analysis.pool import pool
from antexp.analysis.result import Check
from antexp.report.check_figures import check_figure
from antexp.report.compare_figure import compare_figure
from antexp.report.page import report_page
from antexp.report.pictures import as_png
from antexp.report.pool_figure import pool_figure
from antexp.report.pool_text import print_pooled
from antexp.report.radio_figures import gap_budget_figure
from antexp.report.say_files import club_page
from antexp.report.style import row_pitch_in, wrapped

NAMES = (
    "bare hard-drawn copper wire from the old reel, 1.6 mm",
    "electric-fence aluminium wire with magnesium, 2.0 mm",
    "stainless rigging strand left over from the small dinghy, 1.0 mm",
)
MANY = tuple(f"{letter}: {name}" for letter in "abc" for name in NAMES)


@pytest.fixture(scope="module")
def days():
    random = np.random.default_rng(3)
    rows = [(swap + 1, swap // 6 + 1, NAMES[swap % 3], 7.0 * (swap % 6)) for swap in range(24) for _ in range(2)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes"])
    return [judge(table.assign(level_db=random.normal(-50, 0.3, len(table))), reference=NAMES[0], matter_db=1.0)
            for _ in range(2)]  # fmt: skip


@pytest.mark.parametrize(("name", "last"), [
    ("electric-fence aluminium wire with magnesium, 2.0 mm", "2.0 mm"),
    ("PVC covered flexible copper strand, green, 19 × 0.3 mm", "19 × 0.3 mm"),
    ("tinned copper of the loft, 25 °C", "25 °C"),
    ("brass of 16 gauges", "brass of 16 gauges"),
])  # fmt: skip
def test_a_number_keeps_its_unit(name, last):
    lines = wrapped(name).split("\n")
    assert lines[-1] == last and " ".join(lines) == name


def test_rows_stand_far_enough_apart_for_the_fullest_two():
    assert row_pitch_in(["a", "b"], 0.42) == 0.42
    assert row_pitch_in(["a\nb\nc", "a\nb\nc", "d"], 0.42) > 3 * 0.175


def no_label_touches_the_next(axes):
    figure = axes.figure
    figure.canvas.draw()
    boxes = sorted((label.get_window_extent() for label in axes.get_yticklabels()), key=lambda box: box.y0)
    return all(lower.y1 < upper.y0 for lower, upper in pairwise(boxes))


def test_the_rows_of_shares_do_not_touch():
    nothing = np.zeros(len(MANY))
    assert no_label_touches_the_next(gap_budget_figure(MANY, {"unexplained": (nothing, nothing)}, nothing, nothing))


@pytest.mark.parametrize(("name", "column"), [("unequal-scatter", "candidate"), ("carry-over", "before")])
def test_the_rows_of_the_questions_do_not_touch(name, column):
    data = pd.DataFrame({column: MANY, "residual_db": 0.1})
    assert no_label_touches_the_next(check_figure(Check(name, "Is it?", "No.", 0.5, False, None, data)))


def test_the_picture_of_several_days_is_not_squeezed_by_what_stands_over_a_gap(days):
    axes = pool_figure(pool(days))
    as_png(axes)  # a picture without room for its axes is warned of, and a warning fails here
    figure = axes.figure
    figure.canvas.draw()
    assert axes.get_window_extent().width > 0.6 * figure.bbox.width
    assert all(text.get_window_extent().x1 <= figure.bbox.x1 for text in axes.texts)


def test_the_name_of_the_reference_is_not_cut_off_under_the_picture():
    row = [NAMES[1], -0.1, 0.2, 12.0, -0.2, 0.15, 15.0, -0.1, AGREES]
    columns = ["candidate", "earlier_db", "earlier_se_db", "earlier_df", "later_db", "later_se_db", "later_df",
               "change_db", "agreement"]  # fmt: skip
    table = pd.DataFrame([row], columns=columns)
    two = DayComparison(("spring", "autumn"), NAMES[2], 0.95, 1.0, table, 0.5, (), (), ())
    axes = compare_figure(two)
    axes.figure.canvas.draw()
    box = axes.xaxis.label.get_window_extent()
    assert axes.figure.bbox.x0 <= box.x0 and box.x1 <= axes.figure.bbox.x1


def test_the_paper_gives_few_gaps_larger_pictures_side_by_side(days, record):
    many = judge(record([f"wire {letter}" for letter in "abcdefgh"], seed=1))
    assert '<main class="few">' in report_page(days[0]) and '<main class="few">' not in report_page(many)


def test_a_picture_that_fits_a_telephone_is_not_pushed_sideways(days):
    assert 'class="wide"' not in club_page(days[0]) and "figure.wide { overflow-x: auto; }" in club_page(days[0])


def test_the_columns_of_several_days_are_explained_and_names_marked_off(days):
    console = Console(file=StringIO(), width=80)
    moved = replace(days[0], gaps=days[0].gaps.assign(gap_db=days[0].gaps["gap_db"] + 5.0))
    print_pooled(pool([moved, days[1]]), console=console)
    said = " ".join(console.file.getvalue().split())
    assert "day to day: how far the gap itself moves between days, dB" in said
    assert f"by more than their own errors for: “{NAMES[1]}” against “{NAMES[0]}”" in said


def test_a_line_that_ends_at_zero_is_read_rightly_under_the_picture(record):
    readings = record(["bare", "clad", "strand"], seed=1)
    against_one, best = (report_page(judge(readings, compare=asked)) for asked in ("reference", "best"))
    assert "A line that leaves out zero is a real gap." in against_one
    assert "A line that leaves out zero" not in best and "whether it is real the mark says" in best
