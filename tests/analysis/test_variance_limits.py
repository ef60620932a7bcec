"""Limits of scatters: a published example, and coverage by simulation."""

import numpy as np
import pytest

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
