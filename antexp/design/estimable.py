"""What a design cannot tell apart, decided before fitting and said in words (method section 2)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from antexp.design.swap_model import SwapModel

# Singular values below this share of the largest count as zero: columns are scaled to unit length first, so what
# remains is rounding (1e-16 times the number of rows) and nothing a real schedule of swaps produces.
_RANK_TOLERANCE = 1e-9


@dataclass(frozen=True)
class Untied:
    """Two sets of candidates that no block ties together.

    Attributes
    ----------
    one, other : tuple of str
        The candidates of each set.
    """

    one: tuple[str, ...]
    other: tuple[str, ...]


def rank(X: NDArray[np.float64]) -> int:
    """Return the column rank of a matrix whose columns are first scaled to unit length."""
    lengths = np.linalg.norm(X, axis=0)
    if X.shape[1] == 0 or not np.any(lengths > 0):
        return 0
    values = np.linalg.svd(X[:, lengths > 0] / lengths[lengths > 0], compute_uv=False)
    return int(np.sum(values > _RANK_TOLERANCE * values[0]))


def is_full_rank(model: SwapModel) -> bool:
    """Tell whether every column of the model can be estimated."""
    return rank(model.X) == model.X.shape[1]


def untied_sets(candidate: Sequence[str], block: Sequence[str]) -> Untied | None:
    """Find two sets of candidates that never meet, directly or through others.

    Parameters
    ----------
    candidate, block : sequence of str, length n
        Labels of each swap.

    Returns
    -------
    Untied or None
        None when the blocks tie all candidates together.
    """
    neighbours: dict[str, set[str]] = {}
    for label in set(block):
        members = {name for name, where in zip(candidate, block, strict=True) if where == label}
        for name in members:
            neighbours.setdefault(name, set()).update(members)
    names = list(dict.fromkeys(candidate))
    reached, waiting = {names[0]}, [names[0]]
    while waiting:
        fresh = neighbours[waiting.pop()] - reached
        reached |= fresh
        waiting.extend(fresh)
    if len(reached) == len(names):
        return None
    return Untied(
        tuple(name for name in names if name in reached), tuple(name for name in names if name not in reached)
    )


def aliased_columns(model: SwapModel) -> tuple[str, ...]:
    """Name the columns that the ones before them already carry.

    Parameters
    ----------
    model : SwapModel
        A model short of rank.

    Returns
    -------
    tuple of str
        Column names; empty when the model has full rank.
    """
    kept: list[int] = []
    aliased: list[str] = []
    for i, name in enumerate(model.columns):
        if rank(model.X[:, [*kept, i]]) == len(kept) + 1:
            kept.append(i)
        else:
            aliased.append(name)
    return tuple(aliased)


def tie_to_time(model: SwapModel, rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Tell how much of each gap's precision the drift columns take.

    Parameters
    ----------
    model : SwapModel
        Of full rank.
    rows : ndarray, shape (m, p)
        Contrast rows of the gaps.

    Returns
    -------
    ndarray, shape (m,), 0 … 1
        One less the ratio of the gap's variance without the drift columns to that with them, under equal weights:
        0 when time and the candidates are balanced, near 1 when they can hardly be told apart.
    """
    drift = model.columns_of("drift")
    if drift.size == 0:
        return np.zeros(len(rows))
    others = np.setdiff1d(np.arange(model.X.shape[1]), drift)
    with_drift = contrast_variances(model.X, rows)
    without = contrast_variances(model.X[:, others], rows[:, others])
    return np.clip(1.0 - without / with_drift, 0.0, 1.0)


def contrast_variances(X: NDArray[np.float64], rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the variances of contrasts by least squares, in units of the variance of a row of X, shape (m,).

    Parameters
    ----------
    X : ndarray, shape (n, p)
        Of full rank.
    rows : ndarray, shape (m, p)
    """
    triangle = linalg.qr(X, mode="r")[0][: X.shape[1]]
    solved = linalg.solve_triangular(triangle, rows.T, trans="T")
    return np.asarray(np.sum(solved**2, axis=0))
