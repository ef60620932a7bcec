"""Orders that break a rule are mended by random swaps until they keep it, many at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.design.information import drift_filter
from antexp.design.order_rules import BLOCKS_STAND_DRIFT, ORDERS_DIFFER, RuleBook, rule_book
from antexp.design.recipe import Recipe

_ROUNDS = 200  # rounds of swaps before an order is given up
_BLOCK_BY_BLOCK = (BLOCKS_STAND_DRIFT, ORDERS_DIFFER)  # rules that speak of whole blocks, each mended for itself

Labels = NDArray[np.intp]


def mended(recipe: Recipe, labels: Labels, rng: np.random.Generator) -> Labels:
    """Swap offending slots at random within their block and place until every rule is kept.

    The mending looks at candidates only through the rules, which treat all alike: the set stays symmetric.

    Parameters
    ----------
    recipe : Recipe
    labels : ndarray of int, shape (d, n)
        Changed in place.
    rng : numpy.random.Generator

    Returns
    -------
    ndarray of int, shape (at most d, n)
        The orders that keep every rule of the recipe.
    """
    if not recipe.rules or not len(recipe.drawn):
        return labels
    slots = recipe.slots
    book = rule_book(slots, len(recipe.names), recipe.drawn, np.array(recipe.labels), recipe.reference_every,
                     drift_filter(slots, recipe.drift, recipe.walk_variance))
    cell = np.full(len(recipe.fixed), -1)
    cell[recipe.drawn] = recipe.cells
    waiting = np.arange(len(labels))
    for _ in range(_ROUNDS):
        bad, by_block = _first_offence(book, recipe.rules, labels[waiting])
        still = bad.any(axis=1)
        waiting, bad, by_block = waiting[still], bad[still], by_block[still]
        if not waiting.size:
            return labels
        _swap(labels, waiting[~by_block], bad[~by_block], cell, rng)
        for one in np.unique(cell[bad[by_block].any(axis=0)]):
            own = np.flatnonzero(cell == one)
            hit = by_block & bad[:, own].any(axis=1)
            part = labels[np.ix_(waiting[hit], own)]
            _swap(part, np.arange(len(part)), bad[np.ix_(hit, own)], cell[own], rng)
            labels[np.ix_(waiting[hit], own)] = part
    kept = np.ones(len(labels), bool)
    kept[waiting[_first_offence(book, recipe.rules, labels[waiting])[0].any(axis=1)]] = False
    return labels[kept]


def _swap(
    labels: Labels, rows: NDArray[np.intp], bad: NDArray[np.bool_], cell: Labels, rng: np.random.Generator
) -> None:
    """Swap one offending slot of each order, chosen at random, with a random slot of its block and place."""
    if not rows.size:
        return
    one = np.argmax(bad * rng.random(bad.shape), axis=1)
    partners = cell[one][:, None] == cell[None, :]
    other = np.argmax(partners * rng.random(bad.shape), axis=1)
    labels[rows, one], labels[rows, other] = labels[rows, other], labels[rows, one]


def _first_offence(
    book: RuleBook, rules: tuple[str, ...], labels: Labels
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Mark the offending slots of the first rule that each order breaks; tell whether that rule is one of blocks."""
    bad = np.zeros(labels.shape, bool)
    by_block = np.zeros(len(labels), bool)
    for rule in rules:
        clean = np.flatnonzero(~bad.any(axis=1))
        if not clean.size:
            break
        bad[clean] = book.offenders(rule, labels[clean])
        if rule in _BLOCK_BY_BLOCK:
            by_block[clean] = bad[clean].any(axis=1)
    return bad, by_block
