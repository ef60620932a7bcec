"""Contrasts of the fixed effects: one, several with their covariance, several tested together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import fdtrc

from antexp.mixed.arrays import Floats
from antexp.mixed.kenward_roger import Inference

Method = Literal["kenward-roger", "satterthwaite"]

METHODS = ("kenward-roger", "satterthwaite")


@dataclass(frozen=True)
class Contrast:
    """One contrast lᵀβ.

    Attributes
    ----------
    estimate : float, dB
    standard_error : float, dB
    degrees_of_freedom : float
        Real-valued, not rounded.
    method : str
        ``"kenward-roger"`` or ``"satterthwaite"``.
    no_interval : str
        Why no interval should be built; empty where one may.
    """

    estimate: float
    standard_error: float
    degrees_of_freedom: float
    method: str = "kenward-roger"
    no_interval: str = ""


@dataclass(frozen=True)
class ContrastSet:
    """Several contrasts with the covariance of their estimates.

    Attributes
    ----------
    estimates : ndarray, shape (m,), dB
    covariance : ndarray, shape (m, m), dB²
    standard_errors : ndarray, shape (m,), dB
    degrees_of_freedom : ndarray, shape (m,)
    no_interval : tuple of str, length m
        Why no interval should be built for a row; empty where one may.
    """

    estimates: Floats
    covariance: Floats
    standard_errors: Floats
    degrees_of_freedom: Floats
    no_interval: tuple[str, ...]

    @property
    def correlation(self) -> Floats:
        """Correlation of the estimates, shape (m, m); unit diagonal."""
        scale = np.where(self.standard_errors > 0, self.standard_errors, 1.0)
        correlation = self.covariance / np.outer(scale, scale)
        np.fill_diagonal(correlation, 1.0)
        return correlation


@dataclass(frozen=True)
class JointTest:
    """The scaled F test of several contrasts together.

    Attributes
    ----------
    f_statistic : float
        Already scaled.
    numerator_df : int
        Rank of the contrasts.
    denominator_df : float
    p_value : float
    scale : float
        Kenward and Roger's λ; 1 for a single contrast.
    """

    f_statistic: float
    numerator_df: int
    denominator_df: float
    p_value: float
    scale: float


def degrees_of_freedom(inference: Inference, rows: Floats, spread: Floats) -> Floats:
    """Return 2(lᵀΦl)²/(gᵀWg) for each row (M6).

    Parameters
    ----------
    inference : Inference
    rows : ndarray, shape (m, r)
        Contrasts on the orthonormal columns.
    spread : ndarray, shape (d, d)
        W.

    Returns
    -------
    ndarray, shape (m,)
    """
    variance = np.einsum("mi,ij,mj->m", rows, inference.phi, rows)
    g = np.einsum("mi,dij,mj->md", rows, inference.slopes, rows)
    below = np.einsum("md,de,me->m", g, spread, g)
    return whole_one(np.divide(2.0 * variance**2, below, out=np.full(variance.shape, np.nan), where=below > 0))


def whole_one(df: Floats) -> Floats:
    """Return degrees of freedom with those that are one but for rounding made exactly one.

    Below one there is no interval: without this the last digit decides which gaps of a record that leaves one degree
    of freedom get limits, and how many gaps these allow for.
    """
    return np.where(np.abs(df - 1.0) < 1e-8, 1.0, df)


def joint_test(inference: Inference, estimates: Floats, rows: Floats) -> JointTest:
    """Test that every contrast is zero, by the scaled F of Kenward and Roger.

    Parameters
    ----------
    inference : Inference
    estimates : ndarray, shape (m,), dB
    rows : ndarray, shape (m, r)

    Notes
    -----
    Dependent rows count once: the test is that of their span. Where none has an error there is no test, and all is NaN.

    References
    ----------
    Kenward and Roger 1997, Biometrics 53:983, section 3; the ratio form for small denominators is that of
    Halekoh and Højsgaard 2014, J. Stat. Softw. 59(9), doi:10.18637/jss.v059.i09.
    """
    covariance = rows @ inference.adjusted @ rows.T
    values, vectors = np.linalg.eigh(covariance)
    held = values > 1e-10 * values[-1]
    rank = int(held.sum())
    if not rank:
        return JointTest(float("nan"), 0, float("nan"), float("nan"), 1.0)
    basis = vectors[:, held].T
    rows, estimates, covariance = basis @ rows, basis @ estimates, basis @ covariance @ basis.T
    raw = float(estimates @ np.linalg.solve(covariance, estimates)) / rank
    if rank == 1:
        df, scale = float(degrees_of_freedom(inference, rows, inference.spread)[0]), 1.0
    else:
        df, scale = _denominator(inference, rows, rank)
    statistic = scale * raw
    return JointTest(statistic, rank, df, float(fdtrc(rank, df, statistic)), scale)


def _denominator(inference: Inference, rows: Floats, rank: int) -> tuple[float, float]:
    """Return the denominator df and the scale λ."""
    factor = np.linalg.inv(np.linalg.cholesky(rows @ inference.phi @ rows.T)) @ rows
    parts = np.einsum("ai,dij,bj->dab", factor, inference.slopes, factor)
    traces = np.einsum("daa->d", parts)
    a1 = float(traces @ inference.spread @ traces)
    a2 = float(np.einsum("de,dab,eba->", inference.spread, parts, parts))
    b = (a1 + 6.0 * a2) / (2.0 * rank)
    g = ((rank + 1) * a1 - (rank + 4) * a2) / ((rank + 2) * a2)
    below = 3.0 * rank + 2.0 * (1.0 - g)
    v0 = 1.0 + g / below * b
    v1 = 1.0 - (rank - g) / below * b
    v2 = 1.0 - (rank + 2.0 - g) / below * b
    mean = 1.0 - a2 / rank
    v0 = 0.0 if abs(v0) < 1e-10 else v0
    ratio = 1.0 if abs(mean) < 1e-14 and abs(v1) < 1e-14 else mean / v1
    rho = ratio**2 * v0 / v2 / rank
    df = 4.0 + (rank + 2.0) / (rank * rho - 1.0)
    return df, 1.0 if abs(df - 2.0) < 1e-2 else df * mean / (df - 2.0)
