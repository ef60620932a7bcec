"""A day as the judgement will see it: for each scope the fixed columns, the random terms and the gaps it answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.estimable import is_full_rank
from antexp.design.random_terms import at_zero_of, group_numbers, walk_loadings
from antexp.design.specimen_scopes import ANY, THESE, pairs_of_many, specimens_can_differ
from antexp.design.swap_model import SwapModel, swap_model
from antexp.mixed.reml import AtZero


@dataclass(frozen=True)
class ScopedModel:
    """One fit of a day and the gaps whose verdict rests on it.

    Attributes
    ----------
    scope : str
        `THESE` or `ANY`.
    pairs : tuple of (str, str), length m
        (candidate, against).
    model : SwapModel
        Fixed columns.
    groups : dict of str to ndarray
        Random terms, the error line of the gaps first.
    L : ndarray, shape (m, p)
        Contrast rows of the pairs.
    at_zero : {"keep", "error line"}
        What becomes of terms at zero, as `antexp.mixed.fit_reml` takes it.
    """

    scope: str
    pairs: tuple[tuple[str, str], ...]
    model: SwapModel
    groups: dict[str, NDArray[np.generic]]
    L: NDArray[np.float64]
    at_zero: AtZero


@dataclass(frozen=True)
class ScopedModels:
    """A day as the judgement will fit it.

    Attributes
    ----------
    scopes : tuple of ScopedModel
        ``any specimen`` first where it exists; scopes without a gap are left out.
    these : ScopedModel
        All gaps for these specimens: what a coarse meter's record is judged by.
    swap : ndarray of int, shape (n,)
        Number of the swap of each row.
    """

    scopes: tuple[ScopedModel, ...]
    these: ScopedModel
    swap: NDArray[np.int64]

    @property
    def candidates(self) -> tuple[str, ...]:
        """Return the candidates that occur, the reference first."""
        return self.these.model.candidates

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Return the gaps of all scopes, scope by scope."""
        return tuple(pair for scope in self.scopes for pair in scope.pairs)


def fitted_pairs(candidates: tuple[str, ...], compare: str) -> list[tuple[str, str]]:
    """List the gaps that are fitted for a comparison.

    Parameters
    ----------
    candidates : tuple of str
        The reference first.
    compare : {"reference", "each-other", "best"}
        ``best`` rests on all differences; those with the reference come first, as reference less other.
    """
    if compare == "reference":
        return [(name, candidates[0]) for name in candidates[1:]]
    return list(combinations(candidates, 2))


def scoped_models(rows: pd.DataFrame, reference: str, drift: str, compare: str) -> ScopedModels:
    """Write a day as the judgement will fit it.

    Parameters
    ----------
    rows : DataFrame
        One row a reading, or one a swap: ``swap, block, minutes, candidate, specimen, place``.
    reference : str
        The candidate the others are compared with.
    drift : str
        Form of drift.
    compare : {"reference", "each-other", "best"}

    Returns
    -------
    ScopedModels
        With ``best`` all gaps have one scope, ``any specimen`` only where every candidate has at least two.

    Notes
    -----
    Method section 2: any specimen needs S − k ≥ 4 and two specimens of both candidates.
    """
    model = _model(rows, reference, drift, specimens_fixed=True)
    pairs = fitted_pairs(model.candidates, compare)
    groups = _groups(rows, drift)
    at_zero = at_zero_of(groups)
    these = ScopedModel(THESE, tuple(pairs), model, groups, model.gaps(pairs), at_zero)
    wide = pairs_of_many(rows, pairs) if specimens_can_differ(rows) else []
    if compare == "best" and len(wide) < len(pairs):
        wide = []
    found = []
    if wide:
        broad = _model(rows, reference, drift, specimens_fixed=False)
        if is_full_rank(broad):
            terms = {"specimen": group_numbers(rows, ["candidate", "specimen"]), **groups}
            found.append(ScopedModel(ANY, tuple(wide), broad, terms, broad.gaps(wide), at_zero))
        else:
            wide = []
    narrow = [pair for pair in pairs if pair not in wide]
    if narrow:
        found.append(these if not wide else replace(these, pairs=tuple(narrow), L=model.gaps(narrow)))
    return ScopedModels(tuple(found), these, group_numbers(rows, ["swap"]))


def _model(rows: pd.DataFrame, reference: str, drift: str, specimens_fixed: bool) -> SwapModel:
    """Write M1 as columns."""
    return swap_model(rows["candidate"], rows["block"], rows["minutes"], reference=reference, drift=drift,
                      swap=rows["swap"], specimen=rows["specimen"], place=rows["place"],
                      specimens_fixed=specimens_fixed)


def _groups(rows: pd.DataFrame, drift: str) -> dict[str, NDArray[np.generic]]:
    """Return swap and walk, where the rows have them."""
    groups: dict[str, NDArray[np.generic]] = {}
    if rows.duplicated("swap").any():
        groups["swap"] = group_numbers(rows, ["swap"])
    if drift == "wandering":
        groups["walk"] = walk_loadings(rows)
    return groups
