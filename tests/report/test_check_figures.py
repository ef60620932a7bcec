"""Pictures of the questions to the residuals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.report.check_figures import check_figure
from antexp.report.page import report_page


@pytest.fixture(scope="module")
def judgement():
    random = np.random.default_rng(1)
    rows, swap = [], 0
    for block in range(5):
        for position, name in enumerate(["ref", *random.permutation(["B", "C", "D"]), "ref"]):
            swap += 1
            level = random.normal(-50, 0.3)
            rows += [(swap, block + 1, name, 7.0 * position, level + random.normal(0, 0.1)) for _ in range(2)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    return judge(table, reference="ref", matter_db=1.0, second_opinions=True)


def test_each_question_is_one_picture_with_every_swap_in_it(judgement):
    assert len(judgement.checks) == 4
    for check in judgement.checks:
        axes = check_figure(check)
        assert axes.get_title(loc="left") == check.question
        points = sum(len(line.get_xdata()) for line in axes.lines if line.get_marker() in ("o", "D"))
        points += sum(len(c.get_offsets()) for c in axes.collections if hasattr(c, "get_sizes") and len(c.get_sizes()))
        assert points == len(check.data)


def test_page_holds_opinions_and_questions(judgement):
    page = report_page(judgement)
    assert "Second opinions" in page and "statsmodels" in page
    for check in judgement.checks:
        assert check.question in page
