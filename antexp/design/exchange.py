"""Exchange search: which candidates share a block when a block cannot hold all of them.

Arrays only. N[i, b] counts the hangings of candidate i (reference not included) in block b.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.design.information import mean_variance

Counts = NDArray[np.intp]

_TRIED = 24  # exchanges weighed exactly in each step, those that the gradient promises most from
_GAIN = 1e-9  # smallest relative gain that counts; below it rounding would keep the search alive


@dataclass(frozen=True)
class BlockDemand:
    """What the blocks can hold.

    Attributes
    ----------
    room : ndarray of int, shape (B,)
        Candidate swaps of each block.
    references : ndarray of int, shape (B,)
        Reference swaps of each block.
    most : ndarray of int, shape (k, B)
        Most hangings of each candidate in each block; 0 where it is not available.
    weights : ndarray, shape (k,)
        Wanted hangings relative to each other.
    asked : ndarray, shape (m, k)
        Rows of the asked gaps, the reference's column left out.
    known : ndarray, shape (k, k)
        Information that swaps already hung have given.
    hung : ndarray of int, shape (k,)
        Hangings already done.
    """

    room: Counts
    references: Counts
    most: Counts
    weights: NDArray[np.float64]
    asked: NDArray[np.float64]
    known: NDArray[np.float64]
    hung: Counts


def search(
    demand: BlockDemand, rng: np.random.Generator, starts: int, report: Callable[[float], None] | None = None
) -> Counts:
    """Fill the blocks at random and exchange candidates between them while the asked gaps gain by it.

    Parameters
    ----------
    demand : BlockDemand
    rng : numpy.random.Generator
    starts : int
        Random fillings from which to climb; the best end is returned.
    report : callable, optional
        Called with the share done.

    Returns
    -------
    ndarray of int, shape (k, B)
        Hangings; the repeats of candidates with equal weights differ by one at most where availability allows.
    """
    best, lowest = None, np.inf
    for start in range(starts):
        N, value = _climb(demand, _fill(demand, rng))
        if best is None or value < lowest * (1 - _GAIN):
            best, lowest = N, value
        if report:
            report((start + 1) / starts)
    assert best is not None
    return best


def block_information(demand: BlockDemand, N: Counts) -> NDArray[np.float64]:
    """Return the information on candidates against the reference with block levels swept out.

    Parameters
    ----------
    demand : BlockDemand
    N : ndarray of int, shape (..., k, B)

    Returns
    -------
    ndarray, shape (..., k, k)
    """
    size = (N.sum(axis=-2) + demand.references).astype(float)
    spread = N / np.where(size > 0, size, 1.0)[..., None, :]
    diagonal = N.sum(axis=-1)[..., None] * np.eye(N.shape[-2])
    return np.asarray(demand.known + diagonal - spread @ np.swapaxes(N, -1, -2))


def targets(demand: BlockDemand) -> Counts:
    """Share the room of all blocks among the candidates by weight, what is already hung included.

    Returns
    -------
    ndarray of int, shape (k,)
        Hangings still to come.
    """
    reach = demand.most.sum(axis=1)
    left = int(min(demand.room.sum(), reach.sum()))
    goal = np.zeros(len(reach), int)
    while left > 0:
        # one hanging at a time to whoever is furthest behind: exact for a few hundred swaps, and fair in ties
        behind = np.where(goal < reach, (goal + demand.hung + 0.5) / demand.weights, np.inf)
        if not np.isfinite(behind).any():
            break
        goal[int(np.argmin(behind))] += 1
        left -= 1
    return goal


def _fill(demand: BlockDemand, rng: np.random.Generator) -> Counts:
    """Fill the blocks at random towards the targets, hardest to place first."""
    candidates, blocks = demand.most.shape
    shuffle = rng.permutation(candidates)  # ties in the targets fall at random
    goal = np.empty(candidates, int)
    goal[shuffle] = targets(
        BlockDemand(demand.room, demand.references, demand.most[shuffle], demand.weights[shuffle], demand.asked,
                    demand.known, demand.hung[shuffle])
    )
    N = np.zeros_like(demand.most)
    order = rng.permutation(blocks)
    for place, block in enumerate(order):
        ahead = demand.most[:, order[place:]].sum(axis=1)
        for _ in range(demand.room[block]):
            open_ = N[:, block] < demand.most[:, block]
            if not open_.any():
                break
            need = np.where(goal > 0, goal / np.maximum(ahead, 1), -1.0) + 1e-6 * rng.random(candidates)
            one = int(np.argmax(np.where(open_, need, -np.inf)))
            N[one, block] += 1
            goal[one] -= 1
    return N


def _climb(demand: BlockDemand, N: Counts) -> tuple[Counts, float]:
    """Exchange pairs of candidates between blocks while the mean variance falls."""
    value = float(mean_variance(block_information(demand, N)[None], demand.asked)[0])
    while True:
        moves = _promising(demand, N)
        if not len(moves):
            return N, value
        tried = np.repeat(N[None], len(moves), axis=0)
        i, b, j, c = moves.T
        at = np.arange(len(moves))
        tried[at, i, b] -= 1
        tried[at, j, b] += 1
        tried[at, j, c] -= 1
        tried[at, i, c] += 1
        values = mean_variance(block_information(demand, tried), demand.asked)
        one = int(np.argmin(values))
        if not values[one] < value * (1 - _GAIN):
            return N, value
        N, value = tried[one], float(values[one])


def _promising(demand: BlockDemand, N: Counts) -> Counts:
    """Return the exchanges (i, b, j, c) that the gradient likes best: i leaves b for c, j leaves c for b.

    Notes
    -----
    With C the information and W the mean outer product of the asked rows, the first-order change of tr(C⁻¹W) is
    −tr(MΔC), M = C⁻¹WC⁻¹. Moving d = e_j − e_i into block b of n_b swaps changes C by −(n dᵀ + d nᵀ + d dᵀ)/n_b.
    """
    k, blocks = N.shape
    C = block_information(demand, N) + 1e-6 * np.eye(k)
    inverse = np.linalg.inv(C)
    M = inverse @ (demand.asked.T @ demand.asked / len(demand.asked)) @ inverse
    size = (N.sum(axis=0) + demand.references).astype(float)
    G = M @ N / size
    D = np.diag(M)[:, None] + np.diag(M)[None, :] - 2 * M
    into = 2 * (G[None, :, :] - G[:, None, :]) + D[:, :, None] / size  # [i, j, b]: j takes i's swap in b
    swap = (N > 0)[:, None, :] & (demand.most > N)[None, :, :]  # [i, j, b]: i is in b and j may come
    into = np.where(swap, into, np.inf)
    change = into[:, :, :, None] + np.swapaxes(into, 0, 1)[:, :, None, :]  # [i, j, b, c]
    change[np.arange(k), np.arange(k)] = np.inf
    change[:, :, np.arange(blocks), np.arange(blocks)] = np.inf
    flat = change.ravel()
    few = np.argpartition(flat, min(_TRIED, flat.size - 1))[:_TRIED]
    few = few[np.isfinite(flat[few])]
    few = few[np.argsort(flat[few], kind="stable")]
    i, j, b, c = np.unravel_index(few, change.shape)
    return np.column_stack([i, b, j, c])
