"""The report of a judgement that was read back from its results file."""

from __future__ import annotations

from pathlib import Path

import pytest
from markupsafe import escape

from antexp.analysis.judge import judge
from antexp.analysis.results_file import read_results
from antexp.errors import JudgementError
from antexp.report.day_figure import day_figure
from antexp.report.page import report_page

EXAMPLE = Path(__file__).parents[2] / "examples" / "old-copper"


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    folder = tmp_path_factory.mktemp("results")
    judged = judge(EXAMPLE / "readings.csv", EXAMPLE / "plan.toml", second_opinions=True)
    (folder / "results.json").write_text(judged.to_json(), encoding="utf-8")
    return judged, read_results(folder)


def test_it_says_all_that_the_first_report_said_but_for_the_record(both):
    judged, again = both
    page = report_page(again)
    assert judged.checks and judged.second_opinions and judged.budgets is not None
    for check in judged.checks:
        assert f"<strong>{escape(check.question)}</strong>" in page
    for opinion in judged.second_opinions:
        assert f"<dt>{escape(opinion.method)}</dt>" in page
    assert "Where the gaps come from" in page
    assert "does not hold the record" in page
    assert "does not hold the record" not in report_page(judged)


def test_the_picture_of_the_day_says_why_it_is_not_there(both):
    with pytest.raises(JudgementError, match="does not hold the record"):
        day_figure(both[1])


def test_ranges_are_not_called_a_linear_mixed_model():
    folder = EXAMPLE.parent / "step-attenuator"
    judged = judge(folder / "readings.csv", folder / "plan.toml")
    assert judged.as_ranges
    page = report_page(judged)
    assert "Readings as ranges one step wide" in page and "Linear mixed model by REML" not in page
