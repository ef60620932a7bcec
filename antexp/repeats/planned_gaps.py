"""How precise the gaps of a day will be at planned spreads: true and reported errors, degrees of freedom."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg

from antexp.design.estimable import is_full_rank
from antexp.design.information import walk_covariance
from antexp.mixed.planned import planned_contrasts
from antexp.plan.model import Plan
from antexp.repeats.scoped_model import ScopedModel, ScopedModels
from antexp.repeats.single_hanging import Scatter
from antexp.repeats.specimen_nodes import Nodes, specimen_nodes

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Spreads:
    """The guesses that a plan makes, apart from everything else in it.

    Attributes
    ----------
    hanging : Scatter
        Re-hanging, reading, step and readings a swap.
    specimen_sd_db : float, dB
        Between specimens of a candidate.
    drift_db_per_hour : float
        Standard deviation of the slope over blocks.
    wander_db_per_sqrt_hour : float
        Random walk of the path.
    """

    hanging: Scatter
    specimen_sd_db: float
    drift_db_per_hour: float
    wander_db_per_sqrt_hour: float

    def times(self, **factors: float) -> Spreads:
        """Return the spreads with some multiplied: ``rehang_sd_db``, ``reading_sd_db`` or a field's name."""
        hanging = replace(self.hanging, **{name: getattr(self.hanging, name) * factor for name, factor in
                                           factors.items() if name in ("rehang_sd_db", "reading_sd_db")})
        others = {name: getattr(self, name) * factor for name, factor in factors.items()
                  if name not in ("rehang_sd_db", "reading_sd_db")}
        return replace(self, hanging=hanging, **others)


def spreads_of(plan: Plan) -> Spreads:
    """Read the guesses off a plan."""
    field, meter = plan.field, plan.meter
    return Spreads(Scatter(field.rehang_sd_db, meter.reading_sd_db, meter.readings, meter.step_db),
                   field.specimen_sd_db, field.drift_db_per_hour, field.wander_db_per_sqrt_hour)


@dataclass(frozen=True)
class PlannedGaps:
    """Gaps of one scope before there are readings.

    Attributes
    ----------
    scope : str
        ``these specimens`` or ``any specimen``.
    pairs : tuple of (str, str), length m
    true_covariance_db2 : ndarray, shape (m, m), dB²
        Of the estimates, under everything the plan says is going on.
    reported_covariance_db2 : ndarray, shape (m, m), dB²
        What the judgement will report on average: it differs where the path does what the model leaves out.
    degrees_of_freedom : ndarray, shape (m,)
        As the judgement will report them; NaN or below 1: no interval.
    scatter_df : ndarray, shape (m,)
        Degrees of freedom with which the reported errors really scatter; fewer where the path is left out.
    nodes : Nodes or None
        For any specimen: equally likely reports, in place of one report that scatters.
    """

    scope: str
    pairs: tuple[tuple[str, str], ...]
    true_covariance_db2: Floats
    reported_covariance_db2: Floats
    degrees_of_freedom: Floats
    scatter_df: Floats
    nodes: Nodes | None = None


def planned_gaps(
    table: pd.DataFrame, models: ScopedModels, spreads: Spreads
) -> tuple[PlannedGaps, ...]:
    """Work out the precision of the asked gaps.

    Parameters
    ----------
    table : DataFrame
        One row a swap: ``swap, block, minutes, candidate, specimen, place``.
    models : ScopedModels
        Of these rows.
    spreads : Spreads
        The guesses.

    Returns
    -------
    tuple of PlannedGaps
        One a scope; empty where the day cannot be judged: gaps that cannot be estimated, or no swap left over.

    Notes
    -----
    A record with equal readings is its swap means, so one row a swap is enough: the within-swap part of the
    information says nothing of the gaps. Where the analysis has lines or nothing and the path wanders (or drifts
    and the form is "none"), the estimates are least squares and V is not σ²I: lᵀAXᵀVXAl with A = (XᵀX)⁻¹, and the
    mean square has the expectation tr(MV)/(N − p) and scatters as χ² with tr(MV)²/tr(MVMV) degrees of freedom
    (Satterthwaite), though the judgement will take it for N − p.
    """
    path = _path_covariance(table, spreads)
    found = [_planned(table, scope, spreads, path) for scope in models.scopes]
    return tuple(gaps for gaps in found if gaps is not None)


def _planned(table: pd.DataFrame, scope: ScopedModel, spreads: Spreads, path: Floats | None) -> PlannedGaps | None:
    """Work out one scope."""
    X = scope.model.X
    if not is_full_rank(scope.model) or len(table) <= X.shape[1]:
        return None
    if "specimen" in scope.groups and len(table) <= _residual_basis(X, scope.groups).shape[1]:
        return None
    if not scope.groups:
        return _least_squares(scope, spreads.hanging.sd_db**2, path)
    variances = {"specimen": spreads.specimen_sd_db**2, "walk": spreads.wander_db_per_sqrt_hour**2}
    residual = spreads.hanging.sd_db**2
    unseen = path if "walk" not in scope.groups else None
    if unseen is not None:
        residual = _mean_square(_residual_basis(X, scope.groups), residual, unseen)[0]
    planned = planned_contrasts(X, scope.groups, variances, residual, scope.L)
    reported = planned.covariance
    true = reported if unseen is None else reported + _excess(scope, variances, residual, unseen, spreads)
    df = planned.degrees_of_freedom if planned.information_condition <= 1e10 else np.full(len(scope.pairs), np.nan)
    nodes = None
    if "walk" not in scope.groups:
        nodes = specimen_nodes(scope, _residual_basis(X, scope.groups), variances["specimen"], residual)
    return PlannedGaps(scope.scope, scope.pairs, true, reported, df, df, nodes)


def _least_squares(scope: ScopedModel, variance: float, path: Floats | None) -> PlannedGaps:
    """Work out gaps that are least squares of swap means."""
    X = scope.model.X
    Q, R = linalg.qr(X, mode="economic")
    half = linalg.solve_triangular(R, scope.L.T, trans="T")  # the gaps are halfᵀQᵀy
    nominal = np.full(len(scope.pairs), float(len(X) - X.shape[1]))
    plain = half.T @ half
    if path is None:
        covariance = variance * plain
        return PlannedGaps(scope.scope, scope.pairs, covariance, covariance, nominal, nominal)
    mean_square, df = _mean_square(Q, variance, path)
    weights = Q @ half
    true = variance * plain + weights.T @ path @ weights
    return PlannedGaps(scope.scope, scope.pairs, true, mean_square * plain, nominal, np.full(len(nominal), df))


def _mean_square(Q: Floats, variance: float, path: Floats) -> tuple[float, float]:
    """Return the expectation of the residual mean square, and its degrees of freedom, under σ²I + path."""
    free = len(Q) - Q.shape[1]
    left = path - Q @ (Q.T @ path)
    left = left - (left @ Q) @ Q.T  # M·path·M
    first, second = float(np.trace(left)), float(np.sum(left**2))
    total = variance * free + first
    return total / free, total**2 / (variance**2 * free + 2.0 * variance * first + second)


def _residual_basis(X: Floats, groups: dict[str, NDArray[np.generic]]) -> Floats:
    """Return an orthonormal basis of the fixed columns and the specimens together."""
    codes = np.asarray(groups["specimen"])
    Z = (codes[:, None] == np.unique(codes)[None, :]).astype(float)
    Q, R, _ = linalg.qr(np.hstack([X, Z]), mode="economic", pivoting=True)
    return Q[:, np.abs(np.diag(R)) > 1e-9 * abs(R[0, 0])]


def _excess(
    scope: ScopedModel, variances: dict[str, float], residual: float, path: Floats, spreads: Spreads
) -> Floats:
    """Return what the unseen path adds to the variance of generalised least squares, beyond the reported residual."""
    codes = np.asarray(scope.groups["specimen"])
    V = variances["specimen"] * (codes[:, None] == codes[None, :]) + residual * np.eye(len(codes))
    VX = np.linalg.solve(V, scope.model.X)
    weights = VX @ np.linalg.solve(scope.model.X.T @ VX, scope.L.T)
    beyond = path + (spreads.hanging.sd_db**2 - residual) * np.eye(len(codes))
    return np.asarray(weights.T @ beyond @ weights)


def _path_covariance(table: pd.DataFrame, spreads: Spreads) -> Floats | None:
    """Return the covariance that the path gives the swaps: slopes and walk, block by block; None where it is still."""
    slope, wander = spreads.drift_db_per_hour**2, spreads.wander_db_per_sqrt_hour**2
    if slope == 0.0 and wander == 0.0:
        return None
    minutes, block = table["minutes"].to_numpy(float), table["block"].to_numpy()
    covariance = np.zeros((len(table), len(table)))
    for label in dict.fromkeys(block):
        own = np.flatnonzero(block == label)
        hours = (minutes[own] - (minutes[own].min() + minutes[own].max()) / 2.0) / 60.0
        covariance[np.ix_(own, own)] = slope * np.outer(hours, hours) + wander * walk_covariance(minutes[own])
    return covariance

