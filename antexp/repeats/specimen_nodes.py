"""What a judgement for any specimen may report, over the mean squares it may find.

With few specimens their variance is found at zero in many records, and where it is not, its size decides the degrees
of freedom. An answer at the planned variance alone is then far off; so the report is worked out over a grid of what
the two mean squares, of specimens and of swaps, may come to.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from antexp.mixed.planned import planned_contrasts
from antexp.repeats.scoped_model import ScopedModel

Floats = NDArray[np.float64]

# Equal shares of the χ² of each mean square: with these the chance is within 0.003 of ten times as many.
_SPECIMEN_SLICES = 48
_SWAP_SLICES = 8
_GAMMAS = 24


@dataclass(frozen=True)
class Nodes:
    """Reports that are equally likely.

    Attributes
    ----------
    standard_error_db : ndarray, shape (K, m), dB
    degrees_of_freedom : ndarray, shape (K, m)
    """

    standard_error_db: Floats
    degrees_of_freedom: Floats


def specimen_nodes(
    scope: ScopedModel, basis: Floats, specimen_variance: float, residual: float
) -> Nodes | None:
    """Work out what the judgement may report.

    Parameters
    ----------
    scope : ScopedModel
        For any specimen, with the specimens as its only random term.
    basis : ndarray, shape (N, r)
        Orthonormal basis of the fixed columns and the specimens together.
    specimen_variance, residual : float, dB²
        Planned: between specimens, and of a swap's mean.

    Returns
    -------
    Nodes or None
        None where no swap is left over beside the specimens.

    Notes
    -----
    MS_spec = [RSS(X) − RSS(X, specimens)]/(S − k) has the expectation σ² + n₀σ_spec² with n₀ = tr(ZᵀMZ)/(S − k), and
    MS_swap that of σ². Where MS_spec is the smaller, the variance is found at zero and M7 judges; else
    γ = (MS_spec/MS_swap − 1)/n₀ and Kenward and Roger do.
    """
    X, L = scope.model.X, scope.L
    codes = np.asarray(scope.groups["specimen"])
    Z = (codes[:, None] == np.unique(codes)[None, :]).astype(float)
    Q = np.linalg.qr(X)[0]
    free = basis.shape[1] - X.shape[1]
    left = len(X) - basis.shape[1]
    if free < 1 or left < 1:
        return None
    kept = Z - Q @ (Q.T @ Z)
    between = kept.T @ kept
    n0 = float(np.trace(between)) / free
    # unlike specimens mix chi-squares; the rule at zero counts fewer degrees of freedom then (see error_line)
    free_at_zero = min(float(free), float(np.trace(between) ** 2 / np.sum(between**2)))
    specimen = (residual + n0 * specimen_variance) * _mean_squares(free, _SPECIMEN_SLICES)
    swap = residual * _mean_squares(left, _SWAP_SLICES)
    ms_spec, ms_swap = (each.ravel() for each in np.meshgrid(specimen, swap, indexing="ij"))
    gamma = np.maximum(ms_spec / ms_swap - 1.0, 0.0) / n0
    variance, df = _reports(scope, gamma)
    plain = np.einsum("mi,im->m", L, np.linalg.solve(X.T @ X, L.T))
    zero = (gamma == 0.0)[:, None]
    variance = np.where(zero, ms_spec[:, None] * plain, ms_swap[:, None] * variance)
    return Nodes(np.sqrt(variance), np.where(zero, free_at_zero, df))


def _mean_squares(df: int, slices: int) -> Floats:
    """Return equally likely values of χ²/df."""
    share = (np.arange(slices) + 0.5) / slices
    return np.asarray(2.0 * special.gammaincinv(df / 2.0, share) / df)


def _reports(scope: ScopedModel, gamma: Floats) -> tuple[Floats, Floats]:
    """Return variance over σ² and degrees of freedom at each γ above 0, from a grid of γ."""
    m = len(scope.pairs)
    above = gamma[gamma > 0]
    if not above.size:
        return np.ones((len(gamma), m)), np.ones((len(gamma), m))
    grid = np.geomspace(above.min(), above.max() * (1.0 + 1e-9), _GAMMAS)
    found = [planned_contrasts(scope.model.X, scope.groups, {"specimen": float(g)}, 1.0, scope.L) for g in grid]
    place = np.log(np.maximum(gamma, above.min()))
    log_grid = np.log(grid)
    variances = np.array([np.diag(each.covariance) for each in found])
    freedom = np.array([each.degrees_of_freedom for each in found])
    columns = range(m)
    return (
        np.exp(np.column_stack([np.interp(place, log_grid, np.log(variances[:, i])) for i in columns])),
        np.column_stack([np.interp(place, log_grid, freedom[:, i]) for i in columns]),
    )
