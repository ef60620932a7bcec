"""Looks that a plan names before the end, and what they leave for the limits there (method section 10)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def planned_stops(may_stop_after: Sequence[int], blocks: int) -> tuple[int, ...]:
    """Return the blocks after which a look is planned, the end included."""
    return (*(stop for stop in may_stop_after if stop < blocks), blocks)


def look_alphas(stops: Sequence[int], alpha: float) -> NDArray[np.float64]:
    """Return what each planned look may spend of the error.

    Parameters
    ----------
    stops : sequence of int
        As `planned_stops` returns them.
    alpha : float
        Error of the whole experiment.

    Returns
    -------
    ndarray, shape (K,)
        Adds up to alpha; one look may spend all of it.

    References
    ----------
    Lan & DeMets 1983, Biometrika 70:659 (`antexp.mixed.spending`).
    """
    from antexp.mixed.spending import increments

    if len(stops) == 1:
        return np.array([alpha])
    return increments([stop / stops[-1] for stop in stops], alpha)


def end_confidence(may_stop_after: Sequence[int], blocks: int, confidence: float) -> float:
    """Return the confidence at which the limits stand after the last of so many blocks.

    Parameters
    ----------
    may_stop_after : sequence of int
        Blocks after which the plan names a look.
    blocks : int
        Blocks of the whole experiment.
    confidence : float
        Asked for over all looks together.
    """
    stops = planned_stops(may_stop_after, blocks)
    return confidence if len(stops) == 1 else 1.0 - float(look_alphas(stops, 1.0 - confidence)[-1])
