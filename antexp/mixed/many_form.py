"""Which form of the likelihood a design takes: all terms diagonal, or a second one of low rank."""

from __future__ import annotations

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.low_rank import LowRank
from antexp.mixed.low_rank_form import LowRankForm
from antexp.mixed.many_likelihood import DiagonalForm
from antexp.mixed.spectrum import Spectrum

Form = DiagonalForm | LowRankForm


def form_of(design: Spectrum, low_rank: LowRank | None, coordinates: Floats, rest: Floats) -> tuple[Form, Integers]:
    """Choose the form of a design and pool its equal directions.

    Parameters
    ----------
    design : Spectrum
    low_rank : LowRank or None
        What records of a second term of low rank share.
    coordinates : ndarray, shape (N, d)
    rest : ndarray, shape (N,)

    Returns
    -------
    form : DiagonalForm or LowRankForm
    pool : ndarray of int, shape (d,)
        Pool of each direction (each its own where nothing is pooled).
    """
    d = design.weights.shape[1]
    if low_rank is not None:
        return LowRankForm(low_rank, np.ascontiguousarray(coordinates.T), rest), np.arange(d)
    scale = np.maximum(design.weights.max(axis=1, initial=0.0), 1e-300)[:, None]
    labels = np.round(design.weights / scale, 9)
    _, first, pool = np.unique(labels, axis=1, return_index=True, return_inverse=True)
    pool = pool.reshape(-1)
    gather = np.zeros((d, first.size))
    gather[np.arange(d), pool] = 1.0
    return DiagonalForm(
        design.free, design.weights[:, first], gather.sum(axis=0), coordinates**2 @ gather, rest
    ), pool
