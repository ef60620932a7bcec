"""Records of a coarse meter, or of ranges: judged by the likelihood of intervals where the rule asks for it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import special

from antexp.analysis.comparisons import Estimates, Limits, family_limits
from antexp.analysis.record_model import RecordModel, record_model, swap_means
from antexp.analysis.result import Spread
from antexp.analysis.scopes import THESE, ScopedFit
from antexp.design.random_terms import group_numbers
from antexp.design.specimen_scopes import specimens_can_differ
from antexp.field.record import Record
from antexp.mixed.chance import detectable_gap
from antexp.mixed.correlation import correlation_of
from antexp.mixed.intervals import IntervalFit, fit_intervals
from antexp.mixed.multivariate_t import family_adjusted_p, family_critical_values
from antexp.notices import Notice

Floats = NDArray[np.float64]

# A plain level beside ranges, from a meter whose step nobody stated, is as good as exact.
_EXACT = 1e-2
# An error from curvature above a step and so many ordinary errors is that of a flat top.
_FLAT = 3.0


@dataclass(frozen=True)
class CoarseFit(ScopedFit):
    """The record fitted as ranges, beside the ordinary fit whose degrees of freedom it borrows.

    Attributes
    ----------
    scope, record, fit
        Of the ordinary fit for these specimens.
    ranges : RecordModel
        The readings one by one, as they were fitted.
    intervals : IntervalFit
        The kernel's answer.
    swaps_left : int
        Swaps less fixed terms, the most degrees of freedom a gap can have.
    """

    ranges: RecordModel
    intervals: IntervalFit
    swaps_left: int

    def estimates(self, pairs: list[tuple[str, str]]) -> Estimates:
        """Return the gaps of the pairs; their correlation is the ordinary one, their errors those of the ranges."""
        rows = self.ranges.model.gaps(pairs)
        ordinary = super().estimates(pairs)
        df = np.where(
            ordinary.degrees_of_freedom >= 1,
            np.minimum(ordinary.degrees_of_freedom, self.swaps_left),
            float(self.swaps_left),
        )
        error = np.sqrt([float(self.intervals.covariance(row, d)[0, 0]) for row, d in zip(rows, df, strict=True)])
        step = self.intervals.step_db
        for i in np.flatnonzero(~(error < np.maximum(step, _FLAT * ordinary.standard_error_db))):
            # where the likelihood has a flat top its curvature says nothing: half the width at two errors does
            lower, upper = self.intervals.limits(rows[i], 2.0, float(df[i]))
            error[i] = (upper - lower) / 4.0
        error = np.fmax(error, ordinary.standard_error_db)
        return Estimates(tuple(pairs), self.intervals.gaps(rows), _scaled(ordinary.covariance_db2, error), df)

    def family(self, pairs: list[tuple[str, str]], confidence: float, chance: float) -> tuple[Estimates, Limits]:
        """Return the gaps with likelihood-ratio limits that hold for all of them together.

        Parameters
        ----------
        pairs : list of (str, str)
        confidence, chance : float

        Returns
        -------
        estimates : Estimates
            Standard errors are half the width of the limits in critical values.
        limits : Limits
            They need not lie evenly about the estimate.

        Notes
        -----
        With few swaps to spare the likelihood of intervals alone gave limits that were too narrow (13 % of days
        missed with a line in each block of four), and plain numbers are too narrow where the step hides everything.
        The limits therefore reach as far as the wider of the two on each side, so that they miss no more often than
        either; the p-values are the larger of the two, which keeps them in step with the limits.
        """
        first = self.estimates(pairs)
        df = first.degrees_of_freedom
        correlation = correlation_of(first.covariance_db2)
        critical = family_critical_values(correlation, df, confidence, 2)
        rows = self.ranges.model.gaps(pairs)
        found = [self.intervals.limits(row, c, d) for row, c, d in zip(rows, critical, df, strict=True)]
        lower, upper = np.array(found).T
        t = np.array([self.intervals.t_ratio(row, 0.0, d) for row, d in zip(rows, df, strict=True)])
        plain = family_limits(super().estimates(pairs), confidence, chance)
        lower, upper = np.fmin(lower, plain.lower_db), np.fmax(upper, plain.upper_db)
        error = (upper - lower) / 2.0 / critical
        detectable = np.array([detectable_gap(*row, chance) for row in zip(error, df, critical, strict=True)])
        p_value = np.fmax(2.0 * special.stdtr(df, -np.abs(t)), plain.p_value)
        p_adjusted = np.fmax(family_adjusted_p(t, correlation, df, 2), plain.p_adjusted)
        limits = Limits(critical, lower, upper, p_value, p_adjusted, detectable)
        return replace(first, covariance_db2=_scaled(first.covariance_db2, error)), limits

    def spread(self) -> Spread:
        """Return the scatters; one that hides below the meter's step is not a number."""
        fit = self.intervals
        swap = None if "swap" in fit.at_floor else fit.swap_sd_db
        reading = None if "reading" in fit.at_floor or not self._repeated else fit.reading_sd_db
        return Spread(swap, reading)

    @property
    def _repeated(self) -> bool:
        """Tell whether some swap has several readings."""
        return bool(self.ranges.rows.duplicated(["swap", "receiver"]).any())


def with_levels(record: Record) -> Record:
    """Return the record with the middle of its range as the level of a reading that is only a range."""
    only_range = record.table["level_db"].isna()
    if not only_range.any():
        return record
    table = record.table.copy()
    table.loc[only_range, "level_db"] = table[["level_low_db", "level_high_db"]].mean(axis=1)[only_range]
    return replace(record, table=table)


def coarse_fit(record: Record, fitted: ScopedFit, drift: str) -> CoarseFit | None:
    """Fit the readings as ranges where the meter's step asks for it.

    Parameters
    ----------
    record : Record
        With the levels that `with_levels` gives.
    fitted : ScopedFit
        The ordinary fit for these specimens.
    drift : str
        Form of drift.

    Returns
    -------
    CoarseFit or None
        None where the ordinary analysis holds: no step is known, or the swaps scatter by half a step or more.

    Notes
    -----
    Method section 9. Rounding is part of the reading noise only when readings scatter over several steps; else it
    sticks to the swap. What is held against half a step is the residual scatter of swap means, so that a large gap or
    drift does not make a coarse meter look fine; it includes the rule's other half, MS_swap < q²/12.
    """
    table = record.table
    step = _usual_width_db(record)
    if step is None:
        return None
    scatter, left = _scatter_of_swap_means(fitted.record)
    if left < 1 or (record.level_form in ("level", "S units") and scatter >= step / 2):
        return None
    ranges = record_model(table, reference=fitted.record.model.candidates[0], drift=drift, average_receivers=False)
    rows = ranges.rows
    exact = 0.5 * _EXACT * step
    low = rows["level_low_db"].fillna(rows["level_db"] - exact).to_numpy(float)
    high = rows["level_high_db"].fillna(rows["level_db"] + exact).to_numpy(float)
    narrow = high - low < 2 * exact
    low, high = np.where(narrow, low - exact, low), np.where(narrow, high + exact, high)
    swap = group_numbers(rows, ["swap"])
    intervals = fit_intervals(low, high, ranges.model.X, swap)
    return CoarseFit(THESE, fitted.record, fitted.fit, ranges, intervals, left)


def _usual_width_db(record: Record) -> float | None:
    """Return the median width of the readings' ranges, which is the step where all are levels; None without any."""
    width = (record.table["level_high_db"] - record.table["level_low_db"]).to_numpy(float)
    return float(np.nanmedian(width)) if np.isfinite(width).any() else None


def coarse_notices(fitted: CoarseFit, drift: str, record: Record) -> list[Notice]:
    """Say that readings were taken as ranges, and what that means here."""
    fit = fitted.intervals
    width_db = _usual_width_db(record) or fit.step_db
    if "range" in record.level_form:
        text = (
            f"Readings known only to lie in a range ({width_db:g} dB wide as a rule) were taken as ranges (interval "
            "likelihood), not as numbers in their middle."
        )
    else:
        text = (
            f"The meter's step of {record.step_db or width_db:g} dB is coarse beside the scatter of the swaps: "
            "rounding sticks to a whole swap, and more readings do not average it away. Every reading was therefore "
            "taken as a range one step wide (interval likelihood), not as a number."
        )
    if "swap" in fit.at_floor or fit.swap_sd_db < width_db / 3:
        text += " The meter, not the wires or their hanging, limits what this record can tell: a finer step would help."
    if "swap" in fit.at_floor:
        text += " The scatter of re-hanging stayed below the step and is given as not known."
    if not fit.converged:
        text += " The search ended before it was sure of the best values; take the limits with caution."
    return [Notice("coarse-meter", text), *_simpler_notices(fitted, drift)]


def _simpler_notices(fitted: CoarseFit, drift: str) -> list[Notice]:
    """Say what readings as numbers would have been judged with, and what was done instead."""
    parts = []
    if drift == "wandering":
        parts.append("The drift was taken as a straight line in each block, not as a wandering path.")
    if fitted.ranges.rows["receiver"].nunique() > 1:
        parts.append(
            "What a swap does to one receiver and not to another was taken as scatter of readings; the limits are "
            "still never narrower than those of the plain numbers, which know it."
        )
    if specimens_can_differ(fitted.ranges.rows):
        parts.append(
            "The verdicts are about these specimens, although there are enough to speak of any: another one cut from "
            "the same reel may differ."
        )
    if not parts:
        return []
    return [Notice("ranges-know-less", f"Readings as ranges are judged by a simpler model. {' '.join(parts)}")]


def _scatter_of_swap_means(record: RecordModel) -> tuple[float, int]:
    """Return the residual scatter of swap means, dB, and the swaps that the fixed terms leave over."""
    codes = group_numbers(record.rows, ["swap"])
    X, y = swap_means(codes, record.model.X), swap_means(codes, record.level_db)
    beta, _, rank, _ = np.linalg.lstsq(X, y, rcond=1e-9)
    left = len(y) - int(rank)
    if left < 1:
        return 0.0, left
    return float(np.sqrt(((y - X @ beta) ** 2).sum() / left)), left


def _scaled(covariance: Floats, error: Floats) -> Floats:
    """Return a covariance with the same correlation and other standard errors; no correlation where there is none."""
    return np.asarray(correlation_of(covariance) * np.outer(error, error))
