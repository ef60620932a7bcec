"""Records at the edge of what can be judged."""

import numpy as np
import pytest

from antexp.mixed import fit_reml


def indicators(codes):
    """One column a level."""
    return (codes[:, None] == np.unique(codes)[None, :]).astype(float)


def textbook(y, X, groups, fit):
    """REML log-likelihood and generalised least squares of a fit's variances, formed n × n (Harville 1974)."""
    V = sum(fit.variances[n] * np.equal.outer(c, c) for n, c in groups.items())
    V = V + fit.residual_variance * np.eye(y.size)
    inverse = np.linalg.inv(V)
    information = X.T @ inverse @ X
    beta = np.linalg.solve(information, X.T @ inverse @ y)
    r = y - X @ beta
    logs = [np.linalg.slogdet(m)[1] for m in (V, information, X.T @ X)]
    free = y.size - X.shape[1]
    likelihood = -0.5 * (free * np.log(2 * np.pi) + logs[0] + logs[1] - logs[2] + r @ inverse @ r)
    return likelihood, beta, np.linalg.inv(information)


def test_one_to_a_thousand_readings_in_one_record(swap_record):
    counts = [1, 1000, 3, 40, 1, 1, 200, 7, 2, 500, 30, 1]
    y, X, code = swap_record(3, readings=counts, swap_sd=0.7)
    fit = fit_reml(y, X, {"swap": code})
    likelihood, beta, phi = textbook(y, X, {"swap": code}, fit)
    assert fit.restricted_log_likelihood == pytest.approx(likelihood, abs=1e-7)
    np.testing.assert_allclose(fit.coefficients, beta, atol=1e-9)
    row = np.eye(X.shape[1])[1] - np.eye(X.shape[1])[0]
    plain = fit.contrast(row, method="satterthwaite").standard_error
    assert plain == pytest.approx(np.sqrt(row @ phi @ row), rel=1e-8)
    # With swaps far apart and many readings in some, the swaps' number decides, not the readings'.
    assert fit.contrast(row).degrees_of_freedom < 12 - X.shape[1] + 2


@pytest.mark.parametrize("noise", [1e-3, 1e-5, 1e-6])
@pytest.mark.parametrize("method", ["kenward-roger", "satterthwaite"])
def test_hardly_any_reading_noise_leaves_the_swaps_to_judge(swap_record, noise, method):
    """Balanced swaps: the t of a gap is that of the analysis of variance of swap means, readings however quiet."""
    quiet, X, code = swap_record(2, swap_sd=0.5, reading_sd=0.0, lines=False)
    y = quiet + noise * np.random.default_rng(5).normal(size=code.size)
    means, of_means = np.bincount(code, y) / 3, X[::3]
    left = means - of_means @ np.linalg.lstsq(of_means, means, rcond=None)[0]
    fit = fit_reml(y, X, {"swap": code})
    found = fit.contrast(np.r_[-1.0, 1.0, np.zeros(4)], method=method)
    assert fit.on_means == "" and fit.residual_variance > 0
    assert found.degrees_of_freedom == pytest.approx(12 - 6, rel=1e-6)
    # three hangings of each of two candidates, one in every block
    assert found.standard_error == pytest.approx(np.sqrt((left @ left) / 6 * 2 / 3), rel=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_the_maximum_is_the_highest_of_a_fine_grid(swap_record, seed):
    """No point of a 60 × 60 grid of spreads beats the fit, crossed terms and unequal readings included."""
    rng = np.random.default_rng(seed)
    y, X, code = swap_record(seed, readings=[1, 4, 2, 3, 1, 2] * 2, swap_sd=rng.choice([0.0, 0.2, 0.6]))
    observer = rng.integers(0, 4, y.size)
    y = y + rng.normal(0, rng.choice([0.0, 0.5]), 4)[observer]
    groups = {"swap": code, "observer": observer}
    fit = fit_reml(y, X, groups)
    G = {n: np.equal.outer(c, c).astype(float) for n, c in groups.items()}
    free, best = y.size - X.shape[1], -np.inf
    for a in np.r_[0.0, np.geomspace(1e-3, 1e2, 29)]:
        for b in np.r_[0.0, np.geomspace(1e-3, 1e2, 29)]:
            H = np.eye(y.size) + a * G["swap"] + b * G["observer"]
            inverse = np.linalg.inv(H)
            information = X.T @ inverse @ X
            r = y - X @ np.linalg.solve(information, X.T @ inverse @ y)
            logs = [np.linalg.slogdet(m)[1] for m in (H, information, X.T @ X)]
            rss = r @ inverse @ r
            value = -0.5 * (free * (np.log(2 * np.pi * rss / free) + 1) + logs[0] + logs[1] - logs[2])
            best = max(best, value)
    assert fit.restricted_log_likelihood >= best - 1e-9
    assert fit.restricted_log_likelihood == pytest.approx(best, abs=0.5)


def test_a_component_at_zero_stays_in_w_when_it_is_not_the_error_line(swap_record):
    """A random block at zero beside swaps above zero: M7 leaves it alone, so the rule is `keep`, not `drop`."""
    for seed in range(100):
        y, X, code = swap_record(seed, candidates=4, blocks=4, swap_sd=0.8, lines=False, lost=(3,))
        groups = {"swap": code, "block": code // 4}
        fit = fit_reml(y, X[:, :4], groups)
        if fit.at_zero == ("block",):
            break
    row = [-1.0, 1.0, 0.0, 0.0]
    ruled, kept = fit.contrast(row), fit_reml(y, X[:, :4], groups, at_zero="keep").contrast(row)
    dropped = fit_reml(y, X[:, :4], groups, at_zero="drop").contrast(row)
    alone = fit_reml(y, X[:, :4], {"swap": code}, at_zero="keep").contrast(row)
    assert not fit.error_line_rule and ruled == kept
    assert dropped.degrees_of_freedom == pytest.approx(alone.degrees_of_freedom, rel=1e-6)
    assert kept.degrees_of_freedom < dropped.degrees_of_freedom - 0.1


def test_nearly_aliased_drift_reports_its_inflation():
    """A B B A with a parabola added passes the rank check by a hair when one swap is a minute late: errors explode."""
    candidate = np.tile([0, 1, 1, 0], 4)
    block = np.repeat(np.arange(4), 4)
    minute = np.tile([-15.0, -5.0, 5.0, 15.0], 4)
    minute[3] += 1.0
    base = np.column_stack([indicators(candidate), indicators(block)[:, 1:]])
    curved = np.column_stack([base, minute, minute**2])
    code = np.repeat(np.arange(16), 2)
    rng = np.random.default_rng(0)
    y = rng.normal(0, 0.3, 16)[code] + rng.normal(0, 0.3, 32)
    fit = fit_reml(y, curved[code], {"swap": code})
    row = np.r_[-1.0, 1.0, np.zeros(curved.shape[1] - 2)]
    inflation = fit.inflation(row[None], [5, 6])
    assert fit.aliased == () and inflation[0] > 10
    np.testing.assert_allclose(fit.inflation(row[None], [5]), 1.0, atol=0.3)
    # The same ratio straight from XᵀX: swaps are balanced, so V does not matter.
    errors = [np.sqrt(r @ np.linalg.inv(M.T @ M) @ r) for M, r in ((curved, row), (base, row[:5]))]
    assert inflation[0] == pytest.approx(errors[0] / errors[1], rel=1e-7)
    with pytest.raises(ValueError, match="contrasts use the columns that are to be thought away: 1, 6"):
        fit.inflation(row[None], [1, 6])
    minute[3] -= 1.0
    exact = np.column_stack([base, minute, minute**2])
    with pytest.raises(ValueError, match="rank check of X"):
        fit_reml(y, exact[code], {"swap": code}).contrast(row)


def test_tiny_degrees_of_freedom_get_no_interval():
    """Two batches, one of them much larger: the mean rests on less than one degree of freedom."""
    rng = np.random.default_rng(1)
    batch = np.repeat([0, 1], [40, 2])
    y = np.array([0.0, 8.0])[batch] + rng.normal(0, 1.0, 42)
    fit = fit_reml(y, np.ones((42, 1)), {"batch": batch, "pair": np.arange(42) // 2})
    found = fit.contrast([1.0])
    other = fit_reml(y, np.ones((42, 1)), {"batch": batch}).contrast([1.0])
    assert other.degrees_of_freedom == pytest.approx(1.0, abs=0.3)
    assert (found.no_interval == "") == (found.degrees_of_freedom >= 1.0)
    low = [c for c in (found, other) if c.degrees_of_freedom < 1.0]
    assert low and all(c.no_interval.startswith("degrees of freedom are below 1") for c in low)


def test_variances_that_can_hardly_be_told_apart_get_no_interval(swap_record):
    y, X, code = swap_record(0)
    rng = np.random.default_rng(0)
    nearly = indicators(code) + 2e-6 * rng.normal(size=(code.size, 12))
    fit = fit_reml(y, X, {"swap": code, "copy": nearly})
    assert fit.information_condition > 1e10
    found = fit.contrast(np.eye(X.shape[1])[1] - np.eye(X.shape[1])[0])
    assert found.no_interval.startswith("the variances cannot be told apart")


def test_a_walk_that_takes_all_the_scatter_is_not_judged_by_rounding():
    """One reading a swap: Φ_A is never below generalised least squares at the estimates, by dense matrices."""
    rng = np.random.default_rng(0)
    walk = np.kron(np.eye(2), np.tri(6)[:, 1:])
    candidate = np.concatenate([rng.permutation(6) % 3 for _ in range(2)])
    X, row = np.column_stack([np.eye(3)[candidate], np.repeat([0, 1], 6)]), np.array([-1.0, 1.0, 0.0, 0.0])
    inverse = np.linalg.inv(walk @ walk.T + 1e-9 * np.eye(12))  # next to no reading noise beside the walk
    plain = np.sqrt(row @ np.linalg.pinv(X.T @ inverse @ X, rcond=1e-14) @ row)
    at_the_edge = 0
    for _ in range(40):
        fit = fit_reml(walk @ rng.normal(0, 0.6, 10) + rng.normal(0, 0.1, 12), X, {"walk": walk})
        if fit.residual_variance < 1e-6 * fit.variances["walk"]:
            at_the_edge += 1
            assert fit.contrast(row).standard_error >= 0.999 * np.sqrt(fit.variances["walk"]) * plain
    assert at_the_edge >= 10
