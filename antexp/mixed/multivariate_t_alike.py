"""Critical values of many records whose families are alike: each record its own correlation and degrees of freedom."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.chebyshev import chebfit, chebval
from scipy.special import ndtr

from antexp.mixed.arrays import Floats
from antexp.mixed.family_arguments import checked_correlation
from antexp.mixed.family_tail import family_point, student_point, unequal_df
from antexp.mixed.first_beyond import MOST_NORMALS, log_share_ratios
from antexp.mixed.multivariate_normal import LargestNormal, largest_normal
from antexp.mixed.multivariate_t import family_critical_values

# Where the log ratio of two shares is tabulated, and held beyond: of a critical value little lies there.
_LOWEST, _HIGHEST, _LEVELS = 0.4, 5.0, 12


@dataclass(frozen=True)
class _Alike:
    """The largest of normals of N correlations, each by its share's ratio to that of one correlation.

    Attributes
    ----------
    like : LargestNormal
    ratio : ndarray, shape (c, N)
        Chebyshev coefficients of the log ratio.
    """

    like: LargestNormal
    ratio: Floats

    @property
    def count(self) -> int:
        """Number of distinct normals."""
        return self.like.count

    @property
    def sides(self) -> int:
        """Two: largest absolute value."""
        return self.like.sides

    def share(self, x: Floats) -> Floats:
        """Return the union share of record n at x[n], x of shape (N,) or (N, k)."""
        place = (np.clip(x, _LOWEST, _HIGHEST) - _LOWEST) * (2.0 / (_HIGHEST - _LOWEST)) - 1.0
        ratio = self.ratio if x.ndim == 1 else self.ratio[:, :, None]
        return np.minimum(self.like.share(x) * np.exp(chebval(place, ratio, tensor=False)), 1.0)


def critical_values_alike(correlations: Floats, df: Floats, confidence: float) -> Floats:
    """Return two-sided critical values of records, each by the rule of `family_critical_values`.

    Parameters
    ----------
    correlations : ndarray, shape (N, m, m)
        Of records that are alike, as of one design with readings lost here and there.
    df : ndarray, shape (N, m)
        Above 0.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    ndarray, shape (N, m)
        Within 2e-4, relative, of the value for each record alone, within 4e-4 where correlations are singular
        (tests/mixed/test_multivariate_t_alike.py).

    Notes
    -----
    One lattice serves all records, and what it says of a record is used as a ratio to what it says of their mean
    correlation, whose own share is known better.
    """
    if not len(df):
        return np.empty(df.shape)
    if not 2 <= df.shape[1] <= MOST_NORMALS:
        return np.array([family_critical_values(r, own, confidence) for r, own in zip(correlations, df, strict=True)])
    like = checked_correlation(correlations.mean(axis=0))
    place = np.cos(np.pi * (np.arange(_LEVELS) + 0.5) / _LEVELS)
    levels = _LOWEST + (place + 1.0) * (0.5 * (_HIGHEST - _LOWEST))
    ratio = np.asarray(chebfit(place, log_share_ratios(correlations, like, levels, 2).T, _LEVELS - 1), dtype=float)
    largest, alpha = largest_normal(like, 2), 1.0 - confidence
    own = unequal_df(df)
    least = np.where(own, np.inf, df.min(axis=1)).astype(float)
    point = np.empty(len(df))
    for rows in (np.isinf(least), np.isfinite(least)):
        if rows.any():
            point[rows] = family_point(_Alike(largest, ratio[:, rows]), least[rows], alpha)
    values = np.repeat(point[:, None], df.shape[1], axis=1)
    if own.any():
        values[own] = student_point(df[own], ndtr(-point[own])[:, None])
    return values
