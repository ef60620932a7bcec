"""Inference at planned variances is that of a fit which found just these variances."""

import numpy as np
import pytest

from antexp.mixed.planned import planned_contrasts
from antexp.mixed.reml import fit_reml


def _record(seed=3):
    random = np.random.default_rng(seed)
    swap = np.repeat(np.arange(24), 2)[:-3]  # three readings missing
    candidate = np.repeat(np.tile(np.arange(4), 6), 2)[:-3]
    specimen = candidate * 2 + (swap // 4) % 2
    X = np.column_stack([np.ones(len(swap)), *(candidate == c for c in (1, 2, 3)), swap - 11.5]).astype(float)
    y = random.normal(size=8)[specimen] + random.normal(size=24)[swap] + 0.5 * random.normal(size=len(swap))
    return y, X, {"specimen": specimen, "swap": swap}


def test_planning_with_the_fitted_variances_gives_the_fit():
    y, X, groups = _record()
    fit = fit_reml(y, X, groups, at_zero="keep")
    assert not fit.at_zero
    L = np.eye(5)[1:4]
    found, planned = fit.contrasts(L), planned_contrasts(X, groups, fit.variances, fit.residual_variance, L)
    assert planned.degrees_of_freedom == pytest.approx(found.degrees_of_freedom, rel=1e-6)
    assert planned.covariance == pytest.approx(found.covariance, rel=1e-6)
    assert planned.information_condition == pytest.approx(fit.information_condition, rel=1e-4)


def test_a_balanced_two_way_layout_is_the_analysis_of_variance():
    """Textbook (randomised blocks, e.g. Cochran & Cox 1957): (b − 1)(k − 1) df and variance 2σ²/b."""
    b, k = 6, 4
    block, candidate = np.repeat(np.arange(b), k), np.tile(np.arange(k), b)
    X = np.column_stack([np.ones(b * k), *(candidate == c for c in range(1, k))]).astype(float)
    planned = planned_contrasts(X, {"block": block}, {"block": 2.0}, 0.3, np.eye(k)[1:])
    assert planned.degrees_of_freedom == pytest.approx(np.full(k - 1, (b - 1) * (k - 1)))
    assert np.diag(planned.covariance) == pytest.approx(np.full(k - 1, 2 * 0.3 / b))


def test_without_random_terms_it_is_least_squares():
    X = np.column_stack([np.ones(9), np.arange(9.0)])
    planned = planned_contrasts(X, {}, {}, 4.0, [[0.0, 1.0]])
    assert planned.degrees_of_freedom == pytest.approx([7.0])
    assert planned.covariance[0, 0] == pytest.approx(4.0 / 60.0)


def test_bad_plans_are_refused():
    with pytest.raises(ValueError, match="residual variance is not above 0"):
        planned_contrasts(np.ones((4, 1)), {}, {}, 0.0, [[1.0]])
    with pytest.raises(ValueError, match="contrast cannot be estimated"):
        planned_contrasts(np.ones((4, 2)), {}, {}, 1.0, [[1.0, 0.0]])


def test_swaps_that_fixed_columns_take_up_cannot_be_planned_for():
    """A column for every swap leaves nothing to tell their scatter from: the condition says so, without limit."""
    swap = np.repeat(np.arange(6), 3)
    gap = [[-1.0, 1.0, 0.0, 0.0, 0.0, 0.0]]
    planned = planned_contrasts(np.eye(6)[swap], {"swap": swap}, {"swap": 0.3}, 0.1, gap)
    assert planned.information_condition == np.inf
    told = planned_contrasts(np.eye(2)[swap % 2], {"swap": swap}, {"swap": 0.3}, 0.1, [[-1.0, 1.0]])
    assert told.information_condition < 100
