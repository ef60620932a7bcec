"""What the kernel takes from cross-products, held against the same formulas written with n-by-n matrices.

The formulas are those of Kenward & Roger 1997 (Biometrics 53:983) and of weighted least squares; the dense versions
below share no code with the kernel.
"""

from __future__ import annotations

import numpy as np
import pytest

from antexp.mixed.cross_products import cross_products
from antexp.mixed.error_line import coarser_terms, error_line_inference, phi_of
from antexp.mixed.kenward_roger import infer
from antexp.mixed.reml import fit_reml
from antexp.mixed.restricted_likelihood import derivatives, project, reduce_at, residual_square
from antexp.mixed.terms import read_terms

N = 42


def record(seed: int = 4):
    """Invented readings: 14 swaps of 3, 5 candidates, a line, 4 gangs of swaps, a walk over the swaps."""
    random = np.random.default_rng(seed)
    swap = np.repeat(np.arange(14), 3)
    candidate = random.permutation(np.arange(14) % 5)[swap]
    X = np.column_stack([np.eye(5)[candidate], np.arange(N) - 20.5])
    walk = (swap[:, None] >= np.arange(1, 14)) * np.sqrt(random.uniform(0.5, 2.0, 13))
    groups = {"swap": swap, "gang": swap % 4, "walk": walk}
    return random.normal(size=N), X, groups


def loadings(groups):
    """Each term as a matrix."""
    return [g if g.ndim == 2 else (g[:, None] == np.unique(g)).astype(float) for g in groups.values()]


def dense_h(Z, gamma):
    return np.eye(N) + sum(g * z @ z.T for g, z in zip(gamma, Z, strict=True))


def generalised(y, X, H):
    """Residual square, rank and (XᵀH⁻¹X)⁺ of generalised least squares, through the root of H."""
    root = np.linalg.inv(np.linalg.cholesky(H))
    beta, _, rank, _ = np.linalg.lstsq(root @ X, root @ y, rcond=1e-10)
    return float(((root @ (y - X @ beta)) ** 2).sum()), int(rank), np.linalg.pinv(X.T @ np.linalg.solve(H, X))


@pytest.mark.parametrize("gamma", [(0.0, 0.7, 0.3), (0.0, 0.7, 0.0), (0.9, 0.4, 0.2)])
def test_the_fixed_covariance(gamma):
    y, X, groups = record()
    products = cross_products(y, X, read_terms(groups, N))
    at = reduce_at(products, np.array(gamma))
    _, _, phi = generalised(y, X, dense_h(loadings(groups), gamma))
    if gamma[0] == 0.0:  # that of the error line is asked at its zero only
        np.testing.assert_allclose(products.fixed.to_covariance(phi_of(products, at)), phi, atol=1e-11)
    found = infer(products, np.array(gamma), np.ones(3, dtype=bool))
    sigma2 = generalised(y, X, dense_h(loadings(groups), gamma))[0] / (N - 6)
    np.testing.assert_allclose(products.fixed.to_covariance(found.phi), sigma2 * phi, atol=1e-11)


@pytest.mark.parametrize("order", [("swap", "meter"), ("gang", "swap", "walk"), ("gang", "swap")])
def test_the_error_line_is_the_extra_sum_of_squares(order):
    """MS = [RSS(X) − RSS(X, levels)]/df in the metric of the other terms (M7)."""
    y, X, groups = record()
    groups = {**groups, "meter": np.random.default_rng(5).integers(0, 4, N)}
    groups = {name: groups[name] for name in order}
    gamma = np.array([0.0, 0.6, 0.25][: len(order)])
    products = cross_products(y, X, read_terms(groups, N))
    at = reduce_at(products, gamma)
    found = error_line_inference(products, at, project(products, at))
    Z = loadings(groups)
    H = dense_h(Z, gamma)
    whole, rank, phi = generalised(y, X, H)
    rest, full_rank, _ = generalised(y, np.hstack([X, Z[0]]), H)
    df = full_rank - rank
    mean_square = (whole - rest) / df
    inverse = np.linalg.inv(H)
    P = inverse - inverse @ X @ np.linalg.solve(X.T @ inverse @ X, X.T @ inverse)
    own = Z[0].T @ P @ Z[0]
    assert found.spread[0, 0] == pytest.approx(2.0 / min(df, np.trace(own) ** 2 / np.trace(own @ own)))
    np.testing.assert_allclose(products.fixed.to_covariance(found.adjusted), mean_square * phi, rtol=1e-7, atol=1e-10)


@pytest.mark.parametrize("gamma", [(0.9, 0.4, 0.2), (0.3, 1.5, 0.05)])
def test_the_condition_of_the_information(gamma):
    """½ tr(P·Zᵢ Zᵢᵀ·P·Zⱼ Zⱼᵀ) in the variances themselves, scaled to unit diagonal; it has no scale of its own."""
    y, X, groups = record()
    Z = loadings(groups)
    inverse = np.linalg.inv(dense_h(Z, gamma))
    P = inverse - inverse @ X @ np.linalg.solve(X.T @ inverse @ X, X.T @ inverse)
    parts = [np.eye(N), *(z @ z.T for z in Z)]
    information = np.array([[np.trace(P @ a @ P @ b) for b in parts] for a in parts])
    scale = np.sqrt(np.diag(information))
    expected = np.linalg.cond(information / np.outer(scale, scale))
    products = cross_products(y, X, read_terms(groups, N))
    found = infer(products, np.array(gamma), np.ones(3, dtype=bool))
    assert found.condition == pytest.approx(expected, rel=1e-7)


def test_one_variance_alone_can_always_be_told():
    y, X, _ = record()
    assert fit_reml(y, X, {}).information_condition == 1.0


def test_readings_without_scatter_fall_back_on_the_expected_information():
    _, X, groups = record()
    products = cross_products(np.zeros(N), X, read_terms(groups, N))
    found = infer(products, np.array([0.9, 0.4, 0.2]), np.ones(3, dtype=bool))
    np.testing.assert_array_equal(found.observed_spread, found.spread)


def test_the_residual_square_is_that_of_least_squares_and_zero_where_nothing_is_left():
    y, X, groups = record()
    terms = read_terms(groups, N)
    left, _, _ = generalised(y, X, np.eye(N))
    assert residual_square(cross_products(y, X, terms)) == pytest.approx(left, rel=1e-10)
    exact = X @ np.array([1.0, -2.0, 0.5, 3.0, 1.0, 0.1])
    assert residual_square(cross_products(exact, X, terms)) == 0.0
    assert residual_square(cross_products(exact + 1e-5 * y, X, terms)) > 0.0


def test_slopes_and_curvatures_are_those_of_the_deviance():
    """Central differences of the deviance; the step leaves some six digits of a slope, four of a curvature."""
    y, X, groups = record()
    products = cross_products(y, X, read_terms(groups, N))
    here = np.array([0.9, 0.4, 0.2])

    def deviance(gamma):
        return reduce_at(products, gamma).deviance

    def slopes(gamma):
        at = reduce_at(products, gamma)
        return derivatives(products, at, project(products, at)).gradient

    step = 1e-5 * np.eye(3)
    at = reduce_at(products, here)
    found = derivatives(products, at, project(products, at))
    numeric = [(deviance(here + h) - deviance(here - h)) / 2e-5 for h in step]
    np.testing.assert_allclose(found.gradient, numeric, rtol=1e-5, atol=1e-6)
    bent = [(slopes(here + h) - slopes(here - h)) / 2e-5 for h in step]
    np.testing.assert_allclose(found.hessian, bent, rtol=1e-4, atol=1e-5)
    assert np.linalg.eigvalsh(found.expected)[0] > 0


def test_a_term_is_coarser_only_where_every_column_of_it_is_constant_within_the_levels():
    y, X, groups = record()
    inside = {"swap": groups["swap"], "tilt": (np.arange(N) % 3.0)[:, None], "gang": groups["gang"]}
    found = coarser_terms(cross_products(y, X, read_terms(inside, N)))
    assert found.tolist() == [False, False, True]
    last = {"swap": groups["swap"], "gang": groups["gang"], "tilt": (np.arange(N) % 3.0)[:, None]}
    assert coarser_terms(cross_products(y, X, read_terms(last, N))).tolist() == [False, True, False]


def test_as_many_fixed_columns_as_levels_leave_no_error_line():
    y, _, groups = record()
    X = (groups["swap"][:, None] == np.arange(14)).astype(float)
    products = cross_products(y, X, read_terms({"swap": groups["swap"]}, N))
    at = reduce_at(products, np.zeros(1))
    assert error_line_inference(products, at, project(products, at)) is None
