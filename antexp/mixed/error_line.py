"""The rule at zero (M7): a random term that ends at zero and is the error line of the gaps is its own error."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.arrays import Floats
from antexp.mixed.cross_products import CrossProducts
from antexp.mixed.kenward_roger import Inference, infer, scaled
from antexp.mixed.restricted_likelihood import Projection, Reduced
from antexp.mixed.search import maximise

MOSTLY_BETWEEN = 0.5
"""Fixed columns live between the levels of a term where no direction of theirs has this share of its length within
them: a swap lasts a small part of its block, whereas a specimen's swaps see whole blocks."""


def error_line_inference(products: CrossProducts, at: Reduced, projection: Projection) -> Inference | None:
    """Judge the gaps by the mean square of the first random term, which the search put at zero.

    Parameters
    ----------
    products : CrossProducts
        Its first random term is the error line.
    at : Reduced
        The bounded answer, γ₁ = 0.
    projection : Projection
        P there.

    Returns
    -------
    Inference or None
        None where the rule has nothing to stand on: no degrees of freedom are left to the error line.

    Notes
    -----
    Fixed columns that live between the levels (swaps: everything but the time within a swap) give
    MS = Σ nᵢ(ȳᵢ − x̂ᵢ)²/(N − p). Fixed columns that vary within them (specimens: blocks and drift) give
    MS = [RSS(X) − RSS(X, levels)]/df, finer random terms kept in H at their estimates, with the degrees of freedom
    that such a sum has when unlike levels scatter, where these are fewer (Satterthwaite 1946, Biometr. Bull. 2:110).
    Where coarser random terms are above zero (random blocks around swaps), the level means are fitted with their own
    mean square as the residual and the coarser terms bounded and kept in W.
    """
    others = np.flatnonzero(at.gamma > 0)
    coarse = coarser_terms(products)
    if products.eliminated == 0 and coarse[others].all() and lives_between(products):
        if not others.size:
            return _mean_square_of_means(products)
        return _fit_of_means(products, coarse)
    return _extra_sum_of_squares(products, at, projection)


def coarser_terms(products: CrossProducts) -> NDArray[np.bool_]:
    """Tell which other terms are constant within each level of the eliminated one, shape (k,)."""
    r, width = products.rank, products.gram.shape[0] - 1
    inside, whole = np.diag(products.within)[r:width], np.diag(products.gram)[r:width]
    flat = inside <= 1e-12 * whole
    return np.array([i != products.eliminated and flat[b].all() for i, b in enumerate(products.blocks)], dtype=bool)


def lives_between(products: CrossProducts) -> bool:
    """Tell whether the fixed columns live between the levels of the eliminated term."""
    return float(shares_within(products)[0].max(initial=0.0)) < MOSTLY_BETWEEN


def shares_within(products: CrossProducts) -> tuple[Floats, Floats]:
    """Return the shares of directions of the fixed part that lie within the levels, shape (r,), and the directions."""
    r = products.rank
    turn = np.linalg.inv(np.linalg.cholesky(products.gram[:r, :r]))  # the identity, but for level means
    values, vectors = np.linalg.eigh(turn @ products.within[:r, :r] @ turn.T)
    return values, turn.T @ vectors


def _mean_square_of_means(products: CrossProducts) -> Inference | None:
    """MS = Σ nᵢ(ȳᵢ − x̂ᵢ)²/(N − p) at V ∝ I."""
    r, df = products.rank, products.counts.size - products.rank
    if df <= 0:
        return None
    beta = products.gram[:r, -1]  # orthonormal columns at γ = 0
    residual_sums = products.sums[:, -1] - products.sums[:, :r] @ beta
    mean_square = float((residual_sums**2 / products.counts).sum()) / df
    return scaled(np.eye(r), mean_square, df)


def _fit_of_means(products: CrossProducts, coarse: NDArray[np.bool_]) -> Inference | None:
    """Fit the weighted level means with the coarser terms; its residual is the error line."""
    means = means_of_levels(products, coarse, power=0.5)
    if means.readings - means.rank <= 0:
        return None
    at, _, _ = maximise(means)
    return infer(means, at.gamma, np.ones(at.gamma.size, dtype=bool))


def means_of_levels(products: CrossProducts, terms: NDArray[np.bool_], power: float) -> CrossProducts:
    """Turn the products of the readings into those of the means over the levels of the eliminated term.

    Parameters
    ----------
    products : CrossProducts
    terms : ndarray of bool, shape (k,)
        Other terms to keep; each constant within the levels.
    power : float
        0.5: weights nᵢ (the scatter within levels decides); 1: equal weights (the scatter between them does).

    Returns
    -------
    CrossProducts
        On the same coefficients; the fixed columns must live between the levels, so that the means determine them.
    """
    r = products.rank
    kept = [products.blocks[i] for i in np.flatnonzero(terms)]
    columns = np.concatenate([np.arange(r), *(np.arange(r + b.start, r + b.stop) for b in kept), [-1]]).astype(np.intp)
    rows = products.sums[:, columns] / products.counts[:, None] ** power
    gram = rows.T @ rows
    ends = np.cumsum([0, *(b.stop - b.start for b in kept)])
    blocks = tuple(slice(int(a), int(b)) for a, b in pairwise(ends))
    names = tuple(products.names[i] for i in np.flatnonzero(terms))
    nothing = np.zeros((0, gram.shape[0]))
    return CrossProducts(
        products.counts.size, products.fixed, names, -1, blocks, np.zeros(0), nothing, gram, gram, products.level
    )


def _extra_sum_of_squares(products: CrossProducts, at: Reduced, p: Projection) -> Inference | None:
    """MS = [RSS(X) − RSS(X, levels)]/df, in the metric of H at the other terms' estimates.

    Levels that are not alike (one hung twice as often, or astride the drift) mix chi-squares of unlike weights when
    they do scatter; the sum then has Satterthwaite's tr(PG)²/tr(PGPG) degrees of freedom. The smaller of both serves.
    """
    if products.eliminated == 0:
        square, df = _extra_of_eliminated(products, at)
    else:
        inner = p.small[products.blocks[0], products.blocks[0]]
        values, vectors = np.linalg.eigh(inner)
        held = values > 1e-9 * max(float(values[-1]), 1e-300)
        reach = vectors[:, held].T @ p.scores[0]
        square, df = float((reach**2 / values[held]).sum()), int(held.sum())
    if df <= 0:
        return None
    return scaled(phi_of(products, at), square / df, min(df, float(p.traces[0] ** 2 / p.squares[0, 0])))


def _extra_of_eliminated(products: CrossProducts, at: Reduced) -> tuple[float, int]:
    """Return the extra sum of squares of the eliminated term and its df, from what is left within its levels."""
    r, width = products.rank, products.gram.shape[0] - 1
    scale = np.concatenate([np.ones(r), at.root_gamma])
    system = products.within[:width, :width] * np.outer(scale, scale)
    system[range(r, width), range(r, width)] += 1.0
    right = scale * products.within[:width, width]
    values, vectors = np.linalg.eigh(system)
    held = values > 1e-9
    along = vectors[:, held].T @ right
    inside = float(products.within[width, width] - (along**2 / values[held]).sum())
    lost = int((np.linalg.eigvalsh(products.within[:r, :r]) > 1e-9).sum()) if r else 0
    return at.quadratic - inside, products.counts.size + lost - r


def phi_of(products: CrossProducts, at: Reduced) -> Floats:
    """Return (XᵀH⁻¹X)⁻¹ at the point `at`."""
    r, width = products.rank, products.gram.shape[0] - 1
    factor = np.linalg.cholesky(np.eye(width - r) + at.gram[r:width, r:width] * np.outer(at.root_gamma, at.root_gamma))
    half = np.linalg.solve(factor, at.root_gamma[:, None] * at.gram[r:width, :r])
    inverse = np.linalg.inv(at.gram[:r, :r] - half.T @ half)
    return (inverse + inverse.T) / 2.0
