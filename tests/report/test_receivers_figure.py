"""The picture of what each receiver saw."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.report.page import report_page
from antexp.report.receivers_figure import receivers_figure


def judgement(receivers: str):
    random = np.random.default_rng(2)
    rows = [
        (swap + 1, swap // 6 + 1, "AB"[swap % 2], receiver, 7.0 * (swap % 6), random.normal(-50, 0.3))
        for swap in range(18) for receiver in receivers for _ in range(2)
    ]  # fmt: skip
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "receiver", "minutes", "level_db"])
    return judge(table, reference="A", matter_db=1.0)


def test_one_mark_a_receiver_and_gap():
    result = judgement("xyz")
    axes = receivers_figure(result)
    marks = [line for line in axes.lines if line.get_marker() not in ("None", None, "")]
    assert len(marks) == 3
    np.testing.assert_allclose(sorted(m.get_xdata()[0] for m in marks), sorted(result.receivers.gaps["gap_db"]))
    assert "What each receiver saw" in report_page(result)


def test_one_receiver_has_no_picture():
    result = judgement("x")
    with pytest.raises(ValueError, match="one receiver"):
        receivers_figure(result)
    assert "What each receiver saw" not in report_page(result)
