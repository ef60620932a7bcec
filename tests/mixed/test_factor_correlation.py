"""Normals with one shared factor, and all differences of equally precise means."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr
from scipy.stats import norm, studentized_range

from antexp.mixed.factor_correlation import (
    all_pairs_contrasts,
    all_pairs_correlation,
    means_of_pairs,
    nearest_all_pairs,
    one_factor_correlation,
    one_factor_loadings,
    one_factor_share,
    range_share,
)


@pytest.mark.parametrize(
    "loadings", [[0.7, 0.7, 0.7], [0.9, 0.2, -0.5, 0.4], [0.6, -0.8], [0.0, 0.0, 0.0], [0.5, 0.5, 0.0, 0.9]]
)
def test_the_loadings_of_a_one_factor_correlation_are_found(loadings):
    correlation = one_factor_correlation(np.array(loadings))
    found = one_factor_correlation(one_factor_loadings(correlation))
    assert np.max(np.abs(found - correlation)) < 1e-12


def test_loadings_follow_from_the_repeats():
    # Dunnett 1955, J. Am. Stat. Assoc. 50:1096: with n0 repeats of the control, b_i^2 = n_i/(n0 + n_i).
    repeats, control = np.array([2.0, 3.0, 5.0, 4.0]), 6.0
    covariance = np.diag(1.0 / repeats) + 1.0 / control
    se = np.sqrt(np.diag(covariance))
    found = one_factor_loadings(covariance / np.outer(se, se))
    assert found == pytest.approx(np.sqrt(repeats / (control + repeats)), rel=1e-12)


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize("level", [0.5, 2.0, 4.0])
def test_share_is_the_adaptive_integral(level, sides):
    # Independent route: scipy's adaptive quadrature of the inside probability, which cancels only far out.
    loadings = np.array([0.7, -0.3, 0.9, 0.5])
    spread = np.sqrt(1 - loadings**2)

    def inside(z):
        upper = ndtr((level - loadings * z) / spread)
        return norm.pdf(z) * np.prod(upper - (ndtr((-level - loadings * z) / spread) if sides == 2 else 0.0))

    tail = 1.0 - quad(inside, -12, 12, epsabs=1e-13, limit=200)[0]
    share = one_factor_share(np.array([level]), loadings, sides)[0]
    assert share * sides * 4 * ndtr(-level) == pytest.approx(tail, rel=1e-6)


@pytest.mark.parametrize("sides", [1, 2])
def test_far_out_the_share_is_one(sides):
    assert one_factor_share(np.array([12.0]), np.full(5, 0.5), sides)[0] == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("k", [3, 5, 12])
def test_range_is_the_studentised_range_with_infinite_df(k):
    x = np.array([0.5, 1.5, 2.5, 3.5])
    pairs = k * (k - 1) / 2
    tail = range_share(x, k) * 2 * pairs * ndtr(-x)
    # scipy integrates to about 1e-9 absolute.
    assert tail == pytest.approx(studentized_range.sf(x * np.sqrt(2), k, np.inf), abs=1e-8)


def test_two_means_are_one_difference():
    assert range_share(np.array([0.3, 2.0, 9.0]), 2) == pytest.approx(np.ones(3), rel=1e-12)


@pytest.mark.parametrize("k", [3, 4, 7])
def test_differences_may_be_taken_either_way_round(k):
    sign = np.where(np.random.default_rng(k).uniform(size=k * (k - 1) // 2) < 0.5, -1.0, 1.0)
    given = all_pairs_correlation(k) * np.outer(sign, sign)
    found, turned = nearest_all_pairs(given)
    assert found == k
    assert np.array_equal(turned, given)


def test_other_numbers_of_contrasts_are_no_pairs():
    assert [means_of_pairs(m) for m in (1, 2, 3, 6, 7, 66)] == [2, 0, 3, 4, 0, 12]
    assert nearest_all_pairs(np.eye(4))[0] == 0
    assert all_pairs_contrasts(3).tolist() == [[1, -1, 0], [1, 0, -1], [0, 1, -1]]
