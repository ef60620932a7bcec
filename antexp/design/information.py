"""What a swap order can tell: variances of gaps under M1, for many orders of the same day at once.

Everything here is arrays. Codes: 0 is the reference, 1 … k the candidates. Variances are in units of the variance
of one swap's mean, so that they depend on the order alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.design.drift_columns import drift_columns

# A gap whose variance is a million swaps' worth is not estimated: what stands there is the ridge below.
NOT_ESTIMABLE = 1e6
_RIDGE = 1e-9


@dataclass(frozen=True)
class Slots:
    """The swaps of a day before it is decided what hangs when.

    Attributes
    ----------
    block : ndarray of int, shape (n,)
        Zero-based block of each slot, in time order.
    minutes : ndarray, shape (n,), minutes
        Planned start within the block.
    place : ndarray of int, shape (n,)
        Zero-based place.
    """

    block: NDArray[np.intp]
    minutes: NDArray[np.float64]
    place: NDArray[np.intp]

    def __len__(self) -> int:
        """Return the number of slots."""
        return len(self.block)


@dataclass(frozen=True)
class DriftFilter:
    """What is left of a block's slots after its level and drift have taken their share.

    Attributes
    ----------
    rows : tuple of ndarray of int
        The slots of each block.
    weights : tuple of ndarray, shape (n_b, n_b)
        For each block W = V⁻¹ − V⁻¹F(FᵀV⁻¹F)⁻¹FᵀV⁻¹ with F the block's intercept and drift columns: the part of the
        slots' information that M1 leaves for candidates and places.
    """

    rows: tuple[NDArray[np.intp], ...]
    weights: tuple[NDArray[np.float64], ...]


def drift_filter(slots: Slots, drift: str, walk_variance: float = 0.0) -> DriftFilter:
    """Sweep block levels and drift out of the slots.

    Parameters
    ----------
    slots : Slots
    drift : {"none", "steady", "curved", "wandering"}
    walk_variance : float
        Variance of the random walk per hour, in units of the swap variance; used with ``"wandering"`` alone.
    """
    rows, weights = [], []
    for block in range(int(slots.block.max()) + 1):
        own = np.flatnonzero(slots.block == block)
        minutes = slots.minutes[own]
        columns = drift_columns(np.full(len(own), "b", object), minutes, np.arange(len(own)).astype(object), drift)[0]
        F = np.column_stack([np.ones(len(own)), columns])
        walk = walk_variance if drift == "wandering" else 0.0
        inverse = np.linalg.inv(np.eye(len(own)) + walk * walk_covariance(minutes))
        IF = inverse @ F
        rows.append(own)
        weights.append(inverse - IF @ np.linalg.solve(F.T @ IF, IF.T))
    return DriftFilter(tuple(rows), tuple(weights))


def walk_covariance(minutes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the covariance of a random walk from a block's first swap, in hours: min(tᵢ, tⱼ) − t₁."""
    hours = (minutes - minutes.min()) / 60.0
    return np.minimum.outer(hours, hours)


def information(
    labels: NDArray[np.intp], units: int, slots: Slots, sweep: DriftFilter, places: int = 1
) -> NDArray[np.float64]:
    """Return the information matrices of many orders of the same slots.

    Parameters
    ----------
    labels : ndarray of int, shape (d, n)
        Unit (candidate or specimen code) in each slot of each order.
    units : int
        How many units there are.
    slots : Slots
    sweep : DriftFilter
    places : int
        How many places there are; each but the first has a column.

    Returns
    -------
    ndarray, shape (d, units − 1 + places − 1, …)
        For the units but the first, then the places but the first.
    """
    orders, size = len(labels), units + places
    total = np.zeros((orders, size * size))
    offset = (np.arange(orders) * size * size)[:, None, None]
    for rows, W in zip(sweep.rows, sweep.weights, strict=True):
        own = labels[:, rows]
        kinds = [own] if places == 1 else [own, np.broadcast_to(units + slots.place[rows], own.shape)]
        for one in kinds:
            for other in kinds:
                cells = offset + one[:, :, None] * size + other[:, None, :]
                weight = np.broadcast_to(W, cells.shape)
                counts = np.bincount(cells.ravel(), weight.ravel(), minlength=orders * size * size)
                total += counts.reshape(orders, -1)
    keep = [*range(1, units), *range(units + 1, size)]
    return total.reshape(orders, size, size)[:, keep][:, :, keep]


def asked_codes(units: int, compare: str) -> tuple[tuple[int, int], ...]:
    """Return the asked comparisons as pairs of codes, the first named against the second; 0 is the reference."""
    codes = range(units)
    if compare == "reference":
        return tuple((i, 0) for i in codes[1:])
    return tuple((i, j) for j in codes for i in codes if i > j)


def contrast_rows(pairs: Sequence[tuple[int, int]], units: int, places: int = 1) -> NDArray[np.float64]:
    """Return the rows of L for gaps between units, shape (m, units − 1 + places − 1)."""
    L = np.zeros((len(pairs), units + places - 1))
    for row, (one, other) in enumerate(pairs):
        L[row, one] += 1.0
        L[row, other] -= 1.0
    return L[:, 1:]


def mean_variance(matrices: NDArray[np.float64], L: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the mean variance of the gaps in `L` for each information matrix.

    Parameters
    ----------
    matrices : ndarray, shape (d, q, q)
    L : ndarray, shape (m, q)

    Returns
    -------
    ndarray, shape (d,)
        inf where a gap cannot be estimated.
    """
    asked = L.T @ L / len(L)
    inverse = np.linalg.inv(matrices + _RIDGE * np.eye(matrices.shape[-1]))
    means = np.einsum("dij,ij->d", inverse, asked)
    return np.where(means < NOT_ESTIMABLE, means, np.inf)
