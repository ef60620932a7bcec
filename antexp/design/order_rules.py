"""Rules a fair order keeps beside its variance, as tests that many orders pass or fail at once.

Each rule treats all candidates alike, so that a set of orders thinned by rules stays symmetric in them.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from antexp.design.information import DriftFilter, Slots

NOT_TWICE = "no candidate twice in a row"
NOT_ALWAYS_EARLY = "no candidate always early or always late"
NOT_ALWAYS_AFTER = "no candidate always after the same neighbour"
ORDERS_DIFFER = "no order in more blocks than need be"
REFERENCE_NEAR = "reference as near as planned"
BLOCKS_STAND_DRIFT = "every block by itself stands drift"

RULES: tuple[str, ...] = (NOT_TWICE, NOT_ALWAYS_EARLY, NOT_ALWAYS_AFTER, ORDERS_DIFFER, REFERENCE_NEAR,
                          BLOCKS_STAND_DRIFT)

# A block of two wires keeps at least this share of what its best sequence tells under drift: of fifteen sequences of
# eight swaps six are left, of thirty-five of nine swaps seventeen.
_STANDS_DRIFT = 0.8
_MOST_SEQUENCES = 3000


@dataclass(frozen=True)
class RuleBook:
    """The slots as the rules see them.

    Attributes
    ----------
    slots : Slots
    units : int
        Reference and candidates together.
    drawn : ndarray of int
        Slots whose candidate is drawn.
    half : ndarray, shape (n,)
        −1 in the first half of a block's drawn slots, +1 in the second, 0 in the middle and where nothing is drawn.
    follows : ndarray of bool, shape (n,)
        True where the slot before it belongs to the same block.
    reference_every : int or None
    same_order : int
        How many blocks may share an order: 1 where there are orders enough.
    two_wires : tuple of (ndarray, ndarray, float)
        For each block its slots, the weights that drift leaves (`antexp.design.information`), and the least
        information on the gap it must give; empty with more than two wires.
    """

    slots: Slots
    units: int
    drawn: NDArray[np.intp]
    half: NDArray[np.float64]
    follows: NDArray[np.bool_]
    reference_every: int | None
    same_order: int = 1
    two_wires: tuple[tuple[NDArray[np.intp], NDArray[np.float64], float], ...] = ()

    def offenders(self, rule: str, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Mark the slots that break a rule.

        Parameters
        ----------
        rule : str
            One of `RULES`.
        labels : ndarray of int, shape (d, n)

        Returns
        -------
        ndarray of bool, shape (d, n)
            Drawn slots of which one must change; an order without any keeps the rule.
        """
        return _TESTS[rule](self, labels)


def rule_book(
    slots: Slots,
    units: int,
    drawn: NDArray[np.intp],
    labels: NDArray[np.intp],
    reference_every: int | None,
    sweep: DriftFilter,
) -> RuleBook:
    """Prepare the slots for the rules; `labels` are the codes that are drawn into the slots `drawn`."""
    half = np.zeros(len(slots))
    for block in range(int(slots.block.max()) + 1):
        own = drawn[slots.block[drawn] == block]
        half[own] = np.sign(np.arange(len(own)) - (len(own) - 1) / 2)
    follows = np.r_[False, slots.block[1:] == slots.block[:-1]]
    two = tuple(_least(rows, W, drawn, labels) for rows, W in zip(sweep.rows, sweep.weights, strict=True))
    return RuleBook(slots, units, drawn, half, follows, reference_every, _most_same(slots.block[drawn], labels),
                    two if units == 2 else ())


def _least(
    rows: NDArray[np.intp], W: NDArray[np.float64], drawn: NDArray[np.intp], labels: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.float64], float]:
    """Return the least information a block of two wires must give on the gap: a share of its best sequence's."""
    free = np.flatnonzero(np.isin(rows, drawn))
    own = labels[np.isin(drawn, rows)]
    ones = int((own == 1).sum())
    if ones in (0, free.size):
        return rows, W, 0.0
    if math.comb(free.size, ones) <= _MOST_SEQUENCES:
        chosen = np.array(list(combinations(free, ones)))
    else:
        rng = np.random.default_rng(1)  # a bound, not a draw: the same in every order
        chosen = np.array([rng.permutation(free)[:ones] for _ in range(_MOST_SEQUENCES)])
    x = np.zeros((len(chosen), len(rows)))
    x[np.arange(len(chosen))[:, None], chosen] = 1.0
    told = np.einsum("di,ij,dj->d", x, W, x)
    least = _STANDS_DRIFT * told.max()
    return rows, W, float(least) if (told >= least).sum() > 1 else 0.0


def _most_same(block: NDArray[np.intp], labels: NDArray[np.intp]) -> int:
    """Return how many blocks must share an order because their candidates have no more orders than that."""
    contents = Counter(tuple(sorted(labels[block == b].tolist())) for b in set(block.tolist()))
    shares = [math.ceil(blocks / _orders(content)) for content, blocks in contents.items()]
    return max(shares, default=1)


def _orders(content: tuple[int, ...]) -> int:
    """Return in how many orders a block's candidates can hang."""
    return math.factorial(len(content)) // math.prod(math.factorial(n) for n in Counter(content).values())


def _twice(book: RuleBook, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Mark a candidate that stands directly after itself."""
    same = np.zeros(labels.shape, bool)
    same[:, 1:] = (labels[:, 1:] == labels[:, :-1]) & book.follows[1:] & (labels[:, 1:] > 0)
    return same & _mask(book, labels)


def _always_early(book: RuleBook, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Mark all slots of candidates that only stand in first halves, or only in second ones."""
    cells = np.arange(len(labels))[:, None] * book.units + labels
    size = len(labels) * book.units
    sums = np.bincount(cells.ravel(), np.broadcast_to(book.half, labels.shape).ravel(), size)
    counts = np.bincount(cells.ravel(), minlength=size)
    bad = (np.abs(sums) == counts) & (counts >= 2)
    return bad[cells] & _mask(book, labels)


def _always_after(book: RuleBook, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Mark all slots of candidates whose every hanging follows the same other candidate."""
    before = np.zeros_like(labels)
    before[:, 1:] = np.where(book.follows[1:], labels[:, :-1], 0)
    orders = np.arange(len(labels))[:, None]
    pairs = (orders * book.units + labels) * book.units + before
    own = orders * book.units + labels
    pair_counts = np.bincount(pairs.ravel(), minlength=len(labels) * book.units**2)
    counts = np.bincount(own.ravel(), minlength=len(labels) * book.units)
    bad = (pair_counts[pairs] == counts[own]) & (counts[own] >= 2) & (before > 0) & (before != labels)
    return bad & _mask(book, labels)


def _same_order(book: RuleBook, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Mark blocks in which the candidates stand in an order that enough blocks before have had."""
    blocks = int(book.slots.block.max()) + 1
    longest = int(np.bincount(book.slots.block).max())
    if (book.units + 1) ** longest < 2**62:
        powers = (book.units + 1) ** np.arange(longest, dtype=np.int64)
    else:  # odd multipliers modulo 2⁶⁴: two different orders share a code once in 10¹⁹
        powers = np.random.default_rng(1).integers(2**62, size=longest) * 2 + 1
    codes = np.empty((len(labels), blocks), np.int64)
    for block in range(blocks):
        own = np.flatnonzero(book.slots.block == block)
        codes[:, block] = ((labels[:, own] + 1) * powers[: len(own)]).sum(axis=1)
    again = np.zeros(codes.shape, bool)
    for block in range(1, blocks):
        again[:, block] = (codes[:, :block] == codes[:, [block]]).sum(axis=1) >= book.same_order
    return again[:, book.slots.block] & _mask(book, labels)


def _reference_far(book: RuleBook, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Mark candidate slots that end a stretch without the reference longer than planned."""
    far = np.zeros(labels.shape, bool)
    if book.reference_every is None:
        return far
    run = np.zeros(len(labels), int)
    for slot in range(labels.shape[1]):
        run = np.where(labels[:, slot] == 0, 0, run + 1 if book.follows[slot] else 1)
        far[:, slot] = run >= book.reference_every
    return far & _mask(book, labels)


def _falls_to_drift(book: RuleBook, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Mark blocks of two wires whose sequence loses too much to drift."""
    bad = np.zeros(labels.shape, bool)
    for rows, W, least in book.two_wires:
        x = (labels[:, rows] == 1).astype(float)
        told = np.einsum("di,ij,dj->d", x, W, x)
        bad[:, rows] |= (told < least * (1 - 1e-9))[:, None]
    return bad & _mask(book, labels)


def _mask(book: RuleBook, labels: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return True in drawn slots."""
    mask = np.zeros(labels.shape[1], bool)
    mask[book.drawn] = True
    return np.broadcast_to(mask, labels.shape)


_TESTS: dict[str, Callable[[RuleBook, NDArray[np.intp]], NDArray[np.bool_]]] = {
    NOT_TWICE: _twice,
    NOT_ALWAYS_EARLY: _always_early,
    NOT_ALWAYS_AFTER: _always_after,
    ORDERS_DIFFER: _same_order,
    REFERENCE_NEAR: _reference_far,
    BLOCKS_STAND_DRIFT: _falls_to_drift,
}
