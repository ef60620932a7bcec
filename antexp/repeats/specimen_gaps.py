"""By how much the specimens that hung lie apart in each record: what a verdict about these specimens speaks of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from antexp.design.specimen_scopes import THESE
from antexp.repeats.draws import specimen_codes
from antexp.repeats.layout import Layout
from antexp.repeats.scoped_model import ScopedModels

Floats = NDArray[np.float64]


def specimen_means(layout: Layout, done: NDArray[np.bool_], specimen_db: Floats, names: Sequence[str]) -> Floats:
    """Return the mean deviation of each candidate's specimens that hung, shape (len(names), N), dB.

    Parameters
    ----------
    layout : Layout
    done : ndarray of bool, shape (n_swaps,)
        Which swaps were done.
    specimen_db : ndarray, shape (specimens, N), dB
        As `antexp.repeats.draws.Drawn` holds it.
    names : sequence of str
        Candidates; one that did not hang has 0.
    """
    code = specimen_codes(layout)[0]
    means = np.zeros((len(names), specimen_db.shape[1]))
    for place, name in enumerate(names):
        hung = np.unique(code[done & (layout.candidate == name)])
        if hung.size:
            means[place] = specimen_db[hung].mean(axis=0)
    return means


def specimen_gaps(
    models: ScopedModels, coarse: NDArray[np.bool_], means: Floats, names: Sequence[str],
    pairs: Sequence[tuple[str, str]],
) -> Floats:
    """Return how far each gap of these specimens lies from the gap in general, shape (N, m), dB.

    Parameters
    ----------
    models : ScopedModels
        Tell which gaps speak of these specimens.
    coarse : ndarray of bool, shape (N,)
        Records judged as ranges: all their gaps speak of these specimens.
    means : ndarray, shape (k, N), dB
        As `specimen_means` returns them.
    names : sequence of str, length k
    pairs : sequence of (str, str), length m

    Returns
    -------
    ndarray
        0 for a gap that speaks of any specimen.
    """
    place = {name: number for number, name in enumerate(names)}
    narrow = {pair for scope in models.scopes if scope.scope == THESE for pair in scope.pairs}
    apart = np.zeros((means.shape[1], len(pairs)))
    for column, pair in enumerate(pairs):
        own = np.full(len(coarse), True) if pair in narrow else coarse
        apart[own, column] = (means[place[pair[0]]] - means[place[pair[1]]])[own]
    return apart
