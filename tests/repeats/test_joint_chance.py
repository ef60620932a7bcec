"""The chance of noticing all gaps of a day, against SciPy's normal distributions and integrals."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import integrate, stats

from antexp.repeats.joint_chance import chance_of_all, chi_scale, even_points


def day(pairs, covariance, df=np.inf, critical=((2.0,),)):
    """Planned gaps and their family, reported as they are; a row of critical values is a report."""
    covariance = np.atleast_2d(np.array(covariance, dtype=float))
    errors = np.sqrt(np.diag(covariance))
    rows = np.broadcast_to(np.array(critical, dtype=float), (len(critical), len(pairs)))
    family = SimpleNamespace(pairs=list(pairs), critical=rows, reported=np.tile(errors, (len(critical), 1)))
    part = SimpleNamespace(pairs=tuple(pairs), true_covariance_db2=covariance, nodes=None,
                           scatter_df=np.full(len(pairs), float(df)))
    return part, family


def test_points_are_multiples_of_the_roots_of_the_first_primes():
    """Richtmyer 1951: by hand from √2, √3, √5, √7, √11 and √13."""
    points = even_points(3, 6)
    roots = np.sqrt([2, 3, 5, 7, 11, 13])
    assert points == pytest.approx((0.5 + np.outer([1, 2, 3], roots)) % 1.0)
    assert even_points(5, 9).shape == (5, 9)


def test_points_lie_evenly():
    """Means of u and of u·v over the unit square are 1/2 and 1/4; 4096 points are off by a part in a thousand."""
    points = even_points(4096, 4)
    assert points.min() > 0 and points.max() < 1
    assert points.mean(axis=0) == pytest.approx(np.full(4, 0.5), abs=1e-3)
    assert (points[:, 0] * points[:, 1]).mean() == pytest.approx(0.25, abs=1e-3)


def test_scales_are_those_of_chi():
    """Tables of χ²: 18.307 at 95 % with 10 degrees of freedom; none scatters with infinitely many."""
    assert chi_scale(0.95, 10.0) == pytest.approx(np.sqrt(1.8307), abs=1e-5)
    assert chi_scale(np.array([0.1, 0.9]), np.inf).tolist() == [1.0, 1.0]


def test_gaps_of_unlike_errors_that_share_nothing_are_noticed_each_by_itself():
    part, family = day([("b", "a"), ("c", "a")], np.diag([0.04, 0.25]))
    expected = stats.norm.cdf((1.0 - 0.4) / 0.2) * stats.norm.cdf((1.0 - 1.0) / 0.5)
    assert chance_of_all([part], family, "reference", 1.0, 0) == pytest.approx(expected, abs=2e-3)


def test_gaps_that_share_the_reference_go_together():
    covariance = 0.09 * np.array([[1.0, 0.5], [0.5, 1.0]])
    part, family = day([("b", "a"), ("c", "a")], covariance)
    expected = stats.multivariate_normal([-1.0, -1.0], covariance).cdf([-0.6, -0.6])
    assert chance_of_all([part], family, "reference", 1.0, 0) == pytest.approx(expected, abs=2e-3)


def test_scatter_that_is_judged_from_few_swaps_is_shared_by_the_gaps_of_a_scope():
    part, family = day([("b", "a"), ("c", "a")], np.diag([0.09, 0.09]), df=4)

    def both(square):
        return stats.norm.cdf((1.0 - 0.6 * np.sqrt(square / 4)) / 0.3) ** 2 * stats.chi2.pdf(square, 4)

    assert chance_of_all([part], family, "reference", 1.0, 0) == pytest.approx(
        integrate.quad(both, 0, np.inf)[0], abs=2e-3)


def test_scopes_scatter_each_for_itself():
    one, other = (day([(name, "a")], [[0.09]], df=3)[0] for name in "bc")
    family = day([("b", "a"), ("c", "a")], np.diag([0.09, 0.09]))[1]
    single = stats.nct.sf(2.0, 3, 1.0 / 0.3)  # noncentral t: estimate over its reported error beyond 2
    assert chance_of_all([one, other], family, "reference", 1.0, 0) == pytest.approx(single**2, abs=3e-3)


def test_each_report_is_as_likely_as_another():
    part, family = day([("b", "a")], [[0.09]], critical=((2.0,), (4.0,), (3.0,)))
    expected = np.mean([stats.norm.cdf((1.0 - c * 0.3) / 0.3) for c in (2, 4, 3)])
    assert chance_of_all([part], family, "reference", 1.0, 0) == pytest.approx(expected, abs=2e-3)
    without, none = day([("b", "a")], [[0.09]], critical=((2.0,), (np.nan,)))
    assert chance_of_all([without], none, "reference", 1.0, 0) == 0.0


def pairs_of_three(sd):
    """Differences of three means that scatter by `sd` each: a singular covariance."""
    contrasts = np.array([[1, -1, 0], [1, 0, -1], [0, 1, -1]], dtype=float)
    return [("a", "b"), ("a", "c"), ("b", "c")], sd**2 * contrasts @ contrasts.T


def test_candidates_one_gap_apart_in_a_row():
    """a − b and b − c beyond h make a − c beyond 2h; both have true gaps of −1 dB, and a − c one of −2 dB."""
    pairs, covariance = pairs_of_three(0.25)
    part, family = day(pairs, covariance)
    own = covariance[np.ix_([0, 2], [0, 2])]
    half = 2.0 * np.sqrt(own[0, 0])
    expected = stats.multivariate_normal([-1.0, -1.0], own).cdf([-half, -half])
    assert chance_of_all([part], family, "each-other", 1.0, 0) == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize("best", ["a", "b", "c"])
def test_one_above_all_others_whose_gaps_among_each_other_do_not_count(best):
    """Every candidate against every other, each pair with its own value; what is wanted is x − best beyond its own."""
    pairs, covariance = pairs_of_three(0.25)
    part, _ = day(pairs, covariance)
    every = [(x, y) for x in "abc" for y in "abc" if x != y]
    value = {pair: 1.5 + 0.3 * i for i, pair in enumerate(every)}
    error = np.sqrt(covariance[0, 0])
    family = SimpleNamespace(pairs=every, critical=np.array([[value[pair] for pair in every]]),
                             reported=np.full((1, 6), error))
    others = [x for x in "abc" if x != best]
    limits = [-value[x, best] * error for x in others]  # x lies 1 dB below the best
    shared = 0.25**2 * np.array([[2.0, 1.0], [1.0, 2.0]])
    expected = stats.multivariate_normal([-1.0, -1.0], shared).cdf(limits)
    worst = every.index((others[1], best))
    assert chance_of_all([part], family, "best", 1.0, worst) == pytest.approx(expected, abs=3e-3)
