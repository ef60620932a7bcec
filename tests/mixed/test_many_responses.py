"""many_responses equals a loop of fit_reml: the same inference derived in two ways."""

import numpy as np
import pytest

from antexp.mixed import fit_reml
from antexp.mixed.many_responses import many_responses

# Both searches stop at 1e-8 of a relative variance; where the surface is flat a little of that is seen in the answer.
SAME = 1e-7
RECORDS = 12


def day(seed, readings):
    """9 candidates in 6 blocks with lines, the reference at both ends: columns by reading, contrasts, labels."""
    rng = np.random.default_rng(seed)
    candidate = np.concatenate([[0, *(1 + rng.permutation(8)), 0] for _ in range(6)])
    block, minute = np.repeat(np.arange(6), 10), np.tile(np.arange(10) * 6.0 - 27.0, 6)
    X = np.column_stack([np.eye(9)[candidate], np.eye(6)[block][:, 1:], np.eye(6)[block] * minute[:, None]])
    counts = {"equal": np.full(60, 3), "unequal": rng.integers(1, 6, 60), "lost": 3 * (rng.random(60) > 0.1)}[readings]
    code = np.repeat(np.arange(60), counts)
    L = np.column_stack([-np.ones(8), np.eye(8), np.zeros((8, 11))])
    specimen = candidate * 2 + rng.integers(0, 2, 60)
    return rng, X[code], L, code, specimen[code], block[code]


def equal_to_loop(Y, X, groups, L, at_zero="error line"):
    """Fit both ways and compare everything; return the batched answer."""
    many = many_responses(Y, X, groups, L, at_zero, covariances=True)
    for i, y in enumerate(Y.T):
        fit = fit_reml(y, X, groups, at_zero)
        found = fit.contrasts(L)
        np.testing.assert_allclose(many.estimates[i], found.estimates, rtol=SAME, atol=1e-9)
        np.testing.assert_allclose(many.covariances[i], found.covariance, rtol=SAME, atol=1e-10)
        np.testing.assert_allclose(many.standard_errors[i], found.standard_errors, rtol=SAME)
        np.testing.assert_allclose(many.degrees_of_freedom[i], found.degrees_of_freedom, rtol=SAME)
        np.testing.assert_allclose(many.residual_variance[i], fit.residual_variance, rtol=SAME)
        np.testing.assert_allclose(many.restricted_log_likelihood[i], fit.restricted_log_likelihood, atol=SAME)
        if not fit.error_line_rule:
            plain = fit.contrasts(L, method="satterthwaite").standard_errors
            np.testing.assert_allclose(many.plain_standard_errors[i], plain, rtol=SAME)
        for name, variance in fit.variances.items():
            np.testing.assert_allclose(many.variances[name][i], variance, rtol=SAME, atol=1e-9)
        assert many.error_line_rule[i] == fit.error_line_rule
        assert [bool(reason) for reason in found.no_interval] == list(many.no_interval[i])
    return many


@pytest.mark.parametrize("at_zero", ["error line", "keep", "drop"])
@pytest.mark.parametrize("readings", ["equal", "unequal", "lost"])
def test_records_with_swaps_are_fitted_as_one_by_one(readings, at_zero):
    rng, X, L, code, _, _ = day(1, readings)
    sd = np.repeat([0.0, 0.15, 0.5], RECORDS // 3)
    Y = (rng.normal(size=(60, RECORDS)) * sd)[code] + rng.normal(0, 0.4, (code.size, RECORDS)) - 70.0
    many = equal_to_loop(Y, X, {"swap": code}, L, at_zero)
    assert 0 < (many.variances["swap"] == 0).sum() < RECORDS


def test_times_of_readings_differ_within_a_swap():
    rng, X, L, code, _, block = day(2, "unequal")
    X = X.copy()
    X[:, 14:] += np.eye(6)[block] * rng.uniform(0, 2, code.size)[:, None]
    Y = rng.normal(0, 0.1, (60, RECORDS))[code] + rng.normal(0, 0.4, (code.size, RECORDS))
    assert equal_to_loop(Y, X, {"swap": code}, L).error_line_rule.any()


@pytest.mark.parametrize("at_zero", ["error line", "keep", "drop"])
@pytest.mark.parametrize("readings", ["equal", "unequal"])
def test_records_with_specimens_and_swaps_are_fitted_as_one_by_one(readings, at_zero):
    rng, X, L, code, specimen, _ = day(3, readings)
    sds = [(0.3, 0.3), (0.05, 0.3), (0.3, 0.05), (0.0, 0.0)] * (RECORDS // 4)
    Y = np.column_stack([
        rng.normal(0, s, 18)[specimen] + rng.normal(0, w, 60)[code] + rng.normal(0, 0.4, code.size) for s, w in sds
    ])
    equal_to_loop(Y, X, {"specimen": specimen, "swap": code}, L, at_zero)


def test_spreads_next_to_zero():
    """A spread of a thousandth of the noise: where log γ is nearly flat both searches must find the same hill."""
    rng, X, L, code, specimen, _ = day(9, "unequal")
    Y = rng.normal(0, 0.4, (code.size, 1_500)) + rng.normal(0, 0.02, (60, 1_500))[code]
    groups = {"specimen": specimen, "swap": code}
    many = many_responses(Y, X, groups, L)
    found = np.stack([many.variances["specimen"], many.variances["swap"]])
    small = np.where(found > 0, found, 1.0).min(axis=0)
    rows = np.argsort(small)[:RECORDS]
    assert small[rows].max() < 1e-3 * 0.4**2
    equal_to_loop(Y[:, rows], X, groups, L)


@pytest.mark.parametrize("readings", ["equal", "unequal"])
def test_swaps_in_random_blocks(readings):
    rng, X, L, code, _, block = day(4, readings)
    keep = np.r_[:9, 14:20]
    Y = rng.normal(0, 0.4, (6, RECORDS))[block] + rng.normal(0, 0.1, (60, RECORDS))[code]
    Y += rng.normal(0, 0.4, (code.size, RECORDS))
    many = equal_to_loop(Y, X[:, keep], {"swap": code, "block": block}, L[:, keep])
    assert (many.error_line_rule & (many.variances["block"] > 0)).any()


def test_records_of_a_wandering_path_are_fitted_as_one_by_one():
    rng, X, L, code, _, _ = day(5, "lost")
    walk = np.kron(np.eye(6), np.tri(10)[:, 1:] * np.sqrt(6.0))
    Y = (walk @ rng.normal(0, 0.1, (54, RECORDS)))[code] + rng.normal(0, 0.2, (60, RECORDS))[code]
    Y += rng.normal(0, 0.4, (code.size, RECORDS))
    equal_to_loop(Y, X, {"swap": code, "walk": walk[code]}, L)


@pytest.mark.parametrize("first", ["swap", "specimen"])
def test_edges_in_one_batch(first):
    """Readings without noise, records without scatter and ordinary ones side by side."""
    rng, X, L, code, specimen, _ = day(6, "unequal")
    Y = rng.normal(0, 0.4, (60, 6))[code] + rng.normal(0, 0.4, (code.size, 6)) * np.array([1, 0, 1, 0, 1, 0])
    groups = {"swap": code} if first == "swap" else {"specimen": specimen, "swap": code}
    many = equal_to_loop(Y, X, groups, L)
    np.testing.assert_array_equal(many.residual_variance == 0, [False, True] * 3)
    flat = many_responses(np.full((code.size, 2), -70.0), X, groups, L)
    assert flat.no_interval.all() and (flat.standard_errors == 0).all()


def test_one_reading_a_swap():
    rng, X, L, code, specimen, _ = day(7, "equal")
    single = np.arange(0, 180, 3)
    Y = rng.normal(0, 0.4, (60, RECORDS))
    equal_to_loop(Y, X[single], {"swap": code[single]}, L)
    many = equal_to_loop(Y, X[single], {"specimen": specimen[single], "swap": code[single]}, L)
    assert np.isnan(many.residual_variance).all() and list(many.variances) == ["specimen", "swap"]


def test_crossed_terms_are_fitted_one_by_one():
    rng, X, L, code, _, _ = day(8, "equal")
    observer = np.tile(np.arange(3), 60)
    Y = rng.normal(0, 0.3, (60, 2))[code] + rng.normal(0, 0.3, (3, 2))[observer] + rng.normal(0, 0.4, (180, 2))
    equal_to_loop(Y, X, {"swap": code, "observer": observer}, L)



@pytest.mark.parametrize("readings", ["equal", "unequal"])
def test_random_blocks_beside_columns_that_change_within_swaps(readings):
    """A trend over the readings of a swap takes the rule at zero away from the swap means; single fits know too."""
    rng, X, L, code, _, block = day(10, readings)
    keep = np.r_[:9, 14:20]
    turn = np.arange(code.size) - np.concatenate([[0], np.cumsum(np.bincount(code, minlength=60))])[code]
    X = np.column_stack([X[:, keep], turn - 1.0])
    Y = rng.normal(0, 0.4, (6, RECORDS))[block] + rng.normal(0, 0.1, (60, RECORDS))[code]
    Y += rng.normal(0, 0.4, (code.size, RECORDS))
    many = equal_to_loop(Y, X, {"swap": code, "block": block}, np.pad(L[:, keep], ((0, 0), (0, 1))))
    assert (many.error_line_rule & (many.variances["block"] > 0)).any()


def test_quiet_records_are_the_same_without_covariances():
    rng, X, L, code, _, _ = day(11, "unequal")
    Y = rng.normal(0, 0.4, (60, 4))[code] + rng.normal(0, 0.4, (code.size, 4)) * np.array([0, 1, 0, 1])
    asked, plain = (many_responses(Y, X, {"swap": code}, L, covariances=asked) for asked in (True, False))
    assert plain.covariances is None
    np.testing.assert_array_equal(plain.residual_variance == 0, [True, False] * 2)
    np.testing.assert_allclose(plain.standard_errors, asked.standard_errors, rtol=1e-12)
    own = np.sqrt(np.diagonal(asked.covariances, axis1=1, axis2=2))
    np.testing.assert_allclose(plain.standard_errors, own, rtol=1e-12)


def test_what_does_not_fit_or_cannot_be_told_is_refused():
    _, X, L, code, _, block = day(1, "equal")
    with pytest.raises(ValueError, match=r"records must stand in the columns of a matrix: got shape \(180,\)"):
        many_responses(np.zeros(180), X, {"swap": code}, L)
    with pytest.raises(ValueError, match=r"levels must be finite: got 1 records with values that are not, the first 2"):
        many_responses(np.where(np.arange(4) == 2, np.nan, np.zeros((180, 4))), X, {"swap": code}, L)
    with pytest.raises(ValueError, match=r"'block' cannot be estimated"):
        many_responses(np.zeros((180, 2)), X, {"swap": code, "block": block}, L)
    with pytest.raises(ValueError, match=r"contrasts do not fit X"):
        many_responses(np.zeros((180, 2)), X, {"swap": code}, L[:, :5])
    with pytest.raises(ValueError, match=r"at_zero is unknown"):
        many_responses(np.zeros((180, 2)), X, {"swap": code}, L, at_zero="never")
