"""The pictures of physics show what the numbers say."""

import numpy as np
import pytest

from antexp.plan.expected_losses import expected_losses, loss_curves
from antexp.plan.reader import plan_from_dict
from antexp.radio.gap_budget import MatchLoss, gap_budget
from antexp.report.pictures import as_svg
from antexp.report.radio_figures import expected_loss_figure, frequency_strip_figure, gap_budget_figure

PLAN = plan_from_dict({
    "candidates": [{"name": "copper", "material": "copper", "diameter_mm": 1.5},
                   {"name": "steel", "material": "steel", "diameter_mm": 2.0}, {"name": "unknown"}],
    "frequency_mhz": 14.2, "matter_db": 1.0})


def texts(axes):
    return [text.get_text() for text in axes.texts] + [text.get_text() for text in axes.figure.legends[0].get_texts()]


def test_expected_losses_are_drawn_with_range_reach_and_silence():
    expected = expected_losses(PLAN, 0.9)
    axes = expected_loss_figure(expected)
    marks = [line for line in axes.lines if line.get_marker() in ("o", "D")]
    drawn = [float(np.atleast_1d(line.get_xdata())[0]) for line in marks]
    assert drawn == pytest.approx([each.conductor_loss_db for each in expected.candidates[:2]])
    assert any("0.90 dB that this plan notices" in text for text in texts(axes))
    assert any("physics is silent: material, diameter_mm not given" in text for text in texts(axes))
    band = axes.patches[0].get_extents().transformed(axes.transData.inverted())
    assert band.x1 == pytest.approx(expected.candidates[0].conductor_loss_db + 0.9)


def test_nothing_known_still_makes_a_picture():
    axes = expected_loss_figure(expected_losses(plan_from_dict({"candidates": ["a", "b"]})))
    assert sum("physics is silent" in text for text in texts(axes)) == 2


def test_the_strip_marks_the_measured_band():
    axes = frequency_strip_figure(loss_curves(PLAN, np.geomspace(1.8, 30, 12)), 14.2)
    assert [line.get_label() for line in axes.lines] == ["copper", "steel"]
    assert {"measured here", "calculated there"} <= {text.get_text() for text in axes.texts}
    assert axes.get_xlim() == pytest.approx((1.8, 30.0))


def test_the_stack_of_a_gap_adds_up():
    zero = MatchLoss(np.zeros(2), np.zeros(2))
    budget = gap_budget([-1.5, 0.2], [0.2, 0.2], mismatch_loss=MatchLoss(np.array([0.4, 0.1]), np.array([0.05, 0.05])),
                        against_mismatch_loss=zero, conductor_gap_db=[-0.9, 0.0], conductor_u_db=0.1)
    axes = gap_budget_figure(("steel", "aluminium"), budget.shares(), budget.measured_db, budget.measured_se_db)
    widths = sum(bar.get_width() for bar in axes.patches if abs(bar.get_y() + bar.get_height() / 2) < 0.1)
    assert widths == pytest.approx(-1.5)
    assert "unexplained" in texts(axes)


def test_the_same_picture_is_the_same_bytes():
    expected = expected_losses(PLAN, 0.9)
    assert as_svg(expected_loss_figure(expected)) == as_svg(expected_loss_figure(expected))
