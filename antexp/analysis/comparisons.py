"""Which gaps are asked, and limits that hold for all of them together (method section 5)."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy import special

from antexp.mixed.chance import detectable_gap
from antexp.mixed.correlation import correlation_of
from antexp.mixed.multivariate_t import family_adjusted_p, family_critical_values


@dataclass(frozen=True)
class Estimates:
    """Gaps with their joint uncertainty.

    Attributes
    ----------
    pairs : tuple of (str, str), length m
        (candidate, against) of each gap.
    gap_db : ndarray, shape (m,), dB
        Estimates.
    covariance_db2 : ndarray, shape (m, m), dB²
        Small-sample covariance.
    degrees_of_freedom : ndarray, shape (m,)
        Of each gap's standard error.
    """

    pairs: tuple[tuple[str, str], ...]
    gap_db: NDArray[np.float64]
    covariance_db2: NDArray[np.float64]
    degrees_of_freedom: NDArray[np.float64]

    @property
    def standard_error_db(self) -> NDArray[np.float64]:
        """Standard error of each gap, shape (m,), dB."""
        return np.sqrt(np.maximum(np.diag(self.covariance_db2), 0.0))  # a gap without any scatter may round below


@dataclass(frozen=True)
class Limits:
    """Limits for all gaps of a family together.

    Attributes
    ----------
    critical : ndarray, shape (m,)
        Half widths in standard errors; NaN where no interval can be given.
    lower_db, upper_db : ndarray, shape (m,), dB
        Limits.
    p_value : ndarray, shape (m,)
        Of each gap alone.
    p_adjusted : ndarray, shape (m,)
        For the family.
    detectable_db : ndarray, shape (m,), dB
        The true gap noticed with the wanted chance.
    """

    critical: NDArray[np.float64]
    lower_db: NDArray[np.float64]
    upper_db: NDArray[np.float64]
    p_value: NDArray[np.float64]
    p_adjusted: NDArray[np.float64]
    detectable_db: NDArray[np.float64]


def asked_pairs(candidates: tuple[str, ...], compare: str) -> list[tuple[str, str]]:
    """List the gaps a comparison asks about.

    Parameters
    ----------
    candidates : tuple of str
        The reference first.
    compare : {"reference", "each-other", "best"}
        ``best`` is built on the gaps to the reference.

    Returns
    -------
    list of (str, str)
        (candidate, against).
    """
    if compare == "each-other":
        return list(combinations(candidates, 2))
    return [(name, candidates[0]) for name in candidates[1:]]


def joined(parts: list[Estimates]) -> Estimates:
    """Put estimates of several fits together as one family.

    Between fits the covariance is set to zero. By the Gaussian correlation inequality (Royen 2014) the limits that
    follow hold together with at least the stated confidence.
    """
    parts = [part for part in parts if part.pairs]
    sizes = [len(part.pairs) for part in parts]
    covariance = np.zeros((sum(sizes), sum(sizes)))
    start = 0
    for part, size in zip(parts, sizes, strict=True):
        covariance[start : start + size, start : start + size] = part.covariance_db2
        start += size
    return Estimates(
        tuple(pair for part in parts for pair in part.pairs),
        np.concatenate([part.gap_db for part in parts]),
        covariance,
        np.concatenate([part.degrees_of_freedom for part in parts]),
    )


def family_limits(estimates: Estimates, confidence: float, chance: float) -> Limits:
    """Compute limits that hold for all gaps together.

    Parameters
    ----------
    estimates : Estimates
        The family.
    confidence : float
        For all together.
    chance : float
        Wanted chance of noticing.

    Returns
    -------
    Limits
        Not finite where the standard error or the degrees of freedom give no interval (fewer than one).
    """
    error, df = estimates.standard_error_db, estimates.degrees_of_freedom
    usable = np.isfinite(error) & (error > 0) & (df >= 1)
    critical, p_value, p_adjusted = (np.full(len(error), np.nan) for _ in range(3))
    if usable.any():
        kept = np.flatnonzero(usable)
        correlation = correlation_of(estimates.covariance_db2[np.ix_(kept, kept)])
        t = estimates.gap_db[kept] / error[kept]
        critical[kept] = family_critical_values(correlation, df[kept], confidence, 2)
        p_value[kept] = 2.0 * special.stdtr(df[kept], -np.abs(t))
        p_adjusted[kept] = family_adjusted_p(t, correlation, df[kept], 2)
    half = critical * error
    detectable = np.array([detectable_gap(*row, chance) for row in zip(error, df, critical, strict=True)])
    return Limits(critical, estimates.gap_db - half, estimates.gap_db + half, p_value, p_adjusted, detectable)
