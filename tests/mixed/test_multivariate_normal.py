"""The largest of correlated normals: which route is taken, and that the routes agree."""

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import norm

from antexp.mixed.factor_correlation import all_pairs_contrasts, all_pairs_correlation, one_factor_correlation
from antexp.mixed.multivariate_normal import largest_normal
from antexp.mixed.union_sampling import rank_root


def correlate(covariance):
    se = np.sqrt(np.diag(covariance))
    return covariance / np.outer(se, se)


def test_each_kind_of_correlation_takes_its_route():
    pairs = all_pairs_contrasts(5)
    assert largest_normal(np.eye(1), 2).route == "one normal"
    assert largest_normal(np.array([[1.0, -1.0], [-1.0, 1.0]]), 2).route == "one normal"
    assert largest_normal(np.array([[1.0, -1.0], [-1.0, 1.0]]), 1).route == "circle"
    assert largest_normal(np.full((4, 4), 0.5) + 0.5 * np.eye(4), 2).route == "one factor"
    assert largest_normal(all_pairs_correlation(5), 2).route == "all pairs"
    assert largest_normal(correlate(pairs @ np.diag([1.0, 2, 3, 4, 5]) @ pairs.T), 2).route == "lattice"
    three = all_pairs_contrasts(3)
    assert largest_normal(correlate(three @ np.diag([1.0, 2, 3]) @ three.T), 2).route == "circle"


@pytest.mark.parametrize("sides", [1, 2])
def test_circle_against_an_integral_over_one_normal(sides):
    # Independent route: given the first of two normals each limit is a bound on the second.
    three = all_pairs_contrasts(3)
    r = correlate(three @ np.diag([1.0, 2.0, 0.5]) @ three.T)
    root = rank_root(r)

    u = np.linspace(-9, 9, 200_001)[:, None]  # the integrand has kinks: many plain steps, error below 1e-7
    a, b = root.T
    for level in (1.0, 2.0, 3.0):
        ends = np.array([(level - a * u) / b, (-level - a * u) / b if sides == 2 else -np.inf * b + 0 * u])
        inside = np.maximum(ndtr(ends.max(axis=0).min(axis=1)) - ndtr(ends.min(axis=0).max(axis=1)), 0.0)
        tail = 1 - np.trapezoid(norm.pdf(u[:, 0]) * inside, u[:, 0])
        assert largest_normal(r, sides).tail(np.array([level]))[0] == pytest.approx(tail, abs=2e-6)


@pytest.mark.parametrize("sides", [1, 2])
def test_lattice_meets_the_exact_route_where_both_exist(sides):
    # A hair off one factor is not one factor any more, but has the same tail to 1e-4.
    loadings = np.array([0.7, 0.5, 0.8, 0.6, 0.3, 0.7])
    exact = one_factor_correlation(loadings)
    near = exact.copy()
    near[0, 1] = near[1, 0] = exact[0, 1] + 2e-5
    one, other = largest_normal(exact, sides), largest_normal(near, sides)
    assert (one.route, other.route) == ("one factor", "lattice")
    level = np.array([1.0, 2.0, 3.0, 5.0])
    assert other.tail(level) == pytest.approx(one.tail(level), rel=1e-4)


def test_lattice_meets_the_range_when_the_order_hides_it():
    shuffled = np.random.default_rng(3).permutation(15)
    r = all_pairs_correlation(6)
    hidden = r[np.ix_(shuffled, shuffled)]
    level = np.array([2.0, 2.5, 3.0, 4.0])
    assert largest_normal(hidden, 2).route == "lattice"
    assert largest_normal(hidden, 2).tail(level) == pytest.approx(largest_normal(r, 2).tail(level), rel=1e-3)


@pytest.mark.parametrize("sides", [1, 2])
def test_tail_falls_all_the_way(sides):
    r = correlate(np.cov(np.random.default_rng(4).normal(size=(6, 9))))
    level = np.linspace(-8 if sides == 1 else 0, 37, 2_000)
    tail = largest_normal(r, sides).tail(level)
    assert tail[0] == pytest.approx(1.0, abs=1e-4)
    certain = tail > 0.995  # here the sampled share may ripple in the third digit
    assert np.all(np.diff(tail[~certain]) < 0)
    assert 0 < tail[-1] == pytest.approx(sides * 6 * ndtr(-37.0), rel=1e-3)


def test_a_duplicate_changes_nothing():
    r = correlate(np.cov(np.random.default_rng(5).normal(size=(5, 9))))
    doubled = np.ix_([0, 1, 2, 3, 4, 2], [0, 1, 2, 3, 4, 2])
    level = np.array([1.0, 2.5, 4.0])
    assert np.array_equal(largest_normal(r[doubled], 2).tail(level), largest_normal(r, 2).tail(level))
