"""Balanced incomplete block designs: every pair of candidates shares a block equally often."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

Blocks = tuple[tuple[int, ...], ...]

# Larger cases would take more than a few seconds to list; the exchange search serves them.
_MOST_SUBSETS = 100_000
_MOST_STEPS = 2_000


def pair_count(v: int, k: int, b: int) -> int | None:
    """Return how often each pair would share a block (λ), or None when no balanced design can have these numbers.

    Parameters
    ----------
    v, k, b : int
        Candidates, candidates in a block, blocks.

    Notes
    -----
    Necessary, not sufficient: r = bk/v and λ = r(k − 1)/(v − 1) whole, and b ≥ v (Fisher 1940).
    """
    if not 2 <= k < v or b < v or (b * k) % v:
        return None
    r = b * k // v
    return None if (r * (k - 1)) % (v - 1) else r * (k - 1) // (v - 1)


def is_balanced(blocks: Blocks, v: int) -> bool:
    """Tell whether every candidate hangs, and every pair shares a block, equally often."""
    N = np.zeros((v, len(blocks)), int)
    for column, block in enumerate(blocks):
        N[list(block), column] = 1
    concurrence = N @ N.T
    off = concurrence[~np.eye(v, dtype=bool)]
    return len(set(np.diag(concurrence))) == 1 and len(set(off)) == 1


def balanced_blocks(v: int, k: int, b: int) -> Blocks | None:
    """Find a balanced incomplete block design.

    Parameters
    ----------
    v : int
        Candidates, named 0 … v − 1.
    k : int
        Candidates in a block, fewer than v.
    b : int
        Blocks.

    Returns
    -------
    tuple of tuple of int, or None
        None when no such design exists or none was found; what is returned is balanced, checked by counting.

    Notes
    -----
    All k-subsets where b allows; else the complement of a smaller case; else several copies of a smaller design;
    else blocks that a cyclic symmetry carries into each other, found by exact search over its orbits.

    References
    ----------
    Kramer & Mesner (1976), Discrete Math. 15:263, doi:10.1016/0012-365X(76)90030-3.
    """
    wanted = pair_count(v, k, b)
    if wanted is None:
        return None
    if b % comb(v, k) == 0:
        return tuple(combinations(range(v), k)) * (b // comb(v, k))
    if 2 * k > v:
        smaller = balanced_blocks(v, v - k, b)
        return None if smaller is None else tuple(tuple(sorted({*range(v)} - {*block})) for block in smaller)
    found = None
    if comb(v, k) <= _MOST_SUBSETS:
        found = next((f for cycle, still in _symmetries(v) if (f := _from_orbits(v, k, wanted, cycle, still))), None)
    if found is None:
        found = next((part * copies for copies in _divisors(b) if (part := balanced_blocks(v, k, b // copies))), None)
    return found if found is not None and is_balanced(found, v) else None


def _divisors(b: int) -> list[int]:
    """Return the divisors of b above 1."""
    return [n for n in range(2, b + 1) if b % n == 0]


def _symmetries(v: int) -> Iterator[tuple[int, int]]:
    """Yield cycle lengths and numbers of still points, long cycles first: v = cycles × length + still."""
    for cycle in range(v, 1, -1):
        for still in range(min(3, v - cycle) + 1):
            if (v - still) % cycle == 0:
                yield cycle, still


def _from_orbits(v: int, k: int, wanted: int, cycle: int, still: int) -> Blocks | None:
    """Look for a design that a rotation of all cycles at once maps onto itself."""
    step = np.array([p if p >= v - still else p // cycle * cycle + (p % cycle + 1) % cycle for p in range(v)])
    pairs = _orbits(combinations(range(v), 2), step, cycle)
    subsets = _orbits(combinations(range(v), k), step, cycle)
    where = {pair: row for row, orbit in enumerate(pairs) for pair in orbit}
    cover = np.zeros((len(pairs), len(subsets)), int)
    for column, orbit in enumerate(subsets):
        for pair in combinations(orbit[0], 2):
            cover[where[pair], column] += len(orbit)
    cover //= np.array([len(orbit) for orbit in pairs])[:, None]  # blocks of the orbit on each pair of that row
    chosen = _exact_cover(cover, wanted)
    return None if chosen is None else tuple(block for column in chosen for block in subsets[column])


def _orbits(
    subsets: Iterator[tuple[int, ...]], step: NDArray[np.intp], cycle: int
) -> list[list[tuple[int, ...]]]:
    """Group subsets that the rotation carries into each other."""
    seen: set[tuple[int, ...]] = set()
    orbits: list[list[tuple[int, ...]]] = []
    for subset in subsets:
        if subset in seen:
            continue
        orbit, turned = [subset], subset
        for _ in range(cycle - 1):
            turned = tuple(sorted(int(step[p]) for p in turned))
            if turned == subset:
                break
            orbit.append(turned)
        seen.update(orbit)
        orbits.append(orbit)
    return orbits


def _exact_cover(cover: NDArray[np.intp], wanted: int) -> list[int] | None:
    """Choose columns, none twice, whose rows each sum to `wanted`; None when the search ends without."""
    steps = 0
    columns_of = [np.flatnonzero(row) for row in cover]

    def extend(need: NDArray[np.intp], free: NDArray[np.bool_], chosen: list[int]) -> list[int] | None:
        nonlocal steps
        if not need.any():
            return chosen
        steps += 1
        if steps > _MOST_STEPS:
            return None
        free = free & (cover <= need[:, None]).all(axis=0)
        rows = np.flatnonzero(need)
        reach = [cover[row, free].sum() for row in rows]
        if any(total < need[row] for total, row in zip(reach, rows, strict=True)):
            return None
        row = rows[int(np.argmin([free[columns_of[r]].sum() for r in rows]))]
        for column in columns_of[row]:
            if not free[column]:
                continue
            found = extend(need - cover[:, column], free, [*chosen, int(column)])
            if found is not None or steps > _MOST_STEPS:
                return found
            free = free.copy()
            free[column] = False
        return None

    return extend(np.full(len(cover), wanted), np.ones(cover.shape[1], bool), [])
