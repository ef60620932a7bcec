"""Cross-products of columns that are kept by level: one pass over y and the covariates, the rest by level."""

from __future__ import annotations

import numpy as np

from antexp.mixed.arrays import Floats
from antexp.mixed.level_columns import LevelColumns
from antexp.mixed.terms import Term, level_sums

CHUNK = 65_536
"""Readings taken at a time; a chunk has a handful of columns."""


def products_by_level(
    y: Floats, X: LevelColumns, terms: tuple[Term, ...], eliminated: int, blocks: tuple[slice, ...]
) -> tuple[Floats, Floats, Floats] | None:
    """Take the products of [X | Z2 | y] by level.

    Parameters
    ----------
    y : ndarray, shape (n,), dB
    X : LevelColumns
    terms : tuple of Term
    eliminated : int
        Which term is held by level.
    blocks : tuple of slice
        Each term's columns of Z2.

    Returns
    -------
    gram, sums, ones : ndarray or None
        [X | Z2 | y]ᵀ[X | Z2 | y], Z1ᵀ[X | Z2 | y] and 1ᵀX; None where X is not kept by the levels of the eliminated
        term, or another term differs within them.
    """
    codes = terms[eliminated].codes
    if codes is None or not np.array_equal(codes, X.codes):
        return None
    counts = terms[eliminated].counts
    others = _others(X, terms, eliminated, blocks)
    if others is None:
        return None
    moments, level_y, square = _moments(y, X)
    p, q2 = X.tables.shape[2], others.shape[1]
    sums = np.empty((counts.size, p + q2 + 1))
    sums[:, :p] = sum(moments[0, k][:, None] * table for k, table in enumerate(X.tables))
    sums[:, p:-1], sums[:, -1] = counts[:, None] * others, level_y[0]
    gram = np.zeros((p + q2 + 1, p + q2 + 1))
    for k, one in enumerate(X.tables):
        root = np.sqrt(moments[k, k])[:, None] * one
        gram[:p, :p] += root.T @ root
        for j in range(k):
            mixed = (moments[k, j][:, None] * one).T @ X.tables[j]
            gram[:p, :p] += mixed + mixed.T
        gram[:p, -1] += one.T @ level_y[k]
    gram[:p, p:-1] = sums[:, :p].T @ others
    gram[p:-1, p:] = others.T @ sums[:, p:]
    gram[-1, -1] = square
    lower = np.tril_indices_from(gram, -1)
    gram[lower] = gram.T[lower]
    return gram, sums, sums[:, :p].sum(axis=0)


def _moments(y: Floats, X: LevelColumns) -> tuple[Floats, Floats, float]:
    """Return Σ uₖuⱼ and Σ uₖy of each level for the covariates u₀ = 1, u₁, …, and Σ y²."""
    c, levels = X.tables.shape[0], X.tables.shape[1]
    pairs = [(k, j) for k in range(c) for j in range(k, c)]
    added, square = np.zeros((levels, len(pairs) + c)), 0.0
    for start in range(0, y.size, CHUNK):
        rows = slice(start, min(start + CHUNK, y.size))
        u = np.column_stack([np.ones(rows.stop - start), X.covariates[rows]])
        part = y[rows]
        columns = np.column_stack([u[:, k] * u[:, j] for k, j in pairs] + [u[:, k] * part for k in range(c)])
        codes = X.codes[rows]
        low, high = int(codes.min()), int(codes.max()) + 1
        added[low:high] += level_sums(codes - low, columns, high - low)
        square += float(part @ part)
    moments = np.empty((c, c, levels))
    for position, (k, j) in enumerate(pairs):
        moments[k, j] = moments[j, k] = added[:, position]
    return moments, added[:, len(pairs) :].T, square


def _others(X: LevelColumns, terms: tuple[Term, ...], eliminated: int, blocks: tuple[slice, ...]) -> Floats | None:
    """Return Z2 by level, shape (q, q2), or None where a term differs within a level."""
    levels = X.tables.shape[1]
    others = np.zeros((levels, blocks[-1].stop if blocks else 0))
    if len(terms) == 1:
        return others
    first = np.empty(levels, dtype=np.intp)
    first[X.codes[::-1]] = np.arange(X.codes.size)[::-1]
    for index, term in enumerate(terms):
        if index == eliminated:
            continue
        rows = term.codes if term.codes is not None else term.loadings
        assert rows is not None
        if not np.array_equal(rows, rows[first][X.codes]):
            return None
        if term.codes is not None:
            others[np.arange(levels), blocks[index].start + term.codes[first]] = 1.0
        else:
            others[:, blocks[index]] = rows[first]
    return others
