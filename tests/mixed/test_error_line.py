"""The rule at zero (M7) for swaps, specimens, and swaps inside random blocks."""

import numpy as np
import pytest

from antexp.mixed import fit_reml
from antexp.mixed.cross_products import cross_products
from antexp.mixed.error_line import error_line_inference
from antexp.mixed.restricted_likelihood import project, reduce_at
from antexp.mixed.terms import read_terms


def at_zero_record(swap_record, readings, lost=()):
    """A record whose swap component ends at zero."""
    for seed in range(50):
        y, X, code = swap_record(seed, readings=readings, swap_sd=0.0, lost=lost)
        fit = fit_reml(y, X, {"swap": code})
        if fit.at_zero:
            return y, X, code, fit
    raise AssertionError("no record at zero was found")


def test_swap_rule_is_its_own_formula(swap_record):
    y, X, code, fit = at_zero_record(swap_record, [1, 3, 2] * 4, lost=(5,))
    beta, *_ = np.linalg.lstsq(X, y, rcond=None)
    codes, n = np.unique(code, return_counts=True)
    means = np.array([(y - X @ beta)[code == c].mean() for c in codes])
    df = codes.size - X.shape[1]
    mean_square = (n * means**2).sum() / df
    row = np.zeros(X.shape[1])
    row[:2] = -1, 1
    found = fit.contrast(row)
    assert fit.error_line_rule and fit.variances["swap"] == 0.0
    assert found.estimate == pytest.approx(row @ beta)
    assert found.standard_error == pytest.approx(np.sqrt(mean_square * row @ np.linalg.inv(X.T @ X) @ row))
    assert found.degrees_of_freedom == pytest.approx(df)
    test = fit.joint_test(np.eye(X.shape[1])[1:3] - np.eye(X.shape[1])[0])
    assert test.denominator_df == pytest.approx(df) and test.scale == pytest.approx(1.0)


def specimens(seed, swap_sd, lost=()):
    """4 candidates, 2 specimens each, 3 blocks, 2 readings a swap."""
    rng = np.random.default_rng(seed)
    specimen = np.tile(np.arange(8), 3)
    block = np.repeat(np.arange(3), 8)
    keep = np.setdiff1d(np.arange(24), lost)
    swap = np.repeat(keep, 2)
    y = rng.normal(0, swap_sd, 24)[swap] + rng.normal(0, 0.4, swap.size)
    X = np.column_stack([np.eye(4)[specimen[swap] // 2], np.eye(3)[block[swap]][:, 1:]])
    return y, X, specimen[swap], swap


@pytest.mark.parametrize("lost", [(), (2, 17)])
def test_specimen_rule_is_its_own_formula(lost):
    for seed in range(50):
        y, X, specimen, swap = specimens(seed, 0.0, lost)
        fit = fit_reml(y, X, {"specimen": specimen, "swap": swap})
        if fit.at_zero == ("specimen", "swap"):
            break
    rest = np.column_stack([X, np.eye(8)[specimen]])

    def rss(columns):
        return float(((y - columns @ np.linalg.lstsq(columns, y, rcond=None)[0]) ** 2).sum())

    mean_square = (rss(X) - rss(rest)) / 4
    row = np.array([-1.0, 1, 0, 0, 0, 0])
    found = fit.contrast(row)
    assert fit.error_line_rule
    Z = np.eye(8)[specimen]
    between = Z.T @ (Z - X @ np.linalg.lstsq(X, Z, rcond=None)[0])  # ZᵀMZ; balanced: four equal eigenvalues
    own = np.trace(between) ** 2 / np.trace(between @ between)
    assert (own < 3.95) == bool(lost) and found.degrees_of_freedom == pytest.approx(min(4.0, own))
    assert found.standard_error == pytest.approx(np.sqrt(mean_square * row @ np.linalg.inv(X.T @ X) @ row))


def test_specimen_rule_keeps_the_swaps_in_the_metric():
    """Balanced, swap scatter above zero: the same mean square as in the analysis of variance of specimen totals."""
    for seed in range(200):
        y, X, specimen, swap = specimens(seed, 0.8)
        fit = fit_reml(y, X, {"specimen": specimen, "swap": swap})
        if fit.at_zero == ("specimen",):
            break
    totals = np.bincount(specimen, y) / 6.0
    mean_square = 6.0 * (np.diff(totals.reshape(4, 2), axis=1) ** 2 / 2).sum() / 4
    found = fit.contrast([-1.0, 1, 0, 0, 0, 0])
    assert fit.variances["swap"] > 0
    assert found.degrees_of_freedom == pytest.approx(4.0)
    assert found.standard_error == pytest.approx(np.sqrt(mean_square * 2 / 12), rel=1e-7)


def test_swaps_at_zero_inside_random_blocks(swap_record):
    """Complete random blocks: gaps are judged by the swap means' own two-way analysis of variance."""
    for seed in range(100):
        y, X, code = swap_record(seed, candidates=4, blocks=4, swap_sd=0.0, lines=False)
        block = code // 4
        y = y + np.array([0.0, 2.0, -1.5, 0.7])[block]
        fit = fit_reml(y, X[:, :4], {"swap": code, "block": block})
        if fit.at_zero == ("swap",):
            break
    means = np.bincount(code, y) / 3
    candidate = np.argmax(X[np.unique(code, return_index=True)[1], :4], axis=1)
    table = np.empty((4, 4))
    table[np.repeat(np.arange(4), 4), candidate] = means
    residual = table - table.mean(0) - table.mean(1, keepdims=True) + table.mean()
    found = fit.contrast([-1.0, 1.0, 0.0, 0.0])
    assert fit.error_line_rule and fit.variances["block"] > 0
    assert found.degrees_of_freedom == pytest.approx(9.0, rel=1e-6)
    assert found.standard_error == pytest.approx(np.sqrt(2 * (residual**2).sum() / 9 / 4), rel=1e-6)


def test_a_random_walk_keeps_the_swaps_in_w(swap_record):
    y, X, code, _ = at_zero_record(swap_record, 3)
    walk = (np.arange(12)[code][:, None] >= np.arange(1, 12)).astype(float)
    fit = fit_reml(y, X, {"swap": code, "walk": walk})
    kept = fit_reml(y, X, {"swap": code, "walk": walk}, at_zero="keep")
    assert "swap" in fit.at_zero and not fit.error_line_rule
    np.testing.assert_array_equal(fit.covariance, kept.covariance)


@pytest.mark.parametrize("blocks", [False, True], ids=["swaps alone", "inside random blocks"])
def test_no_swap_left_over_leaves_the_swaps_in_w(blocks):
    """As many fixed columns as swaps, told apart only by the drift within a swap: no mean square of their own.

    The rule at zero then has nothing to stand on, and the answer is that of ``keep``.
    """
    swap = np.repeat(np.arange(6), 4)
    minute = swap * 5.0 + np.tile(np.arange(4.0), 6)
    X = np.column_stack([np.eye(4)[np.arange(6) % 4][swap], minute, (minute - 14.0) ** 2])
    groups = {"swap": swap, "block": swap // 2} if blocks else {"swap": swap}
    for seed in range(100):
        rng = np.random.default_rng(seed)
        y = rng.normal(size=24) + 2.0 * blocks * rng.normal(size=3)[swap // 2]
        fit = fit_reml(y, X, groups)
        if fit.at_zero == ("swap",):
            break
    kept = fit_reml(y, X, groups, at_zero="keep")
    assert fit.at_zero == ("swap",) and not fit.error_line_rule
    np.testing.assert_array_equal(fit.covariance, kept.covariance)
    row = [-1.0, 1.0, 0.0, 0.0, 0.0, 0.0]
    assert fit.contrast(row) == kept.contrast(row)


def test_swaps_that_the_fixed_columns_take_up_have_no_error_line():
    """A column for each swap and one that turns within them: nothing is left between the swaps."""
    swap = np.repeat(np.arange(5), 3)
    X = np.column_stack([np.eye(5)[swap], np.tile([-1.0, 0.0, 1.0], 5)])
    y = np.random.default_rng(1).normal(size=15)
    for columns, none in ((X, True), (X[:, [0, 5]], False)):
        products = cross_products(y, columns, read_terms({"swap": swap}, 15))
        at = reduce_at(products, np.zeros(1))
        assert (error_line_inference(products, at, project(products, at)) is None) == none


@pytest.mark.parametrize("noise", [0.0, 0.4])
def test_levels_about_nothing_are_the_analysis_of_variance_about_zero(noise):
    """No fixed column at all, such as differences that are nothing on the average: mean squares about zero."""
    rng = np.random.default_rng(3)
    swap = np.repeat(np.arange(9), 4)
    y = rng.normal(0, 1.0, 9)[swap] + rng.normal(0, noise, 36)
    fit = fit_reml(y, np.zeros((36, 0)), {"swap": swap})
    means = np.bincount(swap, y) / 4
    within = float(((y - means[swap]) ** 2).sum()) / 27
    assert fit.rank == 0 and fit.residual_variance == pytest.approx(within, rel=1e-8, abs=1e-15)
    assert fit.variances["swap"] == pytest.approx((means**2).mean() - within / 4, rel=1e-8)
