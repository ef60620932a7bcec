"""Several supports in use: every candidate on every place equally often, or a mast is mistaken for a wire."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from antexp.design.information import Slots, contrast_rows, drift_filter, information, mean_variance
from antexp.design.streams import PLACES

_STARTS = 40  # random splits that are compared; each is cheap
_PASSES = 5  # rounds over the blocks until nobody moves; two or three do


def slot_places(swaps: Sequence[int], places: int, first: int = 0) -> tuple[tuple[int, ...], ...]:
    """Give every slot its place: the places take turns, and a different one begins each block.

    Parameters
    ----------
    swaps : sequence of int
        Swaps of each block.
    places : int
    first : int
        Place that begins the first block.

    Returns
    -------
    tuple of tuple of int
        Zero-based place of every slot, block by block. Taking turns keeps the places level against drift.
    """
    return tuple(tuple((first + b + s) % places for s in range(n)) for b, n in enumerate(swaps))


def split_by_place(
    slots: Slots,
    fixed: NDArray[np.intp],
    contents: Sequence[Sequence[int]],
    units: int,
    places: int,
    asked: Sequence[tuple[int, int]],
    seed: int,
) -> NDArray[np.intp]:
    """Choose which of a block's candidates hang on which place.

    Parameters
    ----------
    slots : Slots
    fixed : ndarray of int, shape (n,)
        Codes that stand already, −1 in the slots to be drawn.
    contents : sequence of sequence of int
        Codes to be drawn in each block.
    units, places : int
        How many candidates (the reference included) and places there are.
    asked : sequence of (int, int)
        The asked comparisons.
    seed : int

    Returns
    -------
    ndarray of int
        A code for every slot to be drawn, in time order: among random splits that are as level as any over places
        the one with the smallest mean variance of the asked gaps.
    """
    rng = np.random.default_rng([seed, PLACES])
    drawn = np.flatnonzero(fixed < 0)
    rows = [drawn[slots.block[drawn] == b] for b in range(int(slots.block.max()) + 1)]
    sweep, L = drift_filter(slots, "none"), contrast_rows(asked, units, places)
    best: tuple[float, float] = (np.inf, np.inf)
    chosen = fixed
    for _ in range(_STARTS):
        labels, unevenness = _split(slots, fixed, rows, contents, units, places, rng)
        value = float(mean_variance(information(labels[None], units, slots, sweep, places), L)[0])
        if (unevenness, value) < best:
            best, chosen = (unevenness, value), labels
    return np.asarray(chosen[drawn])


def _split(
    slots: Slots,
    fixed: NDArray[np.intp],
    rows: Sequence[NDArray[np.intp]],
    contents: Sequence[Sequence[int]],
    units: int,
    places: int,
    rng: np.random.Generator,
) -> tuple[NDArray[np.intp], float]:
    """Split the blocks one after the other, each as its candidates most need it, until nobody moves."""
    labels = fixed.copy()
    hung = np.zeros((units, places), int)
    np.add.at(hung, (fixed[fixed >= 0], slots.place[fixed >= 0]), 1)
    for _ in range(_PASSES):
        before = labels.copy()
        for block in rng.permutation(len(rows)):
            own, codes = rows[block], rng.permutation(np.asarray(contents[block], np.intp))
            if not len(own):
                continue
            here = slots.place[own]
            if (labels[own] >= 0).all():
                np.subtract.at(hung, (labels[own], here), 1)
            cost = hung[codes][:, here] + 1e-3 * rng.random((len(codes), len(own)))
            one, slot = linear_sum_assignment(cost)
            labels[own[slot]] = codes[one]
            np.add.at(hung, (labels[own], here), 1)
        if (labels == before).all():
            break
    return labels, float(((hung - hung.mean(axis=1, keepdims=True)) ** 2).sum())
