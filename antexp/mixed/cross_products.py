"""Cross-products of a record, taken in one pass: after it nothing has the size of the readings.

The columns are ordered [X | Z2 | y], where X is the fixed part turned into orthonormal columns, Z2 the loadings of
every random term except the largest set of codes, and y the levels. The largest set of codes (the swaps) is held
as sums and counts per level, so its part of every product is diagonal (method page, M2).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.fixed_part import FixedPart, factor_columns, factor_gram
from antexp.mixed.level_columns import LevelColumns
from antexp.mixed.level_products import products_by_level
from antexp.mixed.terms import Term, level_sums

CHUNK = 8_192
"""Readings taken at a time: a chunk of 20 columns stays near the processor, some 1.5 MB."""

QR_LIMIT = 20_000
"""Up to so many readings X is factored itself; beyond it its cross-products are."""


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


def cross_products(y: Floats, X: Floats | LevelColumns, terms: tuple[Term, ...]) -> CrossProducts:
    """Take every cross-product of a record in one pass.

    Parameters
    ----------
    y : ndarray, shape (n,), dB
        Levels.
    X : ndarray, shape (n, p), or LevelColumns
        Fixed columns; aliased ones are found and set aside.
    terms : tuple of Term
        Random terms.
    """
    sizes = [term.levels if term.codes is not None else -1 for term in terms]
    eliminated = int(np.argmax(sizes)) if sizes and max(sizes) > 0 else -1
    blocks = _blocks(terms, eliminated)
    centre = float(y.mean()) if y.size else 0.0
    gram, sums, fixed, ones = _fixed_products(y - centre, X, terms, eliminated, blocks)
    if y.size - ones @ ones > 1e-9 * y.size:  # a constant within X leaves rounding only, some 1e-13 of n
        # Taking a level off changes the fit unless X can carry it, so here the digits must do without.
        centre = 0.0
        gram, sums, fixed, ones = _fixed_products(y, X, terms, eliminated, blocks)
    counts = terms[eliminated].counts if eliminated >= 0 else np.zeros(0)
    names = tuple(term.name for term in terms)
    within = within_gram(gram, sums, counts)
    level = centre * ones  # on orthonormal columns the constant 1 has the coefficients Qᵀ1
    return CrossProducts(y.size, fixed, names, eliminated, blocks, counts, sums, gram, within, level)


def _blocks(terms: tuple[Term, ...], eliminated: int) -> tuple[slice, ...]:
    """Return each term's columns of Z2."""
    ends = np.cumsum([0, *(0 if i == eliminated else term.levels for i, term in enumerate(terms))])
    return tuple(slice(int(a), int(b)) for a, b in pairwise(ends))


def _fixed_products(
    y: Floats, X: Floats | LevelColumns, terms: tuple[Term, ...], eliminated: int, blocks: tuple[slice, ...]
) -> tuple[Floats, Floats, FixedPart, Floats]:
    """Take the products with orthonormal fixed columns Q, by QR of X where it is small; also return Qᵀ1."""
    if isinstance(X, LevelColumns):
        by_level = y.size > QR_LIMIT and eliminated >= 0 and products_by_level(y, X, terms, eliminated, blocks)
        if by_level:
            return orthonormal_products(*by_level, X.shape[1])
        X = X.dense()
    if y.size <= QR_LIMIT:
        columns, fixed = factor_columns(X)
        gram, sums, _ = _products(y, columns, terms, eliminated, blocks)
        return gram, sums, fixed, columns.sum(axis=0)
    return orthonormal_products(*_products(y, X, terms, eliminated, blocks), X.shape[1])


def _products(
    y: Floats, X: Floats, terms: tuple[Term, ...], eliminated: int, blocks: tuple[slice, ...]
) -> tuple[Floats, Floats, Floats]:
    """Add up the chunks of [X | Z2 | y]ᵀ[X | Z2 | y], of Z1ᵀ[X | Z2 | y] and of 1ᵀX."""
    p = X.shape[1]
    width = p + (blocks[-1].stop if blocks else 0)
    gram, ones = np.zeros((width + 1, width + 1)), np.zeros(width + 1)
    sums = np.zeros((terms[eliminated].levels if eliminated >= 0 else 0, width + 1))
    held = np.empty((min(CHUNK, y.size), width + 1))
    one = np.ones(held.shape[0])
    with np.errstate(invalid="ignore", over="ignore"):  # values that are not finite are found in the products
        for start in range(0, y.size, CHUNK):
            rows = slice(start, min(start + CHUNK, y.size))
            block = held[: rows.stop - start]
            _fill(block, y, X, terms, eliminated, blocks, rows)
            gram += block.T @ block
            if eliminated >= 0:
                codes = terms[eliminated].codes
                assert codes is not None
                _add_level_sums(sums, codes[rows], block)
            else:
                ones += one[: block.shape[0]] @ block
    return gram, sums, (sums.sum(axis=0) if eliminated >= 0 else ones)[:p]


def _fill(
    block: Floats,
    y: Floats,
    X: Floats,
    terms: tuple[Term, ...],
    eliminated: int,
    blocks: tuple[slice, ...],
    rows: slice,
) -> None:
    """Write a chunk of [X | Z2 | y]."""
    p = X.shape[1]
    block[:, :p], block[:, -1] = X[rows], y[rows]
    block[:, p:-1] = 0.0
    for index, term in enumerate(terms):
        if index == eliminated:
            continue
        if term.codes is not None:
            block[np.arange(block.shape[0]), p + blocks[index].start + term.codes[rows]] = 1.0
        else:
            assert term.loadings is not None
            block[:, p + blocks[index].start : p + blocks[index].stop] = term.loadings[rows]


def _add_level_sums(sums: Floats, codes: Integers, block: Floats) -> None:
    """Add a chunk's rows to the sums of their levels, touching only the levels it holds."""
    low, high = int(codes.min()), int(codes.max()) + 1
    sums[low:high] += level_sums(codes - low, block, high - low)


def orthonormal_products(
    gram: Floats, sums: Floats, ones: Floats, p: int
) -> tuple[Floats, Floats, FixedPart, Floats]:
    """Turn the fixed columns of finished products into orthonormal ones."""
    check_finite(gram)
    fixed = factor_gram(gram[:p, :p])
    keep = np.concatenate([fixed.kept, np.arange(p, gram.shape[0])])
    gram, sums, r = gram[np.ix_(keep, keep)], sums[:, keep], fixed.rank
    gram[:r, r:] = fixed.inverse.T @ gram[:r, r:]
    gram[r:, :r] = gram[:r, r:].T
    gram[:r, :r] = np.eye(r)
    sums[:, :r] = sums[:, :r] @ fixed.inverse
    return gram, sums, fixed, fixed.to_orthonormal(ones)


def check_finite(gram: Floats) -> None:
    """Refuse products that show values which are not finite."""
    if not np.isfinite(gram).all():
        raise ValueError("levels and fixed columns must be finite: got values that are not. Leave those readings out")


def never_meet(gram: Floats) -> bool:
    """Tell by their products whether a term's columns never meet, as those of codes."""
    return not (gram - np.diag(np.diag(gram))).any()


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
