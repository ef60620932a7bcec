"""What people see of two days."""

import math
from io import StringIO

import pandas as pd
import pytest
from rich.console import Console

from antexp.analysis.compare_days import AGREEMENTS, DayComparison
from antexp.report.compare_figure import compare_figure
from antexp.report.compare_text import compare_answer, compare_sentences, print_days, write_days


@pytest.fixture
def days():
    rows = [(f"wire {number}", -0.1 * number, 0.2, 12.0, -0.2 * number, 0.15, 15.0, -0.1 * number, 0.25, 20.0, -0.7,
             0.5, 0.3, 0.5, word) for number, word in enumerate(AGREEMENTS)]
    columns = ["candidate", "earlier_db", "earlier_se_db", "earlier_df", "later_db", "later_se_db", "later_df",
               "change_db", "standard_error_db", "degrees_of_freedom", "low_db", "high_db", "p_value", "p_adjusted",
               "agreement"]
    table = pd.DataFrame(rows, columns=columns)
    return DayComparison(("spring", "autumn"), "bare", 0.95, 1.0, table, 0.03, ("old",), (), ("remark.",))


def test_the_answer_names_every_wire_once(days):
    text = compare_answer(days)
    assert [text.count(f"“wire {number}”") for number in range(4)] == [1] * 4
    assert text.startswith("The new day does not agree on “wire 2”")


def test_what_stands_beside_it(days):
    said = " ".join(compare_sentences(days))
    assert "probability 0.03" in said and "On the earlier day only: “old”" in said and "remark." in said


def test_the_terminal_and_the_picture(days, tmp_path):
    console = Console(file=StringIO(), width=110)
    print_days(days, console=console)
    assert "wire 3" in console.file.getvalue()
    axes = compare_figure(days)
    assert sum(line.get_marker() == "D" for line in axes.lines) == 4
    assert {path.name for path in write_days(days, tmp_path)} == {"days.svg", "days.png"}


def test_limits_that_are_missing_do_not_break_it(days):
    import dataclasses

    broken = dataclasses.replace(days, table=days.table.assign(low_db=math.nan, high_db=math.nan, later_se_db=math.nan))
    print_days(broken, console=Console(file=StringIO(), width=110))
    compare_figure(broken)
    assert broken.to_dict()["changes"][0]["low_db"] is None
