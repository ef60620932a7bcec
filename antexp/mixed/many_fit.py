"""Fit and judge a chunk of records of one prepared design."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats
from antexp.mixed.low_rank_form import dot
from antexp.mixed.many_contrasts import (
    Pieces,
    condition_of,
    degrees_of_freedom,
    diagonal_pieces,
    low_rank_pieces,
    spread_of,
)
from antexp.mixed.many_design import ManyDesign
from antexp.mixed.many_form import Form, form_of
from antexp.mixed.many_likelihood import DiagonalForm, Slopes
from antexp.mixed.many_result import ManyFits, empty_fits
from antexp.mixed.many_search import maximise_many
from antexp.mixed.quiet_levels import NO_NOISE
from antexp.mixed.reml import CONDITION_LIMIT, AtZero
from antexp.mixed.restricted_likelihood import NO_SCATTER
from antexp.mixed.terms import level_sums


@dataclass(frozen=True)
class _Records:
    """Records turned into the design's residual space.

    Attributes
    ----------
    ordinary : ndarray, shape (N, r)
        Ordinary least squares on the orthonormal columns.
    residuals : ndarray, shape (n, N)
    coordinates : ndarray, shape (N, d)
    whole, rest : ndarray, shape (N,)
        Residual sum of squares, and its part outside K.
    rounding : ndarray, shape (N,)
        Size of `whole` that is rounding.
    """

    ordinary: Floats
    residuals: Floats
    coordinates: Floats
    whole: Floats
    rest: Floats
    rounding: Floats


def fit_chunk(design: ManyDesign, records: Floats, at_zero: AtZero) -> ManyFits:
    """Fit records of a prepared design.

    Parameters
    ----------
    design : ManyDesign
    records : ndarray, shape (n, N)
    at_zero : {"error line", "keep", "drop"}
    """
    turned = _turn(design, records)
    flat = turned.whole <= turned.rounding
    silent = ~flat & (turned.rest <= NO_NOISE * turned.whole)
    quiet = silent if design.quiet is not None else np.zeros_like(silent)
    result = empty_fits(records.shape[1], design.asked.rows.shape[0], design.names, design.covariances)
    _fill_flat(design, turned, flat, result)
    if quiet.any():
        _fill_quiet(design, records, quiet, at_zero, result)
    usual = np.flatnonzero(~flat & ~quiet)
    if usual.size:
        _fill_usual(design, turned, usual, at_zero, result)
        if at_zero == "error line" and design.weighted is not None and design.between:
            _fill_weighted(design, records, result)
    result.no_interval[silent & ~quiet] = True  # nothing is left over to judge these by
    return result


def _turn(design: ManyDesign, records: Floats) -> _Records:
    """Turn records into the residual space."""
    space = design.spectrum
    ordinary = space.columns.T @ records
    residuals = records - space.columns @ ordinary
    coordinates = (space.basis.T @ residuals).T
    whole = np.einsum("ij,ij->j", residuals, residuals)
    rest = np.maximum(whole - np.einsum("ij,ij->i", coordinates, coordinates), 0.0)
    level = records.mean(axis=0)
    about_mean = np.einsum("ij,ij->j", records, records) - records.shape[0] * level**2
    # Beside what counts as no scatter, the last digit of the levels themselves, which are not centred here.
    rounding = NO_SCATTER * np.maximum(about_mean, 0.0) + records.shape[0] * (1e-14 * level) ** 2
    return _Records(ordinary.T, residuals, coordinates, whole, rest, rounding)


def _fill_flat(design: ManyDesign, turned: _Records, flat: Floats, result: ManyFits) -> None:
    """Give records that do not scatter at all their estimates, and no interval."""
    result.estimates[flat] = turned.ordinary[flat] @ design.asked.rows.T
    result.standard_errors[flat] = result.plain_standard_errors[flat] = 0.0
    result.no_interval[flat] = True
    for values in (*result.variances.values(), result.residual_variance):
        values[flat] = 0.0
    if result.covariances is not None:
        result.covariances[flat] = 0.0


def _fill_quiet(design: ManyDesign, records: Floats, quiet: Floats, at_zero: AtZero, result: ManyFits) -> None:
    """Judge records without reading noise by their level means."""
    assert design.quiet is not None
    part = fit_chunk(design.quiet.design, design.quiet.of(records[:, quiet]), at_zero)
    _copy(part, result, np.flatnonzero(quiet))
    fine = design.terms[design.spectrum.finest]
    result.variances[fine][quiet] = part.residual_variance
    result.residual_variance[quiet] = 0.0
    result.restricted_log_likelihood[quiet] = np.nan


def _copy(part: ManyFits, result: ManyFits, rows: Floats) -> None:
    """Put a part's answers in their places."""
    for name in ("estimates", "standard_errors", "plain_standard_errors", "degrees_of_freedom"):
        getattr(result, name)[rows] = getattr(part, name)
    result.no_interval[rows], result.error_line_rule[rows] = part.no_interval, part.error_line_rule
    for name, values in part.variances.items():
        result.variances[name][rows] = values
    if result.covariances is not None:
        result.covariances[rows] = part.covariances


def _fill_weighted(design: ManyDesign, records: Floats, result: ManyFits) -> None:
    """Judge swaps at zero inside a coarser term above zero by the weighted swap means (M7)."""
    assert design.weighted is not None
    coarser = design.terms[1]
    rows = np.flatnonzero(result.error_line_rule & (result.variances[coarser] > 0))
    if not rows.size:
        return
    part = fit_chunk(design.weighted.design, design.weighted.of(records[:, rows]), "keep")
    result.standard_errors[rows] = part.standard_errors
    result.degrees_of_freedom[rows] = part.degrees_of_freedom
    result.no_interval[rows] = part.no_interval
    if result.covariances is not None:
        result.covariances[rows] = part.covariances


def _fill_usual(design: ManyDesign, turned: _Records, rows: Floats, at_zero: AtZero, result: ManyFits) -> None:
    """Search and infer for records that scatter within and between."""
    form, pool = form_of(design.spectrum, design.low_rank, turned.coordinates[rows], turned.rest[rows])
    gamma, slopes = maximise_many(form, design.unit)
    free, m = form.free, design.asked.rows.shape[0]
    sigma2 = slopes.quadratic / free
    keep = gamma > 0 if at_zero == "drop" else np.ones(gamma.shape, dtype=bool)
    spread = spread_of(slopes, keep, free)
    pieces = _pieces(design, form, pool, gamma, spread, turned.coordinates[rows])
    covariance = sigma2[:, None] * (pieces.phi + 2.0 * pieces.bias)
    result.plain_standard_errors[rows] = np.sqrt(np.maximum(sigma2[:, None] * pieces.phi[:, :m], 0.0))
    df = degrees_of_freedom(pieces.phi[:, :m], pieces.slopes, spread)
    condition = condition_of(slopes, gamma, keep, free)
    ruled = np.zeros(rows.size, dtype=bool)
    if at_zero == "error line" and design.error_line and gamma.shape[1]:
        mean_square, own_df = _error_line(design, form, gamma, slopes, turned, rows)
        ruled = (gamma[:, 0] == 0) & (own_df > 0)
        covariance[ruled] = mean_square[ruled, None] * pieces.phi[ruled]
        df[ruled], condition[ruled] = own_df[ruled, None], 1.0
    result.estimates[rows] = turned.ordinary[rows] @ design.asked.rows.T - pieces.shift
    result.standard_errors[rows] = np.sqrt(np.maximum(covariance[:, :m], 0.0))
    result.degrees_of_freedom[rows] = df
    result.error_line_rule[rows] = ruled
    result.no_interval[rows] = (condition > CONDITION_LIMIT)[:, None] | ~(df >= 1.0)
    result.restricted_log_likelihood[rows] = -0.5 * (
        free * (np.log(2.0 * np.pi) + 1.0 - np.log(free)) + slopes.deviance
    )
    _fill_variances(design, gamma, sigma2, rows, result)
    _fill_covariances(design, covariance, rows, result)


def _fill_variances(design: ManyDesign, gamma: Floats, sigma2: Floats, rows: Floats, result: ManyFits) -> None:
    """Give the spreads their names."""
    for i, name in enumerate(design.terms):
        result.variances[name][rows] = gamma[:, i] * sigma2
    result.residual_variance[rows] = sigma2
    if design.one_number:
        result.variances[design.one_number][rows] = sigma2
        result.residual_variance[rows] = np.nan


def _fill_covariances(design: ManyDesign, covariance: Floats, rows: Floats, result: ManyFits) -> None:
    """Put pairs in their places of the covariance matrices."""
    if result.covariances is None:
        return
    for pair, (i, j) in enumerate(zip(design.asked.first, design.asked.second, strict=True)):
        result.covariances[rows, i, j] = result.covariances[rows, j, i] = covariance[:, pair]


def _pieces(
    design: ManyDesign, form: Form, pool: Floats, gamma: Floats, spread: Floats, coordinates: Floats
) -> Pieces:
    """Form variances, derivatives and bias by the form's own algebra."""
    if isinstance(form, DiagonalForm):
        return diagonal_pieces(design.asked, form.weights, pool, gamma, spread, coordinates)
    return low_rank_pieces(design.asked, form, gamma, spread)


def _error_line(
    design: ManyDesign, form: Form, gamma: Floats, slopes: Slopes, turned: _Records, rows: Floats
) -> tuple[Floats, Floats]:
    """Return the first term's own mean square and its degrees of freedom for each record (M7, see `error_line`)."""
    space = design.spectrum
    if design.between:
        df = space.counts.size - space.fixed.rank
        sums = level_sums(design.codes, turned.residuals[:, rows], space.counts.size)
        square = (1.0 / space.counts) @ sums**2
    else:
        bare = gamma.copy()
        bare[:, 0] = 0.0
        square, df = _extra(design, form, bare, turned.coordinates[rows])
    own = np.full(rows.size, float(df))
    if not design.between and df > 0:
        own = np.minimum(own, slopes.traces[:, 0] ** 2 / slopes.squares[:, 0, 0])
    return square / max(df, 1), own


def _extra(design: ManyDesign, form: Form, bare: Floats, coordinates: Floats) -> tuple[Floats, int]:
    """Return the extra sum of squares of the first term's levels, in the metric of the other term."""
    space = design.spectrum
    weights = space.weights
    if isinstance(form, DiagonalForm):
        touched = weights[0] > 0
        variance = 1.0 + bare @ weights[:, touched]
        return (coordinates[:, touched] ** 2 / variance).sum(axis=1), int(touched.sum())
    shared = form.design
    if shared.fine == 0:
        return dot(form.coordinates, form.solve(form.core(bare), form.coordinates)), shared.values.size
    return form.between_square(bare[:, shared.fine]), shared.rank
