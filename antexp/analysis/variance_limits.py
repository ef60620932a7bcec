"""Confidence limits for a scatter and for the scatter that stands behind a mean."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats


@dataclass(frozen=True)
class ScatterEstimate:
    """A scatter with its limits.

    Attributes
    ----------
    sd_db : float, dB
        Standard deviation; 0 where the estimate of the variance is not above zero.
    low_db, high_db : float, dB
        Two-sided limits at `confidence`.
    degrees_of_freedom : float
        Of the mean square the estimate rests on.
    confidence : float
    """

    sd_db: float
    low_db: float
    high_db: float
    degrees_of_freedom: float
    confidence: float

    def to_dict(self) -> dict[str, float]:
        """Return the estimate as the document holds it."""
        return dict(self.__dict__)


def plain_scatter(mean_square: float, degrees_of_freedom: float, confidence: float) -> ScatterEstimate:
    """Return a standard deviation with χ² limits.

    Parameters
    ----------
    mean_square : float, dB²
    degrees_of_freedom : float
    confidence : float
    """
    half = (1.0 - confidence) / 2.0
    low, high = (mean_square * degrees_of_freedom / stats.chi2.ppf(p, degrees_of_freedom) for p in (1 - half, half))
    return ScatterEstimate(float(np.sqrt(mean_square)), float(np.sqrt(low)), float(np.sqrt(high)), degrees_of_freedom,
                           confidence)


def scatter_behind_means(
    of_means: float, df_of_means: float, within: float, df_within: float, readings: float, confidence: float
) -> ScatterEstimate:
    """Return the scatter of what is hung, freed of the reading scatter in its means.

    Parameters
    ----------
    of_means : float, dB²
        Mean square of the swap means: estimates σ_swap² + σ²/readings.
    df_of_means : float
    within : float, dB²
        Mean square within swaps: estimates σ².
    df_within : float
    readings : float
        Readings behind a mean; their harmonic mean where swaps have different numbers.
    confidence : float

    Returns
    -------
    ScatterEstimate
        Limits of the modified large-sample kind, cut off at zero; where the estimate is not above zero, the upper
        limit is that of the whole mean square of the means.

    References
    ----------
    Graybill & Wang (1980), J. Am. Stat. Assoc. 75:869, doi:10.1080/01621459.1980.10477565; Ting, Burdick, Graybill,
    Jeyaratnam & Lu (1990), J. Stat. Comput. Simul. 35:135 (the difference of two mean squares); Thomas & Hultquist
    (1978), Ann. Stat. 6:582 (means with unequal numbers).
    """
    half = (1.0 - confidence) / 2.0
    one, two = of_means, within / readings
    upper_f, lower_f = (float(stats.f.ppf(p, df_of_means, df_within)) for p in (1 - half, half))
    g_one, h_one = 1 - _over(1 - half, df_of_means), _over(half, df_of_means) - 1
    g_two, h_two = 1 - _over(1 - half, df_within), _over(half, df_within) - 1
    g_cross = ((upper_f - 1) ** 2 - (g_one * upper_f) ** 2 - h_two**2) / upper_f
    h_cross = ((1 - lower_f) ** 2 - (h_one * lower_f) ** 2 - g_two**2) / lower_f
    down = (g_one * one) ** 2 + (h_two * two) ** 2 + g_cross * one * two
    up = (h_one * one) ** 2 + (g_two * two) ** 2 + h_cross * one * two
    estimate = one - two
    low, high = estimate - np.sqrt(max(down, 0.0)), estimate + np.sqrt(max(up, 0.0))
    if estimate <= 0.0:
        # a negative estimate would pull the upper limit towards nothing; what a mean square holds bounds its parts
        high = max(high, (h_one + 1) * one)
    sd, low_sd, high_sd = (float(np.sqrt(max(value, 0.0))) for value in (estimate, low, high))
    return ScatterEstimate(sd, low_sd, high_sd, df_of_means, confidence)


def _over(probability: float, degrees_of_freedom: float) -> float:
    """Return 1 over the F quantile with infinite denominator: df / χ²."""
    return float(degrees_of_freedom / stats.chi2.ppf(probability, degrees_of_freedom))
