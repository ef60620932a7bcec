"""Critical values over days, where each gap has an error estimate of its own, against counts of simulated days."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from antexp.analysis.pooled_gaps import DayGap, pooled_gaps, separate_adjusted_p, separate_critical_values
from antexp.mixed.multivariate_t import family_critical_values

CONFIDENCE = 0.95
CAMPAIGNS = 40_000  # Monte Carlo error of a share of 95 per cent: 0.11 points


def largest_t(days: int, gaps: int, correlation: np.ndarray) -> np.ndarray:
    """Return the largest |t| over the gaps of each of many campaigns with no gap in truth, each by its own spread."""
    random = np.random.default_rng(4)
    level = random.standard_normal((CAMPAIGNS, days, gaps)) @ np.linalg.cholesky(correlation).T
    t = level.mean(axis=1) / (level.std(axis=1, ddof=1) / np.sqrt(days))
    return np.abs(t).max(axis=1)


def equal_correlation(gaps: int, value: float) -> np.ndarray:
    return np.full((gaps, gaps), value) + (1.0 - value) * np.eye(gaps)


@pytest.mark.parametrize("days, gaps", [(3, 8), (4, 4), (10, 8)])
@pytest.mark.parametrize("correlation", [0.0, 0.5])
def test_all_gaps_together_hold_as_often_as_stated(days, gaps, correlation):
    """Exact for independent gaps (four Monte Carlo errors), not below for those that share a reference."""
    t = largest_t(days, gaps, equal_correlation(gaps, correlation))
    held = (t <= separate_critical_values(np.full(gaps, days - 1.0), CONFIDENCE)[0]).mean()
    assert held > CONFIDENCE - 0.0044
    assert held < CONFIDENCE + (0.0044 if correlation == 0.0 else 0.02)


def test_one_error_estimate_for_all_would_hold_too_rarely():
    """Why the multivariate t is not asked here: of three days and eight gaps it holds in 87 to 88 per cent."""
    shared = equal_correlation(8, 0.5)
    value = family_critical_values(shared, np.full(8, 2.0), CONFIDENCE, 2)[0]
    assert (largest_t(3, 8, shared) <= value).mean() < 0.90


def test_published_values_for_independent_gaps():
    """Šidák's level for three comparisons at 5 per cent, 0.01695 (from memory), through Student's t of scipy."""
    assert separate_critical_values([10.0] * 3, 0.95)[0] == pytest.approx(stats.t.isf(0.016952427 / 2, 10), rel=1e-6)


def test_adjusted_p_agrees_with_the_limits():
    df = np.array([2.0, 3.0, 9.0])
    at_the_limit = separate_critical_values(df, CONFIDENCE)
    np.testing.assert_allclose(separate_adjusted_p(2 * stats.t.sf(at_the_limit, df)), 1 - CONFIDENCE, rtol=1e-9)
    assert separate_adjusted_p([1.0, 0.0, 1e-20]).tolist() == pytest.approx([1.0, 0.0, 3e-20])


def test_one_gap_has_the_value_of_student():
    assert separate_critical_values([4.0], 0.95)[0] == pytest.approx(2.7764, abs=1e-4)  # any table of t, 4 df, 5 %


B, C = ("B", "ref"), ("C", "ref")


def says(gap, error=0.2, df=8.0) -> DayGap:
    return DayGap(gap, error, df, [gap - 1.0, gap + 1.0], "cannot tell")


def test_days_of_equal_errors_are_put_together_by_hand():
    """Errors alike: the mean, its scatter over the days (Hartung & Knapp), s² less e² between them (Paule & Mandel),
    and Q = Σ(x − mean)²/e² against χ²; quantiles by scipy, a general library. The gap of C scatters less than its
    errors: the fixed-effect error e/√K stands, and nothing between the days.
    """
    seen = {B: np.array([-2.0, -1.2, -1.6, -2.4]), C: np.array([0.1, 0.12, 0.08, 0.1])}
    days = [{pair: says(values[i]) for pair, values in seen.items()} for i in range(4)]
    found = pooled_gaps([B, C], days, CONFIDENCE, 1.0)
    alone = 1.0 - CONFIDENCE ** (1 / 2)
    for i, (pair, values) in enumerate(seen.items()):
        row, q = found.iloc[i], ((values - values.mean()) ** 2).sum() / 0.04
        error = max(values.std(ddof=1), 0.2) / 2.0
        half = stats.t.isf(alone / 2, 3) * error
        assert (row["candidate"], row["against"], row["days"], row["degrees_of_freedom"]) == (*pair, 4, 3)
        assert row["gap_db"] == pytest.approx(values.mean())
        assert row["standard_error_db"] == pytest.approx(error, rel=1e-6)
        assert row["interval_db"] == pytest.approx([values.mean() - half, values.mean() + half], rel=1e-6)
        assert row["resolution_db"] == pytest.approx(half, rel=1e-6)
        p = 2 * stats.t.sf(abs(values.mean()) / error, 3)
        assert (row["p_value"], row["p_adjusted"]) == pytest.approx((p, 1 - (1 - p) ** 2), rel=1e-6)
        assert row["heterogeneity_p"] == pytest.approx(stats.chi2.sf(q, 3), rel=1e-6)
        between = max(values.var(ddof=1) - 0.04, 0.0) ** 0.5
        assert row["between_sd_db"] == pytest.approx(between, abs=1e-5)
    assert found["verdict"].tolist() == ["real, may or may not matter", "no gap that matters"]


@pytest.mark.parametrize(("own", "df"), [((8.0, 5.0), 5.0), ((0.4, 5.0), 1.0)])
def test_two_days_have_the_smaller_of_their_degrees_of_freedom_and_call_nothing_real(own, df):
    far = pooled_gaps([B], [{B: says(-9.0, df=own[0])}, {B: says(-9.0, df=own[1])}], CONFIDENCE, 1.0).iloc[0]
    assert far["degrees_of_freedom"] == df and far["days"] == 2
    assert far["p_adjusted"] < 0.05 and far["verdict"] == "cannot tell"


def test_from_three_days_on_the_days_less_one_are_the_degrees_of_freedom():
    row = pooled_gaps([B], [{B: says(-1.0)}, {B: says(-1.2)}, {B: says(-1.1)}], CONFIDENCE, 1.0).iloc[0]
    assert (row["days"], row["degrees_of_freedom"]) == (3, 2)


def test_two_days_may_still_leave_no_gap_that_matters():
    near = pooled_gaps([B], [{B: says(0.0)}, {B: says(0.1)}], CONFIDENCE, 1.0).iloc[0]
    assert near["verdict"] == "no gap that matters"


@pytest.mark.parametrize("silent", [says(5.0, 0.0), says(5.0, np.inf), says(np.nan), says(5.0, np.nan)])
def test_a_day_without_an_error_does_not_count(silent):
    days = [{B: says(-1.0)}, {B: silent}, {C: says(1.0)}, {B: says(-1.0)}]
    row = pooled_gaps([B], days, CONFIDENCE, None).iloc[0]
    assert row["days"] == 2 and row["gap_db"] == pytest.approx(-1.0)
    assert not silent.tells and says(1.0).tells
