"""Limits of scatters: a published example, and coverage by simulation."""

import numpy as np
import pytest
from scipy import stats

from antexp.analysis.variance_limits import plain_scatter, scatter_behind_means


def test_chi_square_limits_of_a_standard_deviation():
    """s² = 1, ν = 10: χ² quantiles 3.2470 and 20.4832 (tables of the χ² distribution)."""
    found = plain_scatter(1.0, 10, 0.95)
    assert found.sd_db == 1.0
    assert found.low_db == pytest.approx((10 / 20.4832) ** 0.5, abs=1e-4)
    assert found.high_db == pytest.approx((10 / 3.2470) ** 0.5, abs=1e-4)


@pytest.mark.parametrize(("hang", "read", "swaps", "readings"),
                         [(0.35, 0.25, 6, 3), (0.1, 0.25, 6, 3), (0.5, 0.1, 10, 2)])
def test_limits_of_the_re_hanging_scatter_cover(hang, read, swaps, readings):
    """Graybill & Wang (1980): close to the nominal 95 %; 1500 records resolve 1.7 points at three standard errors."""
    rng = np.random.default_rng(7)
    covered = 0
    for _ in range(1500):
        of_means = (hang**2 + read**2 / readings) * rng.chisquare(swaps - 1) / (swaps - 1)
        left = swaps * (readings - 1)
        found = scatter_behind_means(of_means, swaps - 1, read**2 * rng.chisquare(left) / left, left, readings, 0.95)
        covered += found.low_db <= hang <= found.high_db
    # never below; above where hangings scatter less than readings, whose negative estimates get the wider limit
    assert 0.95 - 0.017 < covered / 1500 < (0.967 if hang > read else 0.985)


def test_hangings_that_scatter_less_than_the_readings_still_have_an_upper_limit():
    found = scatter_behind_means(0.001, 5, 0.09, 12, 3, 0.95)
    assert found.sd_db == 0.0 and found.low_db == 0.0 and found.high_db > 0.0


def test_without_reading_scatter_the_limits_are_the_chi_square_ones():
    found, plain = scatter_behind_means(0.2, 5, 1e-12, 200, 3, 0.95), plain_scatter(0.2, 5, 0.95)
    for name in ("sd_db", "low_db", "high_db"):
        assert getattr(found, name) == pytest.approx(getattr(plain, name), rel=1e-5)


def squares_under_the_root(ratio: float, upper: bool, df_of_means: int, df_within: int) -> float:
    """(limit − estimate)² for mean squares `ratio` and 1, one reading behind a mean."""
    found = scatter_behind_means(ratio, df_of_means, 1.0, df_within, 1.0, 0.95)
    return ((found.high_db if upper else found.low_db) ** 2 - (ratio - 1.0)) ** 2


@pytest.mark.parametrize(("df_of_means", "df_within"), [(5, 12), (9, 10), (20, 4)])
@pytest.mark.parametrize("upper", [True, False])
def test_limits_are_exact_where_one_of_the_scatters_is_everything(upper, df_of_means, df_within):
    """What the constants are made for (Ting et al. 1990): (limit − estimate)² = A·r² + B + C·r in the ratio r of the
    mean squares is exact where the means are everything (A: χ²), where the readings are (B: χ²), and where the limit
    reaches zero, which is the F test of no scatter behind the means. Quantiles by scipy, a general library.
    """
    half = 0.025 if upper else 0.975
    of_means = (df_of_means / stats.chi2.ppf(half, df_of_means) - 1.0) ** 2
    within = (df_within / stats.chi2.ppf(1.0 - half, df_within) - 1.0) ** 2
    ratios = np.array([20.0, 50.0, 200.0])  # limits well above zero
    seen = [squares_under_the_root(ratio, upper, df_of_means, df_within) for ratio in ratios]
    a, b, c = np.linalg.solve(np.column_stack([ratios**2, np.ones(3), ratios]), seen)
    f = stats.f.ppf(half, df_of_means, df_within)
    assert a == pytest.approx(of_means, rel=1e-6)
    assert b == pytest.approx(within, rel=1e-3)  # a small part of the squares it is found from
    assert a * f**2 + b + c * f == pytest.approx((f - 1.0) ** 2, rel=1e-3)


def test_the_lower_limit_leaves_zero_where_the_f_test_finds_a_scatter():
    f = stats.f.ppf(0.975, 5, 12)
    assert scatter_behind_means(0.99 * f, 5, 1.0, 12, 1.0, 0.95).low_db == 0.0
    assert scatter_behind_means(1.01 * f, 5, 1.0, 12, 1.0, 0.95).low_db > 0.0


def test_a_negative_estimate_is_bounded_by_the_whole_mean_square():
    """χ² of 5 degrees of freedom at 2.5 per cent: 0.8312 (tables of the χ² distribution)."""
    found = scatter_behind_means(0.01, 5, 1.0, 1000, 1.0, 0.95)
    assert found.high_db == pytest.approx((0.01 * 5 / 0.8312) ** 0.5, rel=1e-3)
    assert (found.degrees_of_freedom, found.confidence) == (5, 0.95)
