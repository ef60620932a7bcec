"""Which candidate can still be the best: multiple comparisons with the best (method, section 5)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.mixed.arrays import Floats
from antexp.mixed.family_arguments import checked_confidence
from antexp.mixed.multivariate_t import family_adjusted_p, family_critical_values


@dataclass(frozen=True)
class Best:
    """Each candidate against the best of the others; the highest level is the best.

    Attributes
    ----------
    gap : ndarray, shape (k,)
        Estimated level less the highest of the others.
    rival : ndarray of int, shape (k,)
        The candidate that is highest among the others.
    lower, upper : ndarray, shape (k,)
        Limits of the gap, valid for all candidates together at the confidence; lower ≤ 0 ≤ upper always.
    in_best_set : ndarray of bool, shape (k,)
        The candidate can still be the best: its upper limit is above 0. With the confidence asked for, the true best
        is among them. Never empty.
    p_adjusted : ndarray, shape (k,)
        One-sided: the smallest 1 − confidence at which the candidate leaves the best set.
    critical_values : ndarray, shape (k, k)
        Row i: the one-sided values dⁱ with candidate i as the control, one for each of the others; NaN on the diagonal.
        All equal in a row unless the degrees of freedom differ by the rule of `family_critical_values`.
    standard_errors : ndarray, shape (k, k)
        Of the differences; 0 on the diagonal.
    confidence : float
    """

    gap: Floats
    rival: NDArray[np.intp]
    lower: Floats
    upper: Floats
    in_best_set: NDArray[np.bool_]
    p_adjusted: Floats
    critical_values: Floats
    standard_errors: Floats
    confidence: float


def compare_with_the_best(
    levels: ArrayLike, covariance: ArrayLike, df: ArrayLike, confidence: float = 0.95
) -> Best:
    """Compare each candidate with the best of the others.

    Parameters
    ----------
    levels : array_like, shape (k,)
        Estimated levels, k ≥ 2; a constant added to all changes nothing. With gaps to a reference in hand: 0 for the
        reference and its gaps for the others.
    covariance : array_like, shape (k, k)
        Covariance of the levels; only that of their differences counts. With gaps to a reference in hand: a row and a
        column of zeros for the reference.
    df : array_like, shape () or (k, k)
        Degrees of freedom of all differences, or of each (the diagonal is not looked at).
    confidence : float

    Raises
    ------
    ValueError
        When an argument is not what it must be, or a difference has no standard error.

    Notes
    -----
    With dⁱ the one-sided value of Dunnett with i as control,
    Uᵢ = max(0, min over j ≠ i of μ̂ᵢ − μ̂ⱼ + dⁱ se_ij), G = {i: Uᵢ > 0}, and Lᵢ = 0 if G = {i}, else
    min(0, min over j ∈ G, j ≠ i of μ̂ᵢ − μ̂ⱼ − dʲ se_ij).

    References
    ----------
    Edwards & Hsu 1983, J. Am. Stat. Assoc. 78:965. Hsu 1984, Ann. Stat. 12:1136.
    """
    estimate, variance, freedom = _checked(levels, covariance, df)
    confidence = checked_confidence(confidence)
    k = len(estimate)
    difference = estimate[:, None] - estimate
    error = _standard_errors(variance)
    value, p = np.full((k, k), np.nan), np.empty(k)
    for control in range(k):
        others = np.delete(np.arange(k), control)
        correlation = _correlation_with_control(variance, error, control, others)
        value[control, others] = family_critical_values(correlation, freedom[control, others], confidence, 1)
        t = -difference[control, others] / error[control, others]
        p[control] = family_adjusted_p(t, correlation, freedom[control, others], 1).min()
    margin = np.where(np.eye(k, dtype=bool), np.inf, value * error)
    upper = np.maximum(0.0, np.min(difference + margin, axis=1))
    in_best_set = upper > 0.0
    apart = np.where(np.eye(k, dtype=bool), -np.inf, -difference)  # the others less the candidate
    return Best(
        gap=-np.max(apart, axis=1),
        rival=np.argmax(apart, axis=1),
        lower=_lower(difference, margin, in_best_set),
        upper=upper,
        in_best_set=in_best_set,
        p_adjusted=p,
        critical_values=value,
        standard_errors=error,
        confidence=confidence,
    )


def limits_by_all_pairs(lower: Floats, upper: Floats) -> tuple[Floats, Floats]:
    """Return what limits of all differences say of each candidate's gap to the best of the others.

    Parameters
    ----------
    lower, upper : ndarray, shape (..., k(k − 1)/2)
        Of the first candidate less each other, then of the second less each later one, and so on.

    Returns
    -------
    lower, upper : ndarray, shape (..., k)
        The gap is the smallest of the candidate's differences, and so are its limits; NaN where one has none.
    """
    k = round((1 + (1 + 8 * lower.shape[-1]) ** 0.5) / 2)
    i, j = np.triu_indices(k, 1)
    below, above = np.full((2, *lower.shape[:-1], k, k), np.inf)
    below[..., i, j], below[..., j, i] = lower, -upper
    above[..., i, j], above[..., j, i] = upper, -lower
    return below.min(axis=-1), above.min(axis=-1)


def _lower(difference: Floats, margin: Floats, in_best_set: NDArray[np.bool_]) -> Floats:
    """Return the lower limits: against those that can be the best, each by its own value."""
    below = np.where(in_best_set, difference - margin.T, np.inf)
    np.fill_diagonal(below, np.inf)
    return np.minimum(0.0, np.min(below, axis=1))  # the only one in the set has no rival: inf, so 0


def _standard_errors(covariance: Floats) -> Floats:
    """Return the standard errors of all differences, or raise where there is none."""
    own = np.diag(covariance)
    square = own[:, None] + own - 2.0 * covariance
    bad = (square <= 1e-14 * max(np.max(np.abs(covariance)), 1e-300)) & ~np.eye(len(own), dtype=bool)
    if bad.any():
        i, j = np.argwhere(bad)[0]
        raise ValueError(
            f"covariance leaves a difference without error: got variance {square[i, j]:.3g} for candidates {i} and "
            f"{j}; allowed above 0. Leave out candidates that are the same."
        )
    return np.sqrt(np.where(np.eye(len(own), dtype=bool), 0.0, square))


def _correlation_with_control(covariance: Floats, error: Floats, control: int, others: NDArray[np.intp]) -> Floats:
    """Return the correlation of the differences between the control and the others."""
    shared = covariance[control, control] - covariance[control, others]
    joint = covariance[np.ix_(others, others)] + shared[:, None] - covariance[control, others]
    correlation = joint / np.outer(error[control, others], error[control, others])
    np.fill_diagonal(correlation, 1.0)
    return 0.5 * (correlation + correlation.T)


def _checked(levels: ArrayLike, covariance: ArrayLike, df: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Return levels (k,), covariance (k, k) and df (k, k), or raise."""
    estimate = np.asarray(levels, dtype=float)
    if estimate.ndim != 1 or len(estimate) < 2:
        raise ValueError(f"levels does not fit: got shape {estimate.shape}; allowed (k,) with k ≥ 2.")
    square = (len(estimate), len(estimate))
    variance = np.asarray(covariance, dtype=float)
    if variance.shape != square:
        raise ValueError(f"covariance does not fit: got shape {variance.shape}; allowed {square}.")
    if not (np.all(np.isfinite(estimate)) and np.all(np.isfinite(variance))):
        raise ValueError(
            "levels or covariance have entries that are not finite; allowed numbers. Leave out candidates that are not "
            "tied to the others."
        )
    freedom = np.asarray(df, dtype=float)
    if freedom.shape not in ((), square):
        raise ValueError(f"df does not fit: got shape {freedom.shape}; allowed one number, or {square}.")
    return estimate, variance, np.broadcast_to(freedom, square)
