"""Where a measured gap comes from: mismatch, metal, height and sag, and what none of them explains."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.radio.constants import Constant
from antexp.radio.mismatch import (
    REFLECTION_UNCERTAINTY,
    mismatch_loss_db,
    mismatch_loss_from_swr_db,
    mismatch_loss_uncertainty_db,
    power_reflection,
    reflection_from_swr,
    unknown_phase_uncertainty_db,
)

Floats = NDArray[np.float64]

COVERAGE_FACTOR = Constant("gap budget: standard uncertainties beyond which a rest is too large", 2.0, 2.0, 2.0, "",
                           "JCGM 100:2008 (GUM) 6.2, about 95 %", "standard")

BUDGET_CONSTANTS = (COVERAGE_FACTOR,)
"""What this module takes from outside."""

SHARES = ("mismatch", "conductor", "height and sag", "unexplained")
"""The parts of a measured gap, in the order in which they are stacked."""


@dataclass(frozen=True)
class MatchLoss:
    """Mismatch loss of some antennas, each array of shape (n,).

    Attributes
    ----------
    loss_db : ndarray, dB
        NaN where neither impedance nor standing-wave ratio is known.
    u_db : ndarray, dB
        Its standard uncertainty.
    """

    loss_db: Floats
    u_db: Floats


@dataclass(frozen=True)
class GapBudget:
    """Several measured gaps taken apart; every array has shape (n_gaps,), in dB.

    A gap is positive when the first named is stronger; a share is what it adds to the gap, with the same sign. A
    share that is not known is NaN and stays within the unexplained part.

    Attributes
    ----------
    measured_db, measured_se_db : ndarray
        As used: what the record says.
    mismatch_db, mismatch_u_db : ndarray
        Share of mismatch and its standard uncertainty.
    conductor_db, conductor_u_db : ndarray
        Predicted share of the metal.
    height_db, height_u_db : ndarray
        Share of height and sag that go with the wire.
    unexplained_db, unexplained_u_db : ndarray
        The rest, and the combined standard uncertainty of everything known.
    matched_db, matched_se_db : ndarray
        The gap of the wires alone, mismatch taken out; its standard error carries that of the impedances.
    too_large : ndarray of bool
        Whether the rest exceeds its coverage factor times its uncertainty although the metal's share is known: look
        at crimps, height, trim and common-mode current before the metal.
    """

    measured_db: Floats
    measured_se_db: Floats
    mismatch_db: Floats
    mismatch_u_db: Floats
    conductor_db: Floats
    conductor_u_db: Floats
    height_db: Floats
    height_u_db: Floats
    unexplained_db: Floats
    unexplained_u_db: Floats
    matched_db: Floats
    matched_se_db: Floats
    too_large: NDArray[np.bool_]

    def shares(self) -> dict[str, tuple[Floats, Floats]]:
        """Return (share, standard uncertainty) by name, in the order of `SHARES`; they add up to the measured gap."""
        return dict(zip(SHARES, ((self.mismatch_db, self.mismatch_u_db), (self.conductor_db, self.conductor_u_db),
                                 (self.height_db, self.height_u_db),
                                 (self.unexplained_db, self.unexplained_u_db)), strict=True))


def match_loss(source_ohm: ArrayLike, feed_ohm: ArrayLike, swr: ArrayLike,
               u_reflection: ArrayLike = REFLECTION_UNCERTAINTY.value,
               source_reflection: ArrayLike = 0.0) -> MatchLoss:
    """Return the mismatch loss of antennas from what was measured of each.

    Parameters
    ----------
    source_ohm : array_like of complex, Ω
        Of the source, or of the receiver at the receiving end.
    feed_ohm : array_like of complex, shape (n,), Ω
        NaN where it was not measured; it is preferred to the standing-wave ratio.
    swr : array_like, shape (n,)
        Against the source's own impedance; NaN where it was not measured.
    u_reflection : array_like
        Standard uncertainty of the measured reflection coefficient.
    source_reflection : array_like
        Magnitude of the source's own reflection, where it is not what its impedance says: where only a
        standing-wave ratio is known the phase between the two is not, and the U-shaped uncertainty is added.
    """
    feed, ratio = np.broadcast_arrays(np.atleast_1d(np.asarray(feed_ohm, complex)), np.asarray(swr, float))
    by_feed = ~np.isnan(feed)
    safe_feed = np.where(by_feed, feed, 1.0)
    loss = np.where(by_feed, mismatch_loss_db(source_ohm, safe_feed), mismatch_loss_from_swr_db(ratio))
    reflection = np.where(by_feed, np.abs(power_reflection(source_ohm, safe_feed)), reflection_from_swr(ratio))
    u = mismatch_loss_uncertainty_db(reflection, u_reflection)
    phase = np.where(by_feed, 0.0, unknown_phase_uncertainty_db(source_reflection, reflection))
    return MatchLoss(loss, np.hypot(u, phase))


def mean_match_loss(losses: MatchLoss, group: NDArray[np.intp], groups: int, *, independent: bool) -> MatchLoss:
    """Return the mean mismatch loss of groups, such as the specimens or swaps of each candidate.

    Parameters
    ----------
    losses : MatchLoss, arrays of shape (n,)
        NaN is left out; a group of nothing but NaN is NaN.
    group : ndarray of int, shape (n,)
        To which group each belongs, 0 … groups − 1.
    groups : int
    independent : bool
        Whether each was measured anew (the uncertainty falls with the root of their number) or all come from one
        measurement (it stays).

    Returns
    -------
    MatchLoss
        Arrays of shape (groups,).
    """
    known = ~np.isnan(losses.loss_db)
    index = np.asarray(group)[known]
    count = np.bincount(index, minlength=groups).astype(float)
    count[count == 0] = np.nan
    mean = np.bincount(index, losses.loss_db[known], groups) / count
    variance = np.bincount(index, losses.u_db[known] ** 2, groups) / count
    return MatchLoss(mean, np.sqrt(variance / count if independent else variance))


def matched_gaps(gaps_db: ArrayLike, covariance_db2: ArrayLike, contrasts: ArrayLike,
                 losses: MatchLoss) -> tuple[Floats, Floats]:
    """Take the mismatch out of several gaps at once, keeping what they share.

    Parameters
    ----------
    gaps_db : array_like, shape (m,), dB
        As used.
    covariance_db2 : array_like, shape (m, m), dB²
        Their covariance.
    contrasts : array_like, shape (m, k)
        +1 and −1 of the candidates in each gap.
    losses : MatchLoss, arrays of shape (k,)
        Of each candidate, measured independently; NaN makes the gaps it stands in NaN.

    Returns
    -------
    matched_db : ndarray, shape (m,), dB
        gaps + C·L
    covariance_db2 : ndarray, shape (m, m), dB²
        covariance + C·diag(u²)·Cᵀ: gaps to one reference share the uncertainty of its impedance.
    """
    C = np.asarray(contrasts, float)
    unknown = (C[:, np.isnan(losses.loss_db)] != 0).any(axis=1)
    loss, variance = np.nan_to_num(losses.loss_db), np.nan_to_num(losses.u_db) ** 2
    matched = np.asarray(gaps_db, float) + C @ loss
    covariance = np.asarray(covariance_db2, float) + (C * variance) @ C.T
    matched[unknown] = np.nan
    covariance[unknown, :] = np.nan
    covariance[:, unknown] = np.nan
    return matched, covariance


def range_to_standard_uncertainty(low: ArrayLike, high: ArrayLike) -> Floats:
    """Return the standard uncertainty of a value that lies anywhere in a range, half of it over √3 (GUM 4.3.7)."""
    return (np.asarray(high, float) - np.asarray(low, float)) / np.sqrt(12.0)


def height_share_db(slope_db_per_m: ArrayLike, height_m: ArrayLike, other_height_m: ArrayLike) -> Floats:
    """Return the share of a gap that goes with a difference of height (of the middle of the current), in dB."""
    return np.asarray(slope_db_per_m, float) * (np.asarray(height_m, float) - np.asarray(other_height_m, float))


def gap_budget(measured_db: ArrayLike, measured_se_db: ArrayLike, *, mismatch_loss: MatchLoss,
               against_mismatch_loss: MatchLoss, conductor_gap_db: ArrayLike = np.nan,
               conductor_u_db: ArrayLike = np.nan, height_db: ArrayLike = np.nan, height_u_db: ArrayLike = np.nan,
               coverage_factor: ArrayLike = COVERAGE_FACTOR.value) -> GapBudget:
    """Take measured gaps apart.

    Parameters
    ----------
    measured_db, measured_se_db : array_like, shape (n,), dB
        Gaps as used, and their standard errors.
    mismatch_loss, against_mismatch_loss : MatchLoss, arrays of shape (n,)
        Of the first named and of what it is compared with. Taken as independent measurements.
    conductor_gap_db, conductor_u_db : array_like, shape (n,), dB
        Predicted share of the metal: the other's conductor loss minus this one's (`expect`'s gap), and its standard
        uncertainty (`range_to_standard_uncertainty`).
    height_db, height_u_db : array_like, shape (n,), dB
        Share of height and sag that go with the wire.
    coverage_factor : array_like, shape (n,)
        Standard uncertainties beyond which a rest is too large; with several gaps the critical value of all together
        keeps chance from pointing at a crimp. NaN: never too large.

    Notes
    -----
    measured = mismatch + conductor + height + unexplained, mismatch = L_against − L_first;
    matched = measured − mismatch. Variances add (GUM 5.1.2).
    """
    measured, se = np.atleast_1d(np.asarray(measured_db, float)), np.atleast_1d(np.asarray(measured_se_db, float))
    mismatch = against_mismatch_loss.loss_db - mismatch_loss.loss_db
    mismatch_u = np.hypot(against_mismatch_loss.u_db, mismatch_loss.u_db)
    conductor, conductor_u, height, height_u = (
        np.broadcast_to(np.asarray(part, float), measured.shape)
        for part in (conductor_gap_db, conductor_u_db, height_db, height_u_db))
    known = [np.where(np.isnan(part), 0.0, part) for part in (mismatch, conductor, height)]
    known_u = [np.where(np.isnan(part), 0.0, part) for part in (mismatch_u, conductor_u, height_u)]
    unexplained = measured - sum(known)
    unexplained_u = np.sqrt(se**2 + sum(part**2 for part in known_u))
    with np.errstate(invalid="ignore"):
        too_large = (np.abs(unexplained) > np.asarray(coverage_factor, float) * unexplained_u) & ~np.isnan(conductor)
    return GapBudget(measured, se, mismatch, mismatch_u, conductor, conductor_u, height, height_u, unexplained,
                     unexplained_u, measured - mismatch, np.hypot(se, mismatch_u), too_large)
