"""What may be said of a gap, given its limits and the smallest gap that matters (method section 5)."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

REAL_AND_MATTERS: Final = "real and it matters"
REAL_MAY_MATTER: Final = "real, may or may not matter"
REAL_TOO_SMALL: Final = "real but too small to matter"
NO_GAP_THAT_MATTERS: Final = "no gap that matters"
CANNOT_TELL: Final = "cannot tell"

REAL: Final = (REAL_AND_MATTERS, REAL_MAY_MATTER, REAL_TOO_SMALL)
"""Verdicts that call a gap real, the one that matters most first."""

VERDICTS: Final = (*REAL, NO_GAP_THAT_MATTERS, CANNOT_TELL)


def classify(lower_db: ArrayLike, upper_db: ArrayLike, matter_db: float | None) -> NDArray[np.str_]:
    """Give each gap its verdict from its limits.

    Parameters
    ----------
    lower_db, upper_db : array_like, shape (...), dB
        Limits of each gap, valid for all gaps together. Not finite: nothing can be told.
    matter_db : float or None, dB
        The smallest gap that would change the user's choice; a gap matters when its size is at least this.
        None: only ``real, may or may not matter`` and ``cannot tell`` are possible.

    Returns
    -------
    ndarray of str, shape (...)
        One of `VERDICTS` for each gap; the first rule that fits, in the order of method section 5.
    """
    lower, upper = np.broadcast_arrays(np.asarray(lower_db, float), np.asarray(upper_db, float))
    finite = np.isfinite(lower) & np.isfinite(upper)
    real = finite & ((lower > 0) | (upper < 0))
    if matter_db is None:
        return np.where(real, REAL_MAY_MATTER, CANNOT_TELL)
    matters = finite & ((lower >= matter_db) | (upper <= -matter_db))
    small = finite & (-matter_db < lower) & (upper < matter_db)
    return np.select(
        [matters, real & small, real, small],
        [REAL_AND_MATTERS, REAL_TOO_SMALL, REAL_MAY_MATTER, NO_GAP_THAT_MATTERS],
        default=CANNOT_TELL,
    )


def classify_best(
    lower_db: ArrayLike, upper_db: ArrayLike, pairs_lower_db: ArrayLike, pairs_upper_db: ArrayLike,
    matter_db: float | None,
) -> NDArray[np.str_]:
    """Give each candidate its verdict against the best of the others.

    Parameters
    ----------
    lower_db, upper_db : array_like, shape (...), dB
        Limits of the gap by comparison with the best (Hsu 1984); NaN where nothing can be told. They say how large a
        gap may be.
    pairs_lower_db, pairs_upper_db : array_like, shape (...), dB
        Limits of the same gap by all pairs, a second family at the same confidence: the smallest of the lower and of
        the upper limits of the candidate's differences to the others. They say whether there is a gap.
    matter_db : float or None, dB

    Returns
    -------
    ndarray of str, shape (...)
        One of `VERDICTS` each.

    Notes
    -----
    Comparison with the best guards one best candidate. Where several are equally good, each of the others is left out
    of the best set with a chance of its own, so that leaving it is no proof of a gap: with all candidates equal, one
    of three left the set in 11 to 14 of 100 trials, one of five in 17 to 20. The limits of all pairs hold there too.
    """
    lower, upper, below, above = np.broadcast_arrays(
        *(np.asarray(values, float) for values in (lower_db, upper_db, pairs_lower_db, pairs_upper_db))
    )
    known = np.isfinite(lower) & np.isfinite(upper)
    real = known & ((below > 0) | (above < 0))
    if matter_db is None:
        return np.where(real, REAL_MAY_MATTER, CANNOT_TELL)
    small = known & (-matter_db < lower) & (upper < matter_db)
    matters = real & ((below >= matter_db) | (above <= -matter_db))
    return np.select(
        [real & small, matters, real, small],
        [REAL_TOO_SMALL, REAL_AND_MATTERS, REAL_MAY_MATTER, NO_GAP_THAT_MATTERS],
        default=CANNOT_TELL,
    )
