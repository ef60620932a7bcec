"""Where the gaps come from, as people see it: tables, pictures, page and terminal; nothing where nothing is known."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO

import numpy as np
import pandas as pd
import pytest
from rich.console import Console

from antexp.analysis.judge import judge
from antexp.plan.reader import plan_from_dict
from antexp.report.budget_figures import budget_figure, expected_measured_figure
from antexp.report.budget_tables import budget_sentence, budget_table, matched_table
from antexp.report.page import report_page
from antexp.report.terminal import print_judgement
from antexp.report.write import write_report

GAPS = {"bare": 0.0, "covered & cut": -0.4, "crimped": -1.2, "steel": -2.0}
PLAN = plan_from_dict({
    "candidates": [{"name": "bare", "material": "copper", "diameter_mm": 1.5, "swr": 1.1},
                   {"name": "covered & cut", "material": "copper", "diameter_mm": 1.5, "swr": 1.8},
                   {"name": "crimped", "material": "copper", "diameter_mm": 1.5},
                   {"name": "steel", "material": "steel", "diameter_mm": 0.8}],
    "radio": {"frequency_mhz": 14.2, "swap_end": "receiver"}, "question": {"matter_db": 1.0},
})  # fmt: skip


def record() -> pd.DataFrame:
    """Invented levels."""
    random = np.random.default_rng(2)
    rows, swap = [], 0
    for block in range(5):
        for position, name in enumerate(["bare", *random.permutation(list(GAPS)[1:]), "bare"]):
            swap += 1
            level = -50 + GAPS[str(name)] + random.normal(0, 0.15)
            rows += [(swap, block + 1, name, 7.0 * position, level + random.normal(0, 0.05)) for _ in range(2)]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


@pytest.fixture(scope="module")
def judgement():
    return judge(record(), PLAN)


def test_the_budget_as_a_table(judgement):
    table = budget_table(judgement.budgets)
    assert list(table.columns) == ["candidate", "measured dB", "mismatch dB", "metal, expected dB", "unexplained dB",
                                   "remark"], "height and sag are known of no gap and have no column"
    assert table["candidate"].tolist() == ["covered & cut", "crimped", "steel"], "the strongest first"
    crimped = table.iloc[1]
    assert crimped["mismatch dB"] == "–"
    assert "crimps" in crimped["remark"] and "match not measured" in crimped["remark"]
    assert table.iloc[0]["remark"] == ""


def test_where_only_the_reference_was_not_measured_it_is_the_reference_that_is_named(judgement):
    budgets = judgement.budgets
    unmeasured = {name: loss for name, loss in budgets.mismatch_loss_db.items() if name != "bare"}
    table = budget_table(replace(budgets, mismatch_loss_db=unmeasured)).set_index("candidate")
    assert table.loc["covered & cut", "remark"] == "match of “bare” not measured"
    assert table.loc["crimped", "remark"].endswith("match not measured")


def test_as_used_beside_matched(judgement):
    table = matched_table(judgement.budgets)
    assert table["candidate"].tolist() == ["covered & cut"]
    assert table.iloc[0]["verdict as used"] == judgement.family.set_index("candidate").loc["covered & cut", "verdict"]
    assert "receiver end against 50 Ω" in budget_sentence(judgement.budgets)


def test_between_any_two_both_are_named():
    budgets = judge(record(), PLAN, compare="each-other").budgets
    assert any(" against " in name for name in budget_table(budgets)["candidate"])


@pytest.mark.parametrize("draw", [budget_figure, expected_measured_figure])
def test_pictures_stay_on_the_canvas(judgement, draw):
    axes = draw(judgement)
    assert "dB" in axes.get_xlabel()
    axes.figure.canvas.draw()
    width, height = axes.figure.canvas.get_width_height()
    for text in [*axes.get_yticklabels(), axes.xaxis.label, *axes.figure.legends[0].get_texts()]:
        box = text.get_window_extent()
        assert box.x0 >= -1 and box.x1 <= width + 1 and box.y0 >= -1 and box.y1 <= height + 1, text.get_text()


def test_the_bars_of_a_row_add_up_to_its_mark(judgement):
    axes = budget_figure(judgement)
    measured = judgement.budgets.budget.measured_db
    order = np.argsort(-measured, kind="stable")
    for row, i in enumerate(order):
        bars = [bar.get_width() for bar in axes.patches if abs(bar.get_y() + bar.get_height() / 2 - row) < 0.1]
        assert sum(bars) == pytest.approx(measured[i])


def test_a_picture_without_budgets_says_what_it_needs():
    with pytest.raises(ValueError, match="needs swr or feed_ohm, or a plan with materials"):
        budget_figure(judge(record()))


def test_the_page_has_the_section_only_where_something_is_known(judgement, tmp_path):
    page = report_page(judgement)
    for text in ("Where the gaps come from", "As used, and matched", "Expected against measured", "covered &amp; cut"):
        assert text in page
    silent = report_page(judge(record(), matter_db=1.0))
    assert "Where the gaps come from" not in silent and "matched" not in silent.lower()
    metal = report_page(judge(record(), plan_from_dict({**PLAN_WITHOUT_SWR})))
    assert "Where the gaps come from" in metal and "As used, and matched" not in metal
    names = {path.name for path in write_report(judgement, tmp_path).parent.iterdir()}
    assert {"gap-budget.svg", "gap-budget.png", "expected-measured.svg", "expected-measured.png"} <= names


PLAN_WITHOUT_SWR = {
    "candidates": [{"name": name, "material": "copper", "diameter_mm": 1.5} for name in GAPS],
    "radio": {"frequency_mhz": 14.2},
}


def test_the_terminal_shows_the_budget_in_eighty_columns(judgement):
    out = StringIO()
    print_judgement(judgement, None, Console(file=out, width=80))
    text = out.getvalue()
    assert "Where the gaps come from" in text
    for cell in budget_table(judgement.budgets)["measured dB"]:
        assert cell in text
    silent = StringIO()
    print_judgement(judge(record(), matter_db=1.0), None, Console(file=silent, width=80))
    assert "Where the gaps come from" not in silent.getvalue()
