"""The random terms of a model: codes of levels, or loadings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from antexp.mixed.arrays import Floats, Integers


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
    counts : ndarray, shape (q,)
        Readings in each level; empty for loadings.
    """

    name: str
    codes: Integers | None
    loadings: Floats | None
    levels: int
    counts: Floats


def read_terms(groups: Mapping[str, ArrayLike], readings: int) -> tuple[Term, ...]:
    """Check and number the random terms.

    Parameters
    ----------
    groups : mapping of str to array_like
        Codes, shape (n,), of any type that can be sorted, or float loadings, shape (n, q).
    readings : int
        n.

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
            terms.append(loadings_term(name, np.asarray(array, dtype=float)))
        else:
            codes, counts = _number(array)
            terms.append(Term(name, codes, None, counts.size, counts.astype(float)))
    return tuple(terms)


def loadings_term(name: str, loadings: Floats) -> Term:
    """Return a term given by its columns of Z, shape (n, q)."""
    return Term(name, None, loadings, loadings.shape[1], np.zeros(0))


def _number(values: NDArray) -> tuple[Integers, Integers]:
    """Give codes the numbers 0, 1, … without holes, and count them; whole numbers of small range without a sort."""
    if values.dtype.kind in "iu" and values.size:
        low, high = int(values.min()), int(values.max())
        if high - low < 4 * values.size + 1000:
            shifted = values - low if low else values
            counts = np.bincount(shifted, minlength=high - low + 1)
            seen = counts > 0
            if not seen.all():
                shifted = (np.cumsum(seen) - 1)[shifted]
            return shifted.astype(np.intp, copy=False), counts[seen]
    _, codes, counts = np.unique(values, return_inverse=True, return_counts=True)
    return codes.reshape(-1).astype(np.intp, copy=False), counts


def level_sums(codes: Integers, block: Floats, levels: int) -> Floats:
    """Add up the rows of a block by level: Zᵀ block, without Z."""
    size = codes.size
    transposed = sparse.csc_array((np.ones(size), codes, np.arange(size + 1)), shape=(levels, size))
    return np.asarray(transposed @ block)
