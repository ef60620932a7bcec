"""Roads of the search that few records need: two hills, a first step too far, a ratio without end, a search cut short.

The likelihood that the answers are held against is written with n-by-n matrices and shares no code with the kernel.
"""

from __future__ import annotations

import numpy as np
import pytest

from antexp.mixed import fit_reml, search
from antexp.mixed.many_responses import many_responses

GAP = np.array([[-1.0, 1.0]])

# An invented record of 6 swaps of 3 candidates. Without any spread the likelihood falls to both sides, and yet it is
# higher where the specimens differ by half a decibel.
TWO_HILLS = np.array(
    [-0.72, -0.97, -0.87, -0.35, -1.14, -1.23, -1.25, -0.87, 0.26, -0.61, -0.75, -0.25, 0.05, -0.51, -0.08, -0.2, 1.09,
     -0.44, -0.36, -1.4, -0.47, -1.3, -1.08, -1.53, -1.02, -0.86, 0.38, -0.53, 0.06]
)  # fmt: skip
HILL_SWAP = np.repeat(np.arange(6), [8, 8, 1, 8, 2, 2])
HILL_X = np.eye(3)[np.tile(np.arange(3), 2)][HILL_SWAP]
HILL_SPECIMEN = np.array([2, 1, 3, 0, 1, 1])[HILL_SWAP]


def deviance(y, X, groups, ratios):
    """−2 log restricted likelihood at variance ratios, less its constant, σ² at its best (Harville 1974)."""
    H = np.eye(y.size) + sum(g * np.equal.outer(c, c) for g, c in zip(ratios, groups.values(), strict=True))
    inverse = np.linalg.inv(H)
    information = X.T @ inverse @ X
    left = y - X @ np.linalg.solve(information, X.T @ inverse @ y)
    logs = np.linalg.slogdet(H)[1] + np.linalg.slogdet(information)[1]
    return (y.size - X.shape[1]) * np.log(left @ inverse @ left) + logs


def ratios_of(fit, groups):
    return [fit.variances[name] / fit.residual_variance for name in groups]


def lowest_of_a_grid(y, X, groups):
    grid = np.r_[0.0, np.geomspace(1e-4, 1e3, 50)]
    return min(deviance(y, X, groups, (a, b)) for a in grid for b in grid)


@pytest.mark.parametrize("order", [("specimen", "swap"), ("swap", "specimen")])
def test_the_higher_of_two_hills_is_found(order):
    groups = {name: {"specimen": HILL_SPECIMEN, "swap": HILL_SWAP}[name] for name in order}
    at_zero = deviance(TWO_HILLS, HILL_X, groups, (0.0, 0.0))
    for i in range(2):  # zero is the top of a hill: leaving it a little is worse for either term
        assert deviance(TWO_HILLS, HILL_X, groups, 1e-3 * np.eye(2)[i]) > at_zero
    fit = fit_reml(TWO_HILLS, HILL_X, groups)
    found = deviance(TWO_HILLS, HILL_X, groups, ratios_of(fit, groups))
    assert found < at_zero - 0.3
    assert found <= lowest_of_a_grid(TWO_HILLS, HILL_X, groups) + 1e-9
    assert fit.at_zero == ("swap",) and fit.variances["specimen"] == pytest.approx(0.5**2, abs=0.02)


@pytest.mark.parametrize("order", [("specimen", "swap"), ("swap", "specimen")])
def test_many_records_find_the_higher_hill_too(order):
    """Beside a record that stays where it is: one of pure noise."""
    groups = {name: {"specimen": HILL_SPECIMEN, "swap": HILL_SWAP}[name] for name in order}
    other = np.random.default_rng(4).normal(size=TWO_HILLS.size)
    many = many_responses(np.column_stack([TWO_HILLS, other]), HILL_X, groups, np.pad(GAP, ((0, 0), (0, 1))))
    for row, y in enumerate((TWO_HILLS, other)):
        ratios = [many.variances[name][row] / many.residual_variance[row] for name in groups]
        assert deviance(y, HILL_X, groups, ratios) <= lowest_of_a_grid(y, HILL_X, groups) + 1e-9
    assert many.variances["specimen"][0] == pytest.approx(0.5**2, abs=0.02) and many.variances["swap"][0] == 0.0


def test_a_first_step_off_zero_that_goes_too_far():
    """From zero the first step of the swaps beside three unlike observers overshoots; the answer is the same."""
    swap = np.repeat(np.arange(12), [2, 1, 1, 2, 1, 1, 2, 1, 1, 2, 1, 8])
    observer = np.array([0, 2, 1, 2, 2, 0, 0, 1, 2, 0, 0, 0, 1, 0, 1, 2, 0, 2, 0, 0, 0, 2, 1])
    y = np.array([1.17, -1.04, -1.13, -1.1, -0.78, 0.74, 0.84, -0.58, -0.68, 1.22, 0.97, 1.17, -0.95, 1.33, -0.44,
                  -1.82, 0.62, -0.67, 0.47, 0.89, 0.8, -0.99, -1.11])  # fmt: skip
    X, groups = np.eye(2)[np.arange(12) % 2][swap], {"swap": swap, "observer": observer}
    fit = fit_reml(y, X, groups, start={"swap": 0.0, "observer": 0.0})
    assert fit.history.converged and fit.at_zero == ()
    assert deviance(y, X, groups, ratios_of(fit, groups)) <= lowest_of_a_grid(y, X, groups) + 1e-9
    cold = fit_reml(y, X, groups)
    assert ratios_of(fit, groups) == pytest.approx(ratios_of(cold, groups), rel=1e-6)


def test_blocks_that_are_endlessly_unlike_are_as_good_as_fixed(swap_record):
    """Blocks a decibel apart, readings a hundred-thousandth: the search ends where no digit is left, and says so.

    As its variance grows a random block becomes a fixed one (Searle, Casella & McCulloch 1992, Variance Components,
    section 7.4, from memory), and fixed blocks need no search for it.
    """
    y, X, code = swap_record(2, blocks=3, swap_sd=0.0, lines=False)
    y = 1e-5 * y + np.array([0.0, 1.3, -0.8])[code // 4]
    row = np.r_[-1.0, 1.0, 0.0, 0.0]
    free, fixed = fit_reml(y, X[:, :4], {"swap": code, "block": code // 4}), fit_reml(y, X, {"swap": code})
    found, expected = free.contrast(row), fixed.contrast(np.r_[row, 0.0, 0.0])
    assert not free.history.converged and fixed.history.converged
    # Ten digits lie between the two variances, and a double has some sixteen: three or four are left for this.
    assert found.estimate == pytest.approx(expected.estimate, abs=1e-3 * expected.standard_error)
    assert found.standard_error == pytest.approx(expected.standard_error, rel=1e-3)
    assert found.degrees_of_freedom == pytest.approx(12 - 6, rel=1e-3)
    assert free.variances["block"] == pytest.approx(np.var([0.0, 1.3, -0.8], ddof=1), rel=1e-3)


def test_a_search_cut_short_says_so(swap_record, monkeypatch):
    y, X, code = swap_record(1)
    whole = fit_reml(y, X, {"swap": code}, start={"swap": 100.0})
    monkeypatch.setattr(search, "MOST_STEPS", 1)
    short = fit_reml(y, X, {"swap": code}, start={"swap": 100.0})
    assert whole.history.converged and whole.history.steps > 1
    assert not short.history.converged and short.history.steps == 1
    assert short.history.path == whole.history.path[:1]
    assert short.restricted_log_likelihood < whole.restricted_log_likelihood - 1e-6


def test_many_records_cut_short_are_no_worse_than_their_start(swap_record, monkeypatch):
    """Every record keeps the best that its steps have found."""
    y, X, code = swap_record(3, swap_sd=1.0)
    Y = y[:, None] + np.random.default_rng(0).normal(0, 0.3, (y.size, 5))
    L = np.pad(GAP, ((0, 0), (0, X.shape[1] - 2)))
    whole = many_responses(Y, X, {"swap": code}, L).restricted_log_likelihood
    monkeypatch.setattr("antexp.mixed.many_search.MOST_STEPS", 1)
    short = many_responses(Y, X, {"swap": code}, L)
    grid = np.array(search.GRID[1:]) / 3  # three readings a swap
    free = y.size - X.shape[1]
    for row, record in enumerate(Y.T):
        start = min(deviance(record, X, {"swap": code}, (g,)) for g in grid)
        end = deviance(record, X, {"swap": code}, [short.variances["swap"][row] / short.residual_variance[row]])
        best = end - 2.0 * (whole[row] - short.restricted_log_likelihood[row])
        assert best < end < start and start - best < free
