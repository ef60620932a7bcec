"""One design, many records: all of them fitted and judged together, equal to a loop of single fits."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.many_design import prepare
from antexp.mixed.many_fit import fit_chunk
from antexp.mixed.many_loop import loop_over
from antexp.mixed.many_result import ManyFits, join_fits
from antexp.mixed.reml import AT_ZERO, AtZero
from antexp.mixed.terms import read_terms

__all__ = ["ManyFits", "many_responses"]

CHUNK = 2_000
"""Records taken at a time: 180 readings of so many stay near 3 MB."""

MOST_VALUES = 2_000_000
"""Where the search goes over small matrices its last rounds, for a few records each, cost what a round costs: then so
many readings are taken at a time, if that is more."""


def many_responses(
    Y: ArrayLike,
    X: ArrayLike,
    groups: Mapping[str, ArrayLike],
    L: ArrayLike,
    at_zero: AtZero = "error line",
    covariances: bool = False,
) -> ManyFits:
    """Fit every column of Y by REML and judge the same contrasts of each.

    Parameters
    ----------
    Y : array_like, shape (n, N), dB
        One column a record.
    X : array_like, shape (n, p)
        Fixed columns, the same for all.
    groups : mapping of str to array_like
        Random terms as in `fit_reml`. One, or two with the second constant within the levels of the first (either
        may stand first), are vectorised; anything else is fitted record by record.
    L : array_like, shape (m, p)
        Contrasts.
    at_zero : {"error line", "keep", "drop"}
        As in `fit_reml`.
    covariances : bool
        Also give the covariance matrix of each record's estimates.

    Raises
    ------
    ValueError
        As `fit_reml` and `RemlFit.contrasts`.

    Notes
    -----
    M2–M7. The design is turned once into the residual space of its finest random term, where that term is diagonal
    (Patterson and Thompson 1971; Kang et al. 2008); equal eigenvalues are pooled.
    """
    if at_zero not in AT_ZERO:
        raise ValueError(f"at_zero is unknown: got {at_zero!r}; allowed: {', '.join(AT_ZERO)}")
    records = np.asarray(Y, dtype=float)
    if records.ndim != 2:
        raise ValueError(f"records must stand in the columns of a matrix: got shape {records.shape}; allowed (n, N)")
    if not np.isfinite(records.sum()) and not np.isfinite(records).all():
        bad = np.flatnonzero(~np.isfinite(records).all(axis=0))
        raise ValueError(
            f"levels must be finite: got {bad.size} records with values that are not, the first "
            f"{', '.join(map(str, bad[:5]))}"
        )
    columns, rows = np.asarray(X, dtype=float), np.asarray(L, dtype=float)
    design = prepare(columns, read_terms(groups, records.shape[0]), rows, covariances)
    if design is None:
        return loop_over(records, columns, groups, rows, at_zero, covariances)
    chunk = CHUNK if design.low_rank is None else max(CHUNK, MOST_VALUES // records.shape[0])
    starts = range(0, max(records.shape[1], 1), chunk)
    return join_fits([fit_chunk(design, records[:, start : start + chunk], at_zero) for start in starts])
