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

VERDICTS: Final = (REAL_AND_MATTERS, REAL_MAY_MATTER, REAL_TOO_SMALL, NO_GAP_THAT_MATTERS, CANNOT_TELL)


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
    lower_db: ArrayLike, can_be_best: ArrayLike, far_below: ArrayLike, matter_db: float | None
) -> NDArray[np.str_]:
    """Give each candidate its verdict against the best of the others.

    Parameters
    ----------
    lower_db : array_like, shape (...), dB
        Lower limit of the gap to the best of the others; NaN where nothing can be told.
    can_be_best : array_like of bool, shape (...)
        Its upper limit is above zero.
    far_below : array_like of bool, shape (...)
        The smallest of its all-pairs upper limits is at or below −`matter_db` (a second family at the same confidence).
    matter_db : float or None, dB

    Returns
    -------
    ndarray of str, shape (...)
        One of `VERDICTS` each.
    """
    lower, can, far = np.asarray(lower_db, float), np.asarray(can_be_best, bool), np.asarray(far_below, bool)
    known = np.isfinite(lower)
    if matter_db is None:
        return np.where(known & ~can, REAL_MAY_MATTER, CANNOT_TELL)
    near = lower > -matter_db
    return np.select(
        [~known, ~can & near, ~can & far, ~can, near],
        [CANNOT_TELL, REAL_TOO_SMALL, REAL_AND_MATTERS, REAL_MAY_MATTER, NO_GAP_THAT_MATTERS],
        default=CANNOT_TELL,
    )
