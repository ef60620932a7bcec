"""The profiled restricted likelihood and its derivatives, at the size of the random effects.

Everything is relative to the reading variance: H = I + Σ γᵢ ZᵢZᵢᵀ, V = σ²H (M2). The term with the most levels is
eliminated first, level by level; the fixed columns and the other terms then form one small augmented system, so
P = V⁻¹ − V⁻¹X(XᵀV⁻¹X)⁻¹XᵀV⁻¹ is a diagonal minus a product of narrow matrices and never appears as a whole.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats
from antexp.mixed.cross_products import CrossProducts

NO_SCATTER = 1e-13
"""Share of the levels' sum of squares below which what is left over is rounding: centred products keep about
1e-15."""


@dataclass(frozen=True)
class Reduced:
    """The record seen through H at one γ.

    Attributes
    ----------
    gamma : ndarray, shape (k,)
        Relative variances.
    deviance : float
        −2 × restricted log-likelihood, without its constant.
    quadratic : float
        yᵀPy with P relative to σ²; σ̂² = quadratic / (n − r).
    shrunk : ndarray, shape (q1, r + q2 + 1)
        Z1ᵀH1⁻¹[X | Z2 | y], H1 holding the eliminated term alone.
    gram : ndarray, shape (r + q2 + 1, r + q2 + 1)
        [X | Z2 | y]ᵀH1⁻¹[X | Z2 | y].
    factor : ndarray, shape (r + q2, r + q2)
        Lower triangular R with RRᵀ the augmented system of X and Z2·√γ.
    root_gamma : ndarray, shape (q2,)
        √γ of each column of Z2.
    diagonal : ndarray, shape (q1,)
        Diagonal of Z1ᵀH1⁻¹Z1.
    """

    gamma: Floats
    deviance: float
    quadratic: float
    shrunk: Floats
    gram: Floats
    factor: Floats
    root_gamma: Floats
    diagonal: Floats


def reduce_at(products: CrossProducts, gamma: Floats) -> Reduced:
    """Evaluate the profiled restricted likelihood at one γ.

    Parameters
    ----------
    products : CrossProducts
    gamma : ndarray, shape (k,)
        Relative variances, each at least 0, in the order of `products.names`.
    """
    r, width = products.rank, products.gram.shape[0] - 1
    counts, index = products.counts, products.eliminated
    log_determinant, gram, shrunk, diagonal = 0.0, products.gram, products.sums, counts
    if index >= 0 and gamma[index] > 0:
        spread = 1.0 + gamma[index] * counts
        log_determinant = float(np.log(spread).sum())
        shrunk = products.sums / spread[:, None]
        diagonal = counts / spread
        root = products.sums / np.sqrt(counts * spread)[:, None]
        gram = products.within + root.T @ root
    root_gamma = np.zeros(width - r)
    for name, block in enumerate(products.blocks):
        root_gamma[block] = np.sqrt(gamma[name])
    scale = np.concatenate([np.ones(r), root_gamma, [1.0]])
    system = gram * scale[:, None] * scale
    system[range(r, width), range(r, width)] += 1.0
    # The square of the last pivot of a Cholesky factor bordered by y is yᵀPy, without a solve.
    factor, quadratic = _bordered_cholesky(system)
    log_determinant += 2.0 * float(np.log(np.diag(factor)).sum())
    with np.errstate(divide="ignore"):
        deviance = float((products.readings - r) * np.log(quadratic)) + log_determinant
    return Reduced(gamma, deviance, quadratic, shrunk, gram, factor, root_gamma, diagonal)


def _bordered_cholesky(system: Floats) -> tuple[Floats, float]:
    """Return the factor without its border, and the square of the border's pivot."""
    try:
        factor = np.linalg.cholesky(system)
        return factor[:-1, :-1], float(factor[-1, -1] ** 2)
    except np.linalg.LinAlgError:  # y lies in the span of the rest to the last digit
        factor = np.linalg.cholesky(system[:-1, :-1])
        return factor, 0.0


def residual_square(products: CrossProducts) -> float:
    """Return yᵀMy, the residual sum of squares without random terms; 0 where it is rounding.

    See `NO_SCATTER`.
    """
    r = products.rank
    gram = products.gram
    part = np.linalg.solve(gram[:r, :r], gram[:r, -1])
    left = float(gram[-1, -1] - part @ gram[:r, -1])
    return left if left > NO_SCATTER * gram[-1, -1] else 0.0


@dataclass(frozen=True)
class Projection:
    """P between the random terms: C_ij = ZᵢᵀPZⱼ and wᵢ = ZᵢᵀPy, relative to σ².

    Attributes
    ----------
    traces : ndarray, shape (k,)
        tr C_ii.
    squares : ndarray, shape (k, k)
        ‖C_ij‖², that is tr(PGᵢPGⱼ).
    scores : tuple of ndarray
        wᵢ.
    lengths : ndarray, shape (k,)
        ‖wᵢ‖².
    forms : ndarray, shape (k, k)
        wᵢᵀC_ijwⱼ.
    narrow : ndarray, shape (q1, r + q2)
        Y with C_11 = diag(`Reduced.diagonal`) − YYᵀ for the eliminated term.
    small : ndarray, shape (q2, q2)
        C between the other terms.
    cross : ndarray, shape (q1, q2)
        C between the eliminated term and the others.
    """

    traces: Floats
    squares: Floats
    scores: tuple[Floats, ...]
    lengths: Floats
    forms: Floats
    narrow: Floats
    small: Floats
    cross: Floats


def project(products: CrossProducts, at: Reduced) -> Projection:
    """Form P between the random terms at the point `at`."""
    r, width = products.rank, products.gram.shape[0] - 1
    scale = np.concatenate([np.ones(r), at.root_gamma])
    half = np.linalg.inv(at.factor) * scale  # R⁻¹ diag(scale), rows of the augmented system
    narrow = at.shrunk[:, :width] @ half.T
    turned = half @ at.gram[:width, r:]  # its last column belongs to y
    small = at.gram[r:width, r:width] - turned[:, :-1].T @ turned[:, :-1]
    small_score = at.gram[r:width, width] - turned[:, :-1].T @ turned[:, -1]
    cross = at.shrunk[:, r:width] - narrow @ turned[:, :-1]
    score = at.shrunk[:, width] - narrow @ turned[:, -1]
    return _summaries(products, at, narrow, small, cross, score, small_score)


def _summaries(
    products: CrossProducts,
    at: Reduced,
    narrow: Floats,
    small: Floats,
    cross: Floats,
    score: Floats,
    small_score: Floats,
) -> Projection:
    """Reduce the blocks of P to the traces, norms and forms that derivatives need."""
    k, first = len(products.names), products.eliminated
    traces, squares, forms = np.zeros(k), np.zeros((k, k)), np.zeros((k, k))
    scores = tuple(score if i == first else small_score[products.blocks[i]] for i in range(k))
    for i in range(k):
        for j in range(i, k):
            if i == first == j:
                overlap = narrow.T @ narrow
                row_squares = np.einsum("ij,ij->i", narrow, narrow)
                traces[i] = at.diagonal.sum() - row_squares.sum()
                value = (at.diagonal**2).sum() - 2.0 * at.diagonal @ row_squares + (overlap**2).sum()
                reach = narrow.T @ score
                form = at.diagonal @ score**2 - reach @ reach
            else:
                block = _block(products, small, cross, i, j)
                if i == j:
                    traces[i] = np.trace(block)
                value, form = (block**2).sum(), scores[i] @ block @ scores[j]
            squares[i, j] = squares[j, i] = value
            forms[i, j] = forms[j, i] = form
    lengths = np.array([w @ w for w in scores])
    return Projection(traces, squares, scores, lengths, forms, narrow, small, cross)


def _block(products: CrossProducts, small: Floats, cross: Floats, i: int, j: int) -> Floats:
    """Pick C_ij where at most one of the two is the eliminated term."""
    if i == products.eliminated:
        return cross[:, products.blocks[j]]
    if j == products.eliminated:
        return cross[:, products.blocks[i]].T
    return small[products.blocks[i], products.blocks[j]]


@dataclass(frozen=True)
class Derivatives:
    """Derivatives of the deviance with respect to γ.

    Attributes
    ----------
    gradient : ndarray, shape (k,)
    hessian : ndarray, shape (k, k)
        Observed.
    expected : ndarray, shape (k, k)
        Its expectation (twice the profiled information), never indefinite.
    """

    gradient: Floats
    hessian: Floats
    expected: Floats


def derivatives(products: CrossProducts, at: Reduced, p: Projection) -> Derivatives:
    """Differentiate the profiled deviance."""
    free = products.readings - products.rank
    quadratic = max(at.quadratic, 1e-150)  # whose square is a number too
    gradient = p.traces - free * p.lengths / quadratic
    outer = np.outer(p.lengths, p.lengths) / quadratic**2
    hessian = -p.squares + free * (2.0 * p.forms / quadratic - outer)
    expected = p.squares - np.outer(p.traces, p.traces) / free
    return Derivatives(gradient, hessian, expected)
