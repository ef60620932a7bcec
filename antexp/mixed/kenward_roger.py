"""Small-sample covariance and degrees of freedom of Kenward and Roger (M3–M6), at the size of the random effects.

The method does not change when the variance parameters are changed linearly. Instead of σ² itself the direction of V
as a whole is used beside each Gᵢ: there XᵀV⁻¹VV⁻¹X = Φ⁻¹ and Q − PΦP vanish or follow at once, and no large terms
cancel when the reading noise is small.

References
----------
Kenward and Roger 1997, Biometrics 53:983, doi:10.2307/2533558.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.cross_products import CrossProducts, never_meet
from antexp.mixed.restricted_likelihood import Projection, Reduced, project, reduce_at


@dataclass(frozen=True)
class Inference:
    """What contrasts are judged by, on the orthonormal fixed columns.

    Attributes
    ----------
    phi : ndarray, shape (r, r), dB²
        Φ, or the one of the error line (M7).
    adjusted : ndarray, shape (r, r), dB²
        Φ_A (M5).
    slopes : ndarray, shape (d, r, r)
        ∂Φ/∂θ for each variance parameter θ: V as a whole, then each γ.
    spread : ndarray, shape (d, d)
        W, the expected covariance of the θ (M4).
    observed_spread : ndarray, shape (d, d)
        The same from the observed information, for Satterthwaite's df.
    condition : float
        Condition number of W⁻¹ in (σ², σ₁², …), scaled to unit diagonal.
    """

    phi: Floats
    adjusted: Floats
    slopes: Floats
    spread: Floats
    observed_spread: Floats
    condition: float


def infer(products: CrossProducts, gamma: Floats, keep: NDArray[np.bool_]) -> Inference:
    """Form Φ, Φ_A and W at the relative variances γ.

    Parameters
    ----------
    products : CrossProducts
    gamma : ndarray, shape (k,)
    keep : ndarray of bool, shape (k,)
        Terms that stay in W.
    """
    at = reduce_at(products, gamma)
    p = project(products, at)
    free = products.readings - products.rank
    sigma2 = at.quadratic / free
    phi, loadings = _fixed_at(products, at)
    kept = np.flatnonzero(keep)
    spans = [loadings[i] @ phi for i in kept]  # ZᵢᵀH⁻¹XΦ
    slopes = sigma2 * np.stack([phi, *(s.T @ s for s in spans)])
    information = _information(p, kept, free)
    spread = _inverse(information, products) if kept.size else np.array([[2.0 / free]])
    adjusted = sigma2 * (phi + 2.0 * _bias(products, at, p, kept, spans, spread))
    observed = _observed(p, kept, free, sigma2, products)
    condition = _condition(information, gamma[kept])
    return Inference(sigma2 * phi, adjusted, slopes, spread, observed, condition)


def scaled(phi: Floats, mean_square: float, df: float) -> Inference:
    """Judge by one mean square with its own degrees of freedom (M7).

    Parameters
    ----------
    phi : ndarray, shape (r, r)
        (XᵀH⁻¹X)⁻¹.
    mean_square : float, dB²
    df : float
    """
    covariance = mean_square * phi
    spread = np.array([[2.0 / df]])
    return Inference(covariance, covariance, covariance[None], spread, spread, 1.0)


def _fixed_at(products: CrossProducts, at: Reduced) -> tuple[Floats, list[Floats]]:
    """Return Φ/σ² and ZᵢᵀH⁻¹X for every term."""
    r, width = products.rank, products.gram.shape[0] - 1
    root = at.root_gamma
    z = at.gram[r:width, r:width]
    factor = np.linalg.inv(np.linalg.cholesky(np.eye(width - r) + z * root[:, None] * root))
    half = (factor * root) @ at.gram[r:width, : width]  # K⁻½ L Z2ᵀH1⁻¹[X | Z2]
    cross = at.gram[r:width, :r] - half[:, r:].T @ half[:, :r]
    own = at.shrunk[:, :r] - (at.shrunk[:, r:width] * root) @ (factor.T @ half[:, :r])
    phi = np.linalg.inv(at.gram[:r, :r] - half[:, :r].T @ half[:, :r])
    loadings = [own if i == products.eliminated else cross[block] for i, block in enumerate(products.blocks)]
    return (phi + phi.T) / 2.0, loadings


def _information(p: Projection, kept: Integers, free: int) -> Floats:
    """Return W⁻¹ in (V, γ₁, …): half of tr(P·P·), (M4)."""
    information = np.empty((kept.size + 1, kept.size + 1))
    information[0, 0] = free / 2.0
    information[0, 1:] = information[1:, 0] = p.traces[kept] / 2.0
    information[1:, 1:] = p.squares[np.ix_(kept, kept)] / 2.0
    return information


def _inverse(information: Floats, products: CrossProducts) -> Floats:
    """Return W, inverted at unit diagonal: a γ of 10⁹ has an information of 10⁻¹⁸ and is no less known for it.

    That holds where terms are taken out level by level, exactly, or are levels that never meet. Where loadings alone (a
    walk) take all the scatter, so small an information is what subtraction has left, and counts as none.
    """
    own = [slice(products.rank + block.start, products.rank + block.stop) for block in products.blocks]
    if products.eliminated < 0 and not all(never_meet(products.gram[columns, columns]) for columns in own):
        return np.linalg.pinv(information, hermitian=True)
    scale = np.sqrt(np.maximum(np.diag(information), 0.0))
    scale = np.where(scale > 0, scale, 1.0)
    return np.linalg.pinv(information / np.outer(scale, scale), hermitian=True) / np.outer(scale, scale)


def _observed(p: Projection, kept: Integers, free: int, sigma2: float, products: CrossProducts) -> Floats:
    """Return the covariance of the θ from the observed information; the expected one where it is indefinite."""
    expected = _information(p, kept, free)
    if not kept.size or sigma2 <= 0:
        return _inverse(expected, products)
    observed = expected.copy()
    observed[0, 1:] = observed[1:, 0] = -p.traces[kept] / 2.0 + p.lengths[kept] / sigma2
    observed[1:, 1:] = -p.squares[np.ix_(kept, kept)] / 2.0 + p.forms[np.ix_(kept, kept)] / sigma2
    positive = np.linalg.eigvalsh(observed)[0] > 0
    return _inverse(observed if positive else expected, products)


def _bias(
    products: CrossProducts,
    at: Reduced,
    p: Projection,
    kept: Integers,
    spans: list[Floats],
    spread: Floats,
) -> Floats:
    """Return Φ{Σ W_ij (Q_ij − PᵢΦPⱼ)}Φ, which is Σ W_ij (ZᵢᵀH⁻¹XΦ)ᵀ C_ij (ZⱼᵀH⁻¹XΦ)."""
    total = np.zeros((products.rank, products.rank))
    for a, i in enumerate(kept):
        for b, j in enumerate(kept[: a + 1]):
            if i == j == products.eliminated:
                reach = p.narrow.T @ spans[a]
                piece = (spans[a].T * at.diagonal) @ spans[a] - reach.T @ reach
            elif i == products.eliminated:
                piece = spans[a].T @ p.cross[:, products.blocks[j]] @ spans[b]
            elif j == products.eliminated:
                piece = spans[a].T @ p.cross[:, products.blocks[i]].T @ spans[b]
            else:
                piece = spans[a].T @ p.small[products.blocks[i], products.blocks[j]] @ spans[b]
            total += spread[a + 1, b + 1] * (piece if a == b else piece + piece.T)
    return total


def _condition(information: Floats, gamma: Floats) -> float:
    """Return the condition of W⁻¹ in the variances themselves, (σ², σ₁², …), scaled to unit diagonal."""
    if not gamma.size:
        return 1.0
    turn = np.eye(gamma.size + 1)
    turn[1:, 0] = -gamma
    turned = turn.T @ information @ turn
    scale = np.sqrt(np.maximum(np.diag(turned), 0.0))
    if (scale <= 0).any():
        return float("inf")
    values = np.linalg.eigvalsh(turned / np.outer(scale, scale))
    return float(values[-1] / values[0]) if values[0] > 0 else float("inf")
