"""Cross-products of a record, taken in one pass: after it nothing has the size of the readings.

The columns are ordered [X | Z2 | y], where X is the fixed part turned into orthonormal columns, Z2 the loadings of
every random term except the largest set of codes, and y the levels. The largest set of codes (the swaps) is held
as sums and counts per level, so its part of every product is diagonal (method page, M2).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.fixed_part import FixedPart, factor_columns, factor_gram

CHUNK = 65_536
"""Readings taken at a time: a chunk of 20 columns stays near 10 MB."""

QR_LIMIT = 20_000
"""Up to so many readings X is factored itself; beyond it its cross-products are."""


@dataclass(frozen=True)
class Term:
    """One random term.

    Attributes
    ----------
    name : str
        The caller's name for it.
    codes : ndarray of int, shape (n,), or None
        Level of each reading, numbered 0, 1, … without holes; None for loadings.
    loadings : ndarray, shape (n, q), or None
        The columns of Z where the term is not a set of codes.
    levels : int
        Number of columns of Z.
    """

    name: str
    codes: Integers | None
    loadings: Floats | None
    levels: int


@dataclass(frozen=True)
class CrossProducts:
    """What a fit needs to know of a record.

    Attributes
    ----------
    readings : int
        n, the number of rows.
    fixed : FixedPart
        How the orthonormal columns give back the coefficients of the caller's columns.
    names : tuple of str
        Random terms in the caller's order.
    eliminated : int
        Index in `names` of the term that is held by level, −1 where there is none.
    blocks : tuple of slice
        For each name its columns of Z2; an empty slice for the eliminated term.
    counts : ndarray, shape (q1,)
        Readings in each level of the eliminated term.
    sums : ndarray, shape (q1, r + q2 + 1)
        Z1ᵀ[X | Z2 | y].
    gram : ndarray, shape (r + q2 + 1, r + q2 + 1)
        [X | Z2 | y]ᵀ[X | Z2 | y].
    within : ndarray, same shape as gram
        The part of `gram` inside the levels of the eliminated term, `gram` − sumsᵀ diag(1/counts) sums, with
        what is rounding set to zero, so that a very small reading noise does not drown in cancellation.
    level : ndarray, shape (r,), dB
        Coefficients of the constant that was taken off y before the pass, to be given back to β̂.
    """

    readings: int
    fixed: FixedPart
    names: tuple[str, ...]
    eliminated: int
    blocks: tuple[slice, ...]
    counts: Floats
    sums: Floats
    gram: Floats
    within: Floats
    level: Floats

    @property
    def rank(self) -> int:
        """Number of independent fixed columns."""
        return self.fixed.rank


def read_terms(groups: Mapping[str, ArrayLike], readings: int) -> tuple[Term, ...]:
    """Check and number the random terms.

    Parameters
    ----------
    groups : mapping of str to array_like
        Codes, shape (n,), of any type that can be sorted, or float loadings, shape (n, q).
    readings : int
        n.

    Returns
    -------
    tuple of Term

    Raises
    ------
    ValueError
        A term of another length, or with values that are not finite.
    """
    terms = []
    for name, values in groups.items():
        array = np.asarray(values)
        if array.ndim not in (1, 2) or array.shape[0] != readings:
            raise ValueError(
                f"random term {name!r} does not fit the readings: got shape {array.shape}; allowed ({readings},) codes "
                f"or ({readings}, q) loadings"
            )
        if array.dtype.kind == "f" and not np.isfinite(array).all():
            raise ValueError(f"random term {name!r} has values that are not finite")
        if array.ndim == 2:
            terms.append(Term(name, None, np.asarray(array, dtype=float), array.shape[1]))
        else:
            codes, levels = _number(array)
            terms.append(Term(name, codes, None, levels))
    return tuple(terms)


def _number(values: NDArray) -> tuple[Integers, int]:
    """Give codes the numbers 0, 1, … without holes; whole numbers of small range without a sort."""
    if values.dtype.kind in "iu" and values.size:
        low, high = int(values.min()), int(values.max())
        if high - low < 4 * values.size + 1000:
            seen = np.bincount(values - low, minlength=high - low + 1) > 0
            if seen.all():
                return (values - low).astype(np.intp, copy=False), int(seen.size)
            return (np.cumsum(seen) - 1)[values - low].astype(np.intp, copy=False), int(seen.sum())
    labels, codes = np.unique(values, return_inverse=True)
    return codes.reshape(-1).astype(np.intp, copy=False), labels.size


def cross_products(y: Floats, X: Floats, terms: tuple[Term, ...]) -> CrossProducts:
    """Take every cross-product of a record in one pass.

    Parameters
    ----------
    y : ndarray, shape (n,), dB
        Levels.
    X : ndarray, shape (n, p)
        Fixed columns; aliased ones are found and set aside.
    terms : tuple of Term
        Random terms.

    Returns
    -------
    CrossProducts
    """
    readings = y.size
    code_sizes = [term.levels if term.codes is not None else -1 for term in terms]
    eliminated = int(np.argmax(code_sizes)) if code_sizes and max(code_sizes) > 0 else -1
    centre = float(y.mean()) if readings else 0.0
    gram, sums, blocks, fixed = _fixed_products(y - centre, X, terms, eliminated)
    ones = fixed.to_orthonormal(sums_of_columns(X))
    if readings - ones @ ones > 1e-9 * readings:  # a constant within X leaves rounding only, some 1e-13 of n
        # Taking a level off changes the fit unless X can carry it, so here the digits must do without.
        centre = 0.0
        gram, sums, blocks, fixed = _fixed_products(y, X, terms, eliminated)
    counts = _counts(terms, eliminated)
    within = within_gram(gram, sums, counts)
    names = tuple(term.name for term in terms)
    level = centre * ones  # on orthonormal columns the constant 1 has the coefficients Qᵀ1
    return CrossProducts(readings, fixed, names, eliminated, blocks, counts, sums, gram, within, level)


def _fixed_products(
    y: Floats, X: Floats, terms: tuple[Term, ...], eliminated: int
) -> tuple[Floats, Floats, tuple[slice, ...], FixedPart]:
    """Take the products with orthonormal fixed columns, by QR of X where it is small, else by Cholesky of XᵀX."""
    if y.size <= QR_LIMIT:
        columns, fixed = factor_columns(X)
        return *_products(y, columns, terms, eliminated), fixed
    gram, sums, blocks = _products(y, X, terms, eliminated)
    gram, sums, fixed = _orthonormal(gram, sums, X.shape[1])
    return gram, sums, blocks, fixed


def _counts(terms: tuple[Term, ...], eliminated: int) -> Floats:
    """Count the readings of each level of the eliminated term."""
    if eliminated < 0:
        return np.zeros(0)
    codes = terms[eliminated].codes
    assert codes is not None
    return np.bincount(codes, minlength=terms[eliminated].levels).astype(float)


def _products(
    y: Floats, X: Floats, terms: tuple[Term, ...], eliminated: int
) -> tuple[Floats, Floats, tuple[slice, ...]]:
    """Add up the chunks of [X | Z2 | y]ᵀ[X | Z2 | y] and of Z1ᵀ[X | Z2 | y]."""
    p, blocks, width = X.shape[1], [], X.shape[1]
    for index, term in enumerate(terms):
        step = 0 if index == eliminated else term.levels
        blocks.append(slice(width - p, width - p + step))
        width += step
    gram = np.zeros((width + 1, width + 1))
    sums = np.zeros((terms[eliminated].levels if eliminated >= 0 else 0, width + 1))
    for start in range(0, y.size, CHUNK):
        rows = slice(start, min(start + CHUNK, y.size))
        size = rows.stop - rows.start
        block = np.zeros((size, width + 1))
        block[:, :p], block[:, width] = X[rows], y[rows]
        for index, term in enumerate(terms):
            if index == eliminated:
                continue
            if term.codes is not None:
                block[np.arange(size), p + blocks[index].start + term.codes[rows]] = 1.0
            else:
                assert term.loadings is not None
                block[:, p + blocks[index].start : p + blocks[index].stop] = term.loadings[rows]
        gram += block.T @ block
        if eliminated >= 0:
            codes = terms[eliminated].codes
            assert codes is not None
            sums += level_sums(codes[rows], block, sums.shape[0])
    return gram, sums, tuple(blocks)


def level_sums(codes: Integers, block: Floats, levels: int) -> Floats:
    """Add up the rows of a block by level: Zᵀ block, without Z."""
    size = codes.size
    transposed = sparse.csc_array((np.ones(size), codes, np.arange(size + 1)), shape=(levels, size))
    return np.asarray(transposed @ block)


def _orthonormal(gram: Floats, sums: Floats, p: int) -> tuple[Floats, Floats, FixedPart]:
    """Turn the fixed columns of finished products into orthonormal ones."""
    fixed = factor_gram(gram[:p, :p])
    keep = np.concatenate([fixed.kept, np.arange(p, gram.shape[0])])
    gram, sums = gram[np.ix_(keep, keep)], sums[:, keep]
    r = fixed.rank
    gram[:r, r:] = fixed.inverse.T @ gram[:r, r:]
    gram[r:, :r] = gram[:r, r:].T
    gram[:r, :r] = np.eye(r)
    sums[:, :r] = sums[:, :r] @ fixed.inverse
    return gram, sums, fixed


def sums_of_columns(X: Floats) -> Floats:
    """Add up each column."""
    return np.asarray(np.ones(X.shape[0]) @ X)


def within_gram(gram: Floats, sums: Floats, counts: Floats) -> Floats:
    """Return the products inside the levels, with rounding set to zero."""
    if not counts.size:
        return gram.copy()
    within = gram - (sums / counts[:, None]).T @ sums
    scale = np.sqrt(np.maximum(np.diag(gram), 0.0))
    # A column constant within its levels leaves rounding of some 1e-15 of its own sum of squares.
    empty = np.diag(within) <= 1e-13 * np.maximum(scale**2, 1e-300)
    within[empty, :] = 0.0
    within[:, empty] = 0.0
    return within
