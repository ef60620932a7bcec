"""The largest of normals that share one factor, and of all differences of equally precise means: exact by quadrature.

Both are one-dimensional integrals over the shared normal. They serve every balanced record exactly and steer the
lattice of the general case (``multivariate_normal``). What is returned is the *union share*
P(some Zᵢ is beyond x) / Σᵢ P(Zᵢ is beyond x), a number in (0, 1] that stays accurate where the tail itself is tiny.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.special import ndtr

from antexp.mixed.arrays import Floats

# Beyond 13 standard deviations of the shared normal nothing adds to a tail that doubles can hold to 1e-6.
_REACH = 13.0
_PER_PANEL = 5
# A loading this near to one makes the conditional normals steps, which the fixed panels would not see.
_LARGEST_LOADING = 0.995


@lru_cache(maxsize=8)
def _shared_normal(panels: int) -> tuple[Floats, Floats]:
    """Return nodes and weights (with the normal density in them) of a composite Gauss–Legendre rule."""
    node, weight = np.polynomial.legendre.leggauss(_PER_PANEL)
    edges = np.linspace(-_REACH, _REACH, panels + 1)
    half = 0.5 * np.diff(edges)[:, None]
    z = (0.5 * (edges[1:] + edges[:-1])[:, None] + half * node).ravel()
    return z, (half * weight).ravel() * np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)


def one_factor_loadings(correlation: Floats) -> Floats:
    """Return the loadings b of the nearest correlation of the form bᵢbⱼ (i ≠ j).

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
        At least 2 × 2.

    Returns
    -------
    ndarray, shape (m,)
        Exact where the correlation has this form with |bᵢ| < 0.995; else near in the sense of least squares over
        triads, and clipped to that bound.

    Notes
    -----
    In a one-factor correlation rᵢⱼrᵢₖ/rⱼₖ = bᵢ² for every triad (Spearman 1904); the triads are pooled weighted
    by rⱼₖ². The comparisons of candidates with one reference in a balanced record are of this form with
    bᵢ² = nᵢ/(n₀ + nᵢ) (Dunnett 1955, J. Am. Stat. Assoc. 50:1096).
    """
    off = correlation - np.diag(np.diag(correlation))
    m = len(off)
    if m == 2:
        size = np.sqrt(min(abs(off[0, 1]), _LARGEST_LOADING**2))
        return np.array([size, np.copysign(size, off[0, 1])])
    squares = np.sum(off**2) - 2.0 * np.sum(off**2, axis=1)
    triads = np.einsum("ij,jk,ki->i", off, off, off)
    square = np.clip(triads / np.where(squares > 1e-12, squares, np.inf), 0.0, _LARGEST_LOADING**2)
    size = np.sqrt(square)
    lead = int(np.argmax(np.abs(off) @ size))
    sign = np.where(off[lead] < 0.0, -1.0, 1.0)
    return size * sign


def one_factor_correlation(loadings: Floats) -> Floats:
    """Return the correlation matrix of the loadings.

    Parameters
    ----------
    loadings : ndarray, shape (m,)

    Returns
    -------
    ndarray, shape (m, m)
    """
    correlation = np.outer(loadings, loadings)
    np.fill_diagonal(correlation, 1.0)
    return correlation


def one_factor_share(x: Floats, loadings: Floats, sides: int) -> Floats:
    """Return the union share of normals with one shared factor.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Levels; not negative when two-sided.
    loadings : ndarray, shape (m,)
        |bᵢ| < 1.
    sides : {1, 2}
        1: Zᵢ > x; 2: |Zᵢ| > x.

    Returns
    -------
    ndarray, shape (n,)
        Relative error below 1e-7.
    """
    distinct, count = np.unique(np.abs(loadings) if sides == 2 else loadings, return_counts=True)
    spread = np.sqrt(1.0 - distinct**2)
    # A panel spans at most one and a half of the narrowest conditional standard deviation.
    z, weight = _shared_normal(26 * int(np.ceil(max(1.0, 0.6 / spread.min()))))
    shift = distinct[:, None] * z
    log_within = np.empty((len(x), len(z)))
    for row, level in enumerate(x):
        beyond = ndtr((shift - level) / spread[:, None])
        if sides == 2:
            beyond = beyond + ndtr((-shift - level) / spread[:, None])
        log_within[row] = count @ np.log1p(-np.minimum(beyond, 1.0 - 1e-16))
    return -np.expm1(log_within) @ weight / (sides * len(loadings) * ndtr(-x))


def nearest_all_pairs(correlation: Floats) -> tuple[int, Floats]:
    """Return the correlation of all differences of equally precise means, each difference turned as in the given one.

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
        Rows in the order (0,1), (0,2), …, (k−2,k−1); each difference may be taken either way round.

    Returns
    -------
    k : int
        The number of means; 0 when m is not a number of pairs of three or more.
    turned : ndarray, shape (m, m)
        Whether it is near is for the caller to see; the given matrix itself when k is 0.
    """
    k = means_of_pairs(len(correlation))
    if k < 3:
        return 0, correlation
    plain = all_pairs_correlation(k)
    sign = np.where(correlation[0] * plain[0] < 0.0, -1.0, 1.0)
    tied = np.flatnonzero(plain[0])
    for row in np.flatnonzero(plain[0] == 0.0):  # without a tie to the first difference: by way of one that has it
        via = tied[np.argmax(np.abs(correlation[row, tied]) * (plain[row, tied] != 0.0))]
        sign[row] = sign[via] * (-1.0 if correlation[row, via] * plain[row, via] < 0.0 else 1.0)
    return k, plain * np.outer(sign, sign)


def means_of_pairs(m: int) -> int:
    """Return k with k(k − 1)/2 = m, or 0."""
    k = round((1.0 + np.sqrt(1.0 + 8.0 * m)) / 2.0)
    return k if k * (k - 1) == 2 * m else 0


def all_pairs_contrasts(k: int) -> Floats:
    """Return the differences of k means, one a row, in the order (0,1), (0,2), …, (k−2,k−1).

    Returns
    -------
    ndarray, shape (k(k−1)/2, k)
    """
    first, second = np.triu_indices(k, 1)
    contrasts = np.zeros((len(first), k))
    contrasts[np.arange(len(first)), first] = 1.0
    contrasts[np.arange(len(first)), second] = -1.0
    return contrasts


def all_pairs_correlation(k: int) -> Floats:
    """Return the correlation of all differences of k equally precise means.

    Returns
    -------
    ndarray, shape (k(k−1)/2, k(k−1)/2)
    """
    contrasts = all_pairs_contrasts(k)
    return contrasts @ contrasts.T / 2.0


def range_share(x: Floats, k: int) -> Floats:
    """Return the union share of all differences of k equally precise means: the tail of the range.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Levels of |difference|/standard error, not negative.
    k : int
        Number of means, at least 2.

    Returns
    -------
    ndarray, shape (n,)
        Relative error below 1e-7.

    Notes
    -----
    With Q the upper normal tail, r = Q(z + w)/Q(z) and w = x√2 the smallest mean at z gives
    P(range > w) = k ∫ φ(z) Q(z)ᵏ⁻¹ (1 − (1 − r)ᵏ⁻¹) dz, free of cancellation in the far tail
    (the range: Tippett 1925, Biometrika 17:364; the comparisons: Tukey 1953).
    """
    z, weight = _shared_normal(52)
    above = ndtr(-z)
    ratio = np.minimum(ndtr(-z - np.sqrt(2.0) * x[:, None]) / above, 1.0 - 1e-16)
    tail = k * (-np.expm1((k - 1) * np.log1p(-ratio)) * above ** (k - 1)) @ weight
    return tail / (k * (k - 1) * ndtr(-x))
