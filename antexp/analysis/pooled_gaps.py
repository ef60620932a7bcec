"""Each gap of several days put together, and all of them judged as one family."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy import special

from antexp.analysis.result import Judgement
from antexp.mixed.between_sites import Together, put_together
from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS, classify

Pair = tuple[str, str]

POOL_COLUMNS: dict[str, str] = {
    "candidate": "the candidate the gap is about",
    "against": "what it is compared with",
    "gap_db": "gap over all days; positive = the first named is stronger",
    "standard_error_db": "Hartung-Knapp standard error, never below the fixed-effect one",
    "degrees_of_freedom": "days less one; of two days the smallest of their own",
    "interval_db": "[lower, upper], valid for all comparisons together",
    "p_value": "of this comparison alone",
    "p_adjusted": "for the family",
    "resolution_db": "half the width of the interval",
    "between_sd_db": "standard deviation of the gap between days, beyond their own errors (Paule-Mandel)",
    "heterogeneity_p": "how often chance alone makes the days differ so much (Q against chi-squared)",
    "days": "how many days tell of this gap",
    "verdict": "what may be said",
}


@dataclass(frozen=True)
class DayGap:
    """What one day says of one comparison.

    Attributes
    ----------
    gap_db, standard_error_db, degrees_of_freedom : float
    interval_db : list of float
        The day's own limits.
    verdict : str
        The day's own.
    """

    gap_db: float
    standard_error_db: float
    degrees_of_freedom: float
    interval_db: list[float]
    verdict: str

    @property
    def tells(self) -> bool:
        """Whether the day has an error to go by."""
        return bool(np.isfinite(self.gap_db) and np.isfinite(self.standard_error_db) and self.standard_error_db > 0)


def gaps_of(day: Judgement) -> dict[Pair, DayGap]:
    """Return what a day says of each comparison that counts."""
    # columns turned into lists: a small table cut out of each day's costs a thousand days seconds
    own = zip(*(day.gaps[name].tolist() for name in ("counts", "candidate", "against", *DayGap.__dataclass_fields__)),
              strict=True)
    return {(str(candidate), str(against)): DayGap(*row) for counts, candidate, against, *row in own if counts}


def pooled_gaps(
    pairs: list[Pair], days: list[dict[Pair, DayGap]], confidence: float, matter_db: float | None
) -> pd.DataFrame:
    """Put each gap together, and judge all of them as one family.

    Parameters
    ----------
    pairs : list of (candidate, against)
        Comparisons of which two days or more tell.
    days : list of dict
        As `gaps_of` returns.
    confidence : float
    matter_db : float or None, dB

    Returns
    -------
    DataFrame
        Columns as `POOL_COLUMNS`.
    """
    found: list[Together] = []
    counts, df = np.zeros(len(pairs), dtype=int), np.empty(len(pairs))
    for i, pair in enumerate(pairs):
        own = [day[pair] for day in days if pair in day and day[pair].tells]
        found.append(put_together([each.gap_db for each in own], [each.standard_error_db for each in own]))
        counts[i] = len(own)
        smallest = min(each.degrees_of_freedom for each in own)
        df[i] = found[-1].degrees_of_freedom if len(own) > 2 else max(1.0, smallest)
    gap, error = np.array([[each.estimate, each.standard_error] for each in found]).T
    half = separate_critical_values(df, confidence) * error
    lower, upper = gap - half, gap + half
    p = 2.0 * special.stdtr(df, -np.abs(gap / error))
    verdicts = classify(lower, upper, matter_db)
    return pd.DataFrame({
        "candidate": [pair[0] for pair in pairs],
        "against": [pair[1] for pair in pairs],
        "gap_db": gap,
        "standard_error_db": error,
        "degrees_of_freedom": df,
        "interval_db": np.column_stack([lower, upper]).tolist(),
        "p_value": p,
        "p_adjusted": separate_adjusted_p(p),
        "resolution_db": half,
        "between_sd_db": [float(np.sqrt(each.between_variance)) for each in found],
        "heterogeneity_p": special.chdtrc(counts - 1, [each.heterogeneity for each in found]),
        "days": counts,
        "verdict": [_of_two(str(verdict)) if count == 2 else str(verdict)
                    for verdict, count in zip(verdicts, counts, strict=True)],
    })[list(POOL_COLUMNS)]


def separate_critical_values(df: ArrayLike, confidence: float) -> NDArray[np.float64]:
    """Return one two-sided critical value a gap, for gaps that each have an error estimate of their own.

    The multivariate t, which judges the gaps of one day, shares one error estimate among them. Over days each gap has
    its own, from how the days differ in that gap: with few days one of several is then easily far too small, and the
    shared value is passed too often: in 12 of 100 campaigns of three days and eight gaps, where 5 is stated.

    Parameters
    ----------
    df : array_like, shape (m,)
    confidence : float
        Of all m together.

    Returns
    -------
    ndarray, shape (m,)

    References
    ----------
    Šidák 1967, J. Am. Stat. Assoc. 62:626: exact for independent gaps, on the safe side for correlated ones.
    """
    freedom = np.asarray(df, dtype=float)
    alone = -np.expm1(np.log(confidence) / freedom.size)
    return np.asarray(-special.stdtrit(freedom, alone / 2.0))


def separate_adjusted_p(p: ArrayLike) -> NDArray[np.float64]:
    """Return adjusted p-values by the rule of `separate_critical_values`.

    Parameters
    ----------
    p : array_like, shape (m,)
        Of each comparison alone, two-sided.

    Returns
    -------
    ndarray, shape (m,)
    """
    alone = np.asarray(p, dtype=float)
    with np.errstate(divide="ignore"):  # a p of exactly 1 stays 1
        return np.asarray(-np.expm1(alone.size * np.log1p(-alone)))


def _of_two(verdict: str) -> str:
    """Return the verdict that two days may get: two cannot show how days differ, so nothing is called real."""
    return verdict if verdict == NO_GAP_THAT_MATTERS else CANNOT_TELL
