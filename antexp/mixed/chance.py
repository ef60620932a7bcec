"""The chance of noticing a gap, and the gap that is noticed with a wanted chance (method section 7)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, special


def chance_of_noticing(
    gap_db: ArrayLike, standard_error_db: ArrayLike, degrees_of_freedom: ArrayLike, critical_value: ArrayLike
) -> NDArray[np.float64]:
    """Probability that the limits exclude zero on the right side, for a true gap.

    Parameters
    ----------
    gap_db : array_like, dB
        True gap; its sign does not matter.
    standard_error_db : array_like, dB
        Standard error of the gap.
    degrees_of_freedom : array_like
        Of that standard error; may be infinite.
    critical_value : array_like
        Half the width of the interval in standard errors.

    Returns
    -------
    ndarray
        ``1 − F(c; df, gap / se)`` with F the noncentral t distribution. The arguments broadcast.

    Notes
    -----
    ``scipy.special.nctdtr`` returns NaN in both far tails, where the gap is more than some thirty standard errors from
    the limit; there the chance is one or nothing to working precision.
    """
    gap, error, df, critical = np.broadcast_arrays(
        *(np.asarray(value, float) for value in (gap_db, standard_error_db, degrees_of_freedom, critical_value))
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = np.abs(gap) / error
        chance = 1.0 - special.nctdtr(np.where(np.isinf(df), 1e10, df), shift, critical)
    far = np.isnan(chance) & ~np.isnan(shift + df + critical)
    return np.where(far, shift > critical, np.clip(chance, 0.0, 1.0))


def detectable_gap(
    standard_error_db: float, degrees_of_freedom: float, critical_value: float, chance: float
) -> float:
    """Return the true gap that is noticed with the wanted chance.

    Parameters
    ----------
    standard_error_db : float, dB
        Standard error of the gap.
    degrees_of_freedom : float
        Of that standard error.
    critical_value : float
        Half the width of the interval in standard errors.
    chance : float
        Wanted probability of noticing, inside (0, 1).

    Returns
    -------
    float, dB
        NaN when the standard error or the critical value is not finite.

    Notes
    -----
    Larger than the resolution (half the width of the interval), at which a gap is found about half the time: the
    distinction of ISO 11843 between critical value and detectable value.
    """
    if not (np.isfinite(standard_error_db) and np.isfinite(critical_value)) or standard_error_db <= 0:
        return float("nan")

    def shortfall(shift: float) -> float:
        return float(chance_of_noticing(shift, 1.0, degrees_of_freedom, critical_value)) - chance

    if shortfall(0.0) >= 0:
        return 0.0
    upper = critical_value + 2.0
    while shortfall(upper) < 0:
        upper *= 1.5
    return float(optimize.brentq(shortfall, 0.0, upper, xtol=1e-10)) * standard_error_db
