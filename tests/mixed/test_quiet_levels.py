"""Readings that do not scatter within a level: what is left is the ordinary analysis of the levels themselves."""

from __future__ import annotations

import numpy as np
import pytest

from antexp.mixed import fit_reml
from antexp.mixed.many_responses import many_responses

GAP = np.array([-1.0, 1.0, 0.0, 0.0])


def least_squares(y, X, row):
    """Return estimate, standard error and df of a row by ordinary least squares."""
    beta, *_ = np.linalg.lstsq(X, y, rcond=None)
    df = y.size - np.linalg.matrix_rank(X)
    square = float(((y - X @ beta) ** 2).sum()) / df
    return float(row @ beta), float(np.sqrt(square * row @ np.linalg.pinv(X.T @ X) @ row)), df


def fit_equal_to(y, X, groups, row, expected):
    """Hold a fit against estimate, error and df; return it."""
    fit = fit_reml(y, X, groups)
    found = fit.contrast(row)
    assert found.no_interval == ""
    # what is known exactly counts a millionth of a level
    assert (found.estimate, found.standard_error) == pytest.approx(expected[:2], rel=1e-5)
    assert found.degrees_of_freedom == pytest.approx(expected[2], rel=1e-5)
    return fit


@pytest.mark.parametrize("missing", [(), (5, 12)], ids=["every swap twice", "two swaps once"])
def test_a_second_receiver_that_always_reads_so_much_less_adds_nothing(missing):
    """Its offset is known exactly; the gaps are those of the first receiver alone (least squares of its swaps)."""
    rng = np.random.default_rng(4)
    candidate = np.concatenate([rng.permutation(4) for _ in range(5)])
    level = rng.normal(0, 0.6, 20) + 0.3 * candidate
    swap = np.repeat(np.arange(20), 2)
    second = np.tile([0.0, 1.0], 20)
    kept = ~((second == 1) & np.isin(swap, missing))
    X = np.column_stack([np.eye(4)[candidate][swap], second])
    y = level[swap] - 3.0 * second
    row = np.r_[GAP, 0.0]
    expected = least_squares(level, np.eye(4)[candidate], GAP)
    fit = fit_equal_to(y[kept], X[kept], {"swap": swap[kept]}, row, expected)
    noisy = y + rng.normal(0, 0.3, y.size)  # and the same beside an ordinary record
    many = many_responses(np.column_stack([y, noisy])[kept], X[kept], {"swap": swap[kept]}, row[None])
    assert (many.estimates[0, 0], many.standard_errors[0, 0]) == pytest.approx(expected[:2], rel=1e-5)
    assert many.degrees_of_freedom[0, 0] == pytest.approx(expected[2], rel=1e-5) and not many.no_interval[0, 0]
    assert fit.on_means == "swap" and fit.residual_variance == 0.0
    assert fit.coefficients[-1] == pytest.approx(-3.0, abs=1e-9)
    left = level - np.eye(4)[candidate] @ fit.coefficients[:4]
    np.testing.assert_allclose(fit.random_effects["swap"], left, atol=1e-9)


@pytest.mark.parametrize("readings", [1, 2])
@pytest.mark.parametrize("lost", [(), (3, 13, 20)], ids=["whole blocks", "three swaps lost"])
def test_specimens_that_always_read_the_same_are_judged_by_their_own_differences(readings, lost):
    """A made-up record: 8 specimens of 4 candidates in 3 blocks that rise, nothing scatters but the specimens.

    Blocks and their slopes are then known exactly, and the gaps are those of eight numbers: 4 degrees of freedom.
    """
    own = np.array([0.3, -0.2, 1.1, 0.4, -0.6, -0.1, 0.2, 0.9])
    rng = np.random.default_rng(2)
    specimen = np.concatenate([rng.permutation(8) for _ in range(3)])
    block, minute = np.repeat(np.arange(3), 8), np.tile(np.arange(8.0) - 3.5, 3)
    here = np.repeat(np.setdiff1d(np.arange(24), lost), readings)
    X = np.column_stack([np.eye(4)[specimen // 2], np.eye(3)[block][:, 1:], np.eye(3)[block] * minute[:, None]])[here]
    y = (own[specimen] + np.array([0.0, 2.0, -1.0])[block] + np.array([0.01, -0.02, 0.03])[block] * minute)[here] - 70.0
    groups = {"specimen": specimen[here], "swap": here}
    row = np.r_[GAP, np.zeros(5)]
    expected = least_squares(own - 70.0, np.eye(4)[np.arange(8) // 2], GAP)
    fit = fit_equal_to(y, X, groups, row, expected)
    assert fit.on_means == "specimen" and fit.variances["swap"] == 0.0
    assert fit.variances["specimen"] == pytest.approx(np.sum((own - np.repeat(own.reshape(4, 2).mean(1), 2)) ** 2) / 4)
    np.testing.assert_allclose(fit.coefficients[4:], [2.0, -1.0, 0.01, -0.02, 0.03], atol=1e-8)
    np.testing.assert_allclose(fit.random_effects["specimen"], own - np.repeat(own.reshape(4, 2).mean(1), 2), atol=1e-8)
    if readings > 1:
        np.testing.assert_allclose(fit.random_effects["swap"], 0.0, atol=1e-8)


def test_scatter_of_swaps_keeps_the_specimens_in_the_model():
    """Only as far up as nothing scatters: quiet readings of swaps that do scatter are fitted as swap means."""
    rng = np.random.default_rng(5)
    specimen = np.concatenate([rng.permutation(8) for _ in range(4)])
    means = rng.normal(0, 0.5, 8)[specimen] + rng.normal(0, 0.3, 32)
    swap, X = np.repeat(np.arange(32), 2), np.eye(4)[specimen // 2]
    quiet = fit_reml(means[swap], X[swap], {"specimen": specimen[swap], "swap": swap})
    plain = fit_reml(means, X, {"specimen": specimen})
    assert quiet.on_means == "swap"
    assert quiet.variances["specimen"] == pytest.approx(plain.variances["specimen"], rel=1e-6)
    assert quiet.variances["swap"] == pytest.approx(plain.residual_variance, rel=1e-6)
    assert quiet.contrast(GAP).standard_error == pytest.approx(plain.contrast(GAP).standard_error, rel=1e-6)


def test_as_many_quiet_swaps_as_fixed_columns_are_refused_in_words():
    swap = np.repeat(np.arange(3), 4)
    minute = swap * 5.0 + np.tile(np.arange(4.0), 3)
    X = np.column_stack([np.ones(12), swap == 1, minute]).astype(float)
    many = many_responses(np.array([[0.3, -0.1, 0.8], [0.1, 0.2, 0.3]]).T[swap], X, {"swap": swap}, [[0.0, 1.0, 0.0]])
    assert many.no_interval.all()  # a batch goes on, and says so of each record
    with pytest.raises(ValueError, match="no level of 'swap' is left over to judge the scatter by"):
        fit_reml(np.array([0.3, -0.1, 0.8])[swap], X, {"swap": swap})


def test_a_walk_stays_when_the_swaps_are_taken_out():
    """Loadings are no levels, so that there is nothing to go further up to."""
    rng = np.random.default_rng(6)
    walk = np.tri(24)[:, 1:]
    means, X = walk @ rng.normal(0, 0.3, 23) + rng.normal(0, 0.3, 24), np.eye(4)[rng.permutation(24) % 4]
    swap = np.repeat(np.arange(24), 3)
    quiet = fit_reml(means[swap], X[swap], {"walk": walk[swap], "swap": swap})
    plain = fit_reml(means, X, {"walk": walk})
    assert quiet.on_means == "swap" and quiet.variances["walk"] == pytest.approx(plain.variances["walk"], rel=1e-6)
    assert quiet.contrast(GAP).standard_error == pytest.approx(plain.contrast(GAP).standard_error, rel=1e-6)
    np.testing.assert_allclose(quiet.random_effects["walk"], plain.random_effects["walk"], atol=1e-7)


def test_blocks_alone_scatter():
    """Swaps that all read the same within their block: gaps are known, and there is nothing to judge them by."""
    block, swap = np.repeat(np.arange(3), 12), np.repeat(np.arange(12), 3)
    X = np.eye(4)[swap % 4]
    fit = fit_reml(np.array([0.0, 1.3, -0.8])[block], X, {"swap": swap, "block": block})
    found = fit.contrast(GAP)
    assert found.estimate == pytest.approx(0.0, abs=1e-12) and found.standard_error == pytest.approx(0.0, abs=1e-12)
    assert found.no_interval.startswith("the levels do not scatter at all")
    test = fit.joint_test(np.eye(4)[1:] - np.eye(4)[0])
    assert test.numerator_df == 0 and np.isnan(test.p_value)
