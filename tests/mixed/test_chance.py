"""The chance of noticing a gap: published power, statsmodels' power of the t test, and the limits of both arguments."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, special, stats
from statsmodels.stats.power import TTestPower

from antexp.mixed.chance import chance_of_noticing, detectable_gap


def test_a_published_power():
    """Cohen 1988, ch. 2: 34 pairs notice half a standard deviation at 5 % with 80.8 % (digits from memory)."""
    found = chance_of_noticing(0.5, 1 / math.sqrt(34), 33, stats.t.ppf(0.975, 33))
    assert found == pytest.approx(0.8078, abs=5e-5)


@pytest.mark.parametrize("pairs", [3, 8, 34])
@pytest.mark.parametrize("effect", [0.05, 0.6, 1.5])
@pytest.mark.parametrize("alpha", [0.025, 0.002])
def test_against_statsmodels(pairs, effect, alpha):
    """statsmodels.stats.power.TTestPower, a general library, one-sided: the wrong side is no noticing."""
    theirs = TTestPower().power(effect, pairs, alpha, alternative="larger")
    critical = stats.t.isf(alpha, pairs - 1)
    for sign in (1, -1):
        ours = chance_of_noticing(sign * effect * 3.0, 3.0 / math.sqrt(pairs), pairs - 1, critical)
        assert ours == pytest.approx(theirs, abs=1e-7)


def test_known_scatter_is_the_normal_distribution():
    shift, critical = np.array([0.0, 1.0, 2.5, 4.0]), 2.2
    np.testing.assert_allclose(chance_of_noticing(shift, 1.0, np.inf, critical), stats.norm.sf(critical - shift),
                               atol=1e-7)


@pytest.mark.parametrize(("df", "critical", "shift", "chance"), [
    (12.0, 3.0, 40.0, 1.0), (12.0, 3.0, 3000.0, 1.0), (12.0, 3000.0, 3.0, 0.0),
    (4812.660149839653, 3.226439497605533, 39.4767084991807, 1.0),  # from here on scipy's noncentral t is no number
    (425.0311518537743, 442.89826353437604, 45.223427646776486, 0.0),
])
def test_far_from_the_limit_the_chance_is_one_or_nothing(df, critical, shift, chance):
    """Held against the integral of the normal tail over the scatter of the standard error."""
    assert math.isnan(special.nctdtr(df, shift, critical)) == (df > 100)
    below, _ = integrate.quad(lambda u: stats.norm.cdf(critical * math.sqrt(stats.chi2.ppf(u, df) / df) - shift),
                              0.0, 1.0)
    assert chance_of_noticing(shift, 1.0, df, critical) == chance
    assert below == pytest.approx(1.0 - chance, abs=1e-9)


def test_where_nothing_is_known_of_the_error_nothing_is_said():
    assert np.isnan(chance_of_noticing(1.0, np.nan, 9.0, 2.0))
    assert np.isnan(chance_of_noticing(1.0, 1.0, 9.0, np.nan)) and np.isnan(chance_of_noticing(1.0, 1.0, np.nan, 2.0))


@pytest.mark.parametrize("chance", [0.1, 0.5, 0.8, 0.99, 0.9999])
@pytest.mark.parametrize(("df", "critical"), [(1.0, 12.7), (4.0, 2.8), (60.0, 2.0), (math.inf, 1.96)])
def test_the_detectable_gap_is_noticed_with_its_chance(chance, df, critical):
    gap = detectable_gap(0.3, df, critical, chance)
    assert chance_of_noticing(gap, 0.3, df, critical) == pytest.approx(chance, abs=1e-8)
    assert detectable_gap(0.6, df, critical, chance) == pytest.approx(2 * gap)


def test_a_chance_that_luck_alone_gives_needs_no_gap():
    critical = 0.5
    luck = float(stats.t.sf(critical, 9))
    assert detectable_gap(1.0, 9.0, critical, luck * 0.99) == 0.0
    assert detectable_gap(1.0, 9.0, critical, luck * 1.01) > 0.0


@pytest.mark.parametrize(("error", "critical"), [(0.0, 2.0), (-1.0, 2.0), (math.nan, 2.0), (math.inf, 2.0),
                                                 (1.0, math.nan), (1.0, math.inf)])  # fmt: skip
def test_no_error_or_no_limit_no_detectable_gap(error, critical):
    assert math.isnan(detectable_gap(error, 9.0, critical, 0.8))
