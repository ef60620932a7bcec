"""Readings as ranges: the likelihood against direct integration and R, the limits against the ordinary ones."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import simpson
from scipy.stats import norm

from antexp.mixed import fit_reml
from antexp.mixed.cell_likelihood import cell_likelihood
from antexp.mixed.flat_limits import flat_limit
from antexp.mixed.intervals import _Profile, fit_intervals

CASE = Path(__file__).parents[1] / "reference" / "intervals"


def record(step: float, tau: float = 0.35, sigma: float = 0.25, blocks: int = 4, seed: int = 3):
    """Four wires with the reference at both ends of each block, a line in each block, three readings a swap."""
    random = np.random.default_rng(seed)
    swap = np.repeat(np.arange(5 * blocks), 3)
    wires = np.concatenate([[0, *random.permutation([1, 2, 3]), 0] for _ in range(blocks)])
    block, wire = swap // 5, np.repeat(wires, 3)
    X = np.zeros((len(swap), 2 * blocks + 3))
    X[np.arange(len(swap)), block] = 1.0
    for other in (1, 2, 3):
        X[wire == other, blocks + other - 1] = 1.0
    X[np.arange(len(swap)), blocks + 3 + block] = (np.tile(np.repeat(np.arange(5), 3), blocks) - 2) * 7 / 60
    level = random.normal(0, 1, blocks)[block] + random.normal(0, tau, 5 * blocks)[swap]
    y = np.round((level + random.normal(0, sigma, len(swap)) - 73) / step) * step
    L = np.zeros((3, X.shape[1]))
    L[np.arange(3), blocks + np.arange(3)] = 1.0
    return y, X, swap, L


def direct_log_likelihood(low, high, mean, swap, tau, sigma) -> float:
    """Simpson's rule on 20,001 nodes (scipy, a general library), swap by swap."""
    u = np.linspace(-9 * tau, 9 * tau, 20_001)
    total = 0.0
    for one in np.unique(swap):
        a, b = (low - mean)[swap == one][:, None], (high - mean)[swap == one][:, None]
        cells = norm.cdf((b - u) / sigma) - norm.cdf((a - u) / sigma)
        total += np.log(simpson(norm.pdf(u, 0, tau) * cells.prod(axis=0), x=u))
    return float(total)


@pytest.mark.parametrize(
    ("step", "tau", "sigma"), [(6.0, 1.5, 0.6), (1.0, 0.4, 0.3), (1.0, 0.05, 0.6), (6.0, 2.5, 0.2)]
)
def test_likelihood_against_direct_integration(step, tau, sigma):
    y, X, swap, _ = record(step, tau, sigma, blocks=2)
    X, beta = X[:, :2], np.array([y[:15].mean(), y[15:].mean()])
    ours = cell_likelihood(y - step / 2, y + step / 2, X, swap).at(beta, tau, sigma).log_likelihood
    theirs = direct_log_likelihood(y - step / 2, y + step / 2, X @ beta, swap, tau, sigma)
    # differences of norm.cdf lose digits where a cell lies in an upper tail
    assert ours == pytest.approx(theirs, abs=1e-7)


def test_likelihood_estimate_and_profile_against_r():
    """R's integrate() and nlminb(): tests/reference/intervals/direct.R, raw output direct.json."""
    found = json.loads((CASE / "direct.json").read_text("utf-8"))
    case = pd.read_csv(CASE / "case.csv")
    X = np.column_stack([np.ones(len(case)), case["wire"], case["hours"]])
    likelihood = cell_likelihood(case["low_db"].to_numpy(), case["high_db"].to_numpy(), X, case["swap"].to_numpy())
    for point, value in zip(found["points"], found["log_likelihood_at_points"], strict=True):
        ours = likelihood.at(np.array(point[:3]), np.exp(point[3]), np.exp(point[4])).log_likelihood
        assert ours == pytest.approx(value, abs=1e-8)
    fit = fit_intervals(case["low_db"], case["high_db"], X, case["swap"])
    assert fit.converged
    assert fit.log_likelihood == pytest.approx(found["log_likelihood"], abs=1e-6)
    # the likelihood is flat to second order about its top: 1e-7 in its value is some 1e-4 in the parameters
    np.testing.assert_allclose(fit.coefficients, found["estimate"][:3], atol=5e-4)
    assert np.log([fit.swap_sd_db, fit.reading_sd_db]) == pytest.approx(found["estimate"][3:], abs=2e-3)
    for gap, value in zip(found["gaps"], found["profile"], strict=True):
        t = fit.t_ratio([0.0, 1.0, 0.0], gap, 9.0)
        expected = np.sqrt(9.0 * np.expm1(2 * (found["log_likelihood"] - value) / 12))
        assert abs(t) == pytest.approx(expected, rel=1e-4)
        assert np.sign(t) == np.sign(found["estimate"][1] - gap)


def test_derivatives_are_those_of_the_likelihood():
    y, X, swap, _ = record(1.0, blocks=2)
    likelihood = cell_likelihood(y - 0.5, y + 0.5, X, swap)
    theta = np.concatenate([np.linalg.lstsq(X, y, rcond=None)[0], np.log([0.5, 0.4])])

    def at(theta):
        return likelihood.at(theta[:-2], *np.exp(theta[-2:]))

    value = at(theta)
    for i in range(theta.size):
        move = 1e-4 * np.eye(theta.size)[i]
        up, down = at(theta + move), at(theta - move)
        # central differences of a step of 1e-4 are good to about 1e-7 of the third derivative
        assert (up.log_likelihood - down.log_likelihood) / 2e-4 == pytest.approx(value.gradient[i], rel=1e-5, abs=1e-5)
        np.testing.assert_allclose((up.gradient - down.gradient) / 2e-4, value.hessian[i], rtol=1e-4, atol=1e-4)


def test_a_fine_step_gives_the_ordinary_answer():
    y, X, swap, L = record(1e-4)
    fit = fit_intervals(y - 5e-5, y + 5e-5, X, swap)
    ordinary = fit_reml(y, X, {"swap": swap}).contrasts(L)
    df = float(ordinary.degrees_of_freedom[0])
    np.testing.assert_allclose(fit.gaps(L), ordinary.estimates, atol=1e-6)
    # readings share one time within a swap, so the swaps are judged by their own mean square: LR limits are t limits
    for row, gap, error in zip(L, ordinary.estimates, ordinary.standard_errors, strict=True):
        lower, upper = fit.limits(row, 2.5, df)
        assert (lower, upper) == pytest.approx((gap - 2.5 * error, gap + 2.5 * error), abs=2e-4 * error * 2.5)
    np.testing.assert_allclose(np.sqrt(np.diag(fit.covariance(L, df))), ordinary.standard_errors, rtol=1e-4)


def test_limits_are_where_the_ratio_reaches_the_critical_value():
    y, X, swap, L = record(2.0)
    fit = fit_intervals(y - 1, y + 1, X, swap)
    lower, upper = fit.limits(L[0], 2.5, 9.0)
    assert fit.t_ratio(L[0], lower, 9.0) == pytest.approx(2.5, rel=1e-3)
    assert fit.t_ratio(L[0], upper, 9.0) == pytest.approx(-2.5, rel=1e-3)


@pytest.mark.parametrize("seed, step, tau, blocks, wire", [(13, 1.0, 0.05, 3, 0), (15, 2.0, 0.3, 5, 1)])
def test_limits_are_found_where_the_likelihood_has_a_kink(seed, step, tau, blocks, wire):
    """Steps from the slope alone crept here: one limit came out half a decibel too wide, the other too narrow."""
    y, X, swap, L = record(step, tau=tau, blocks=blocks, seed=seed)
    fit = fit_intervals(y - step / 2, y + step / 2, X, swap)
    lower, upper = fit.limits(L[wire], 2.8, 6.0)
    assert fit.t_ratio(L[wire], lower, 6.0) == pytest.approx(2.8, rel=1e-3)
    assert fit.t_ratio(L[wire], upper, 6.0) == pytest.approx(-2.8, rel=1e-3)


def test_a_coarse_step_that_hides_the_scatter_says_so_and_stays_wide():
    y, X, swap, L = record(6.0, tau=0.1, sigma=0.05)
    if np.ptp(y) == 0:
        y[:3] += 6.0
    fit = fit_intervals(y - 3, y + 3, X, swap)
    lower, upper = fit.limits(L[0], 2.7, 9.0)
    assert upper - lower > 6.0


def test_ranges_without_width_are_refused():
    with pytest.raises(ValueError, match="no width"):
        fit_intervals([1.0, 2.0], [1.0, 3.0], np.ones((2, 1)), [0, 1])


def test_flat_records_leave_at_least_a_step_and_more_with_few_swaps():
    many = flat_limit(np.full((6, 2), 2.0), 0, 2.2, 20.0)
    few = flat_limit(np.array([[1.0, 2.0]] * 2), 0, 4.3, 2.0)
    single = flat_limit(np.array([[1.0, 2.0], [0.0, 2.0], [0.0, 2.0]]), 0, 3.0, 3.0)
    assert many == 1.0
    assert few > 1.2
    assert single > 1.2


def test_flat_limit_is_the_likelihood_ratio_of_the_interval_model():
    # two swaps each in one block: against a brute search over scatter and level with scipy's normal distribution
    c, df, swaps = 3.0, 2.0, 4
    gap = flat_limit(np.array([[2.0, 2.0]]), 0, c, df)
    best = max(
        2 * np.log(norm.cdf((0.5 - m) / t) - norm.cdf((-0.5 - m) / t))
        + 2 * np.log(norm.cdf((0.5 - m - gap) / t) - norm.cdf((-0.5 - m - gap) / t))
        for t in np.geomspace(0.25, 5, 60)
        for m in np.linspace(-gap, 0, 61)
    )
    # both searches stand on grids
    assert np.sqrt(df * np.expm1(-2 * best / swaps)) == pytest.approx(c, rel=1e-2)


def test_a_wire_known_to_lie_anywhere_has_no_finite_error():
    random = np.random.default_rng(1)
    swap = np.repeat(np.arange(12), 2)
    wire = swap % 3
    y = np.round(random.normal(0, 0.8, 12)[swap] + random.normal(0, 0.3, 24))
    half = np.where(wire == 2, 50.0, 0.5)  # the meter showed nothing of the third wire
    fit = fit_intervals(np.where(wire == 2, 0.0, y) - half, np.where(wire == 2, 0.0, y) + half, np.eye(3)[wire], swap)
    covariance = fit.covariance([[-1.0, 1.0, 0.0], [-1.0, 0.0, 1.0]], 9.0)
    assert 0 < covariance[0, 0] < 10
    assert covariance[1, 1] == np.inf
    lower, upper = fit.limits([-1.0, 0.0, 1.0], 2.5, 9.0)
    assert lower < -45 and upper > 45


class Stepped(_Profile):
    """A likelihood that falls off a cliff 1.7 dB to either side of the estimate."""

    def ratio(self, gap_db):
        return (0.0 if abs(gap_db - self.gap) < 1.7 else 9.0), 0.0


def test_a_limit_at_a_cliff_is_the_cliff():
    y, X, swap, L = record(1.0)
    profile = Stepped(fit_intervals(y - 0.5, y + 0.5, X, swap), L[0], 9.0)
    for side in (-1.0, 1.0):
        # on its far side: what the limits shut out is beyond the critical value
        assert side * (profile.limit(2.5, side) - profile.gap) == pytest.approx(1.7, rel=1e-5)
        assert profile.ratio(profile.limit(2.5, side))[0] == 9.0
