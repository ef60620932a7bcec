"""Several specimens of a candidate take turns over the hangings, the places and the first swaps of blocks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.design.information import DriftFilter, information
from antexp.design.recipe import Recipe

# What weighs most in choosing the next specimen: hung least, then hung least in this place, then did not open the
# block before. Each step outweighs all below it for any number of swaps a day can hold.
_HUNG, _HUNG_HERE, _OPENED = 1e8, 1e4, 1.0
_NOTHING = 1e-9  # of the largest eigenvalue: rounding leaves less than this of a direction that is not there


def specimen_turns(recipe: Recipe, labels: NDArray[np.intp]) -> NDArray[np.intp]:
    """Give each hanging its specimen.

    Parameters
    ----------
    recipe : Recipe
    labels : ndarray of int, shape (d, n)
        Candidate codes of many orders.

    Returns
    -------
    ndarray of int, shape (d, n)
        Zero-based specimen; what hung before a replan keeps its own.
    """
    specimens = np.zeros_like(labels)
    counts = np.array(recipe.specimens)
    most = max(int(counts.max()), max(recipe.fixed_specimens) + 1)
    if most == 1:
        return specimens
    orders, units = len(labels), len(recipe.names)
    hung = np.zeros((orders, units, recipe.places, most))
    opened, seen = np.full((orders, units), -1), np.full((orders, units), -1)
    none = np.where(np.arange(most) < counts[:, None], 0.0, np.inf)
    at = np.arange(orders)
    for slot, known in enumerate(recipe.fixed_specimens):
        own, place, block = labels[:, slot], recipe.place[slot], recipe.block[slot]
        fresh = seen[at, own] != block
        if known < 0:
            cost = _HUNG * hung[at, own].sum(axis=1) + _HUNG_HERE * hung[at, own, place] + none[own]
            cost += _OPENED * (fresh[:, None] & (np.arange(most) == opened[at, own][:, None]))
            specimens[:, slot] = np.argmin(cost, axis=1)
        else:
            specimens[:, slot] = known
        opened[at, own] = np.where(fresh, specimens[:, slot], opened[at, own])
        seen[at, own] = block
        hung[at, own, place, specimens[:, slot]] += 1
    return specimens


def specimens_apart(
    recipe: Recipe, labels: NDArray[np.intp], specimens: NDArray[np.intp], sweep: DriftFilter
) -> NDArray[np.bool_]:
    """Tell which orders tell all specimens apart, as the judgement of these specimens needs it.

    Parameters
    ----------
    recipe : Recipe
    labels, specimens : ndarray of int, shape (d, n)
        Candidate codes of many orders, and the specimens that `specimen_turns` gives them.
    sweep : DriftFilter
        Of the recipe's slots.

    Returns
    -------
    ndarray of bool, shape (d,)
        False where specimens take turns in step with the order of the others, so that drift carries the same.
    """
    if specimens.max(initial=0) == 0:
        return np.ones(len(labels), bool)
    counts = np.array(recipe.specimens)
    counts = np.maximum(counts, int(specimens.max()) + 1)  # what hung before a replan may be a further specimen
    units, first = int(counts.sum()), np.cumsum(counts) - counts
    hung = first[labels] + specimens
    eigenvalues = np.linalg.eigvalsh(information(hung, units, recipe.slots, sweep, recipe.places))
    there = (eigenvalues > _NOTHING * eigenvalues[:, -1:]).sum(axis=1)
    needed = [len(np.unique(row)) - 1 + len(set(recipe.place)) - 1 for row in hung]
    return np.asarray(there >= np.array(needed))
