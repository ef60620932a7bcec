"""Chances of a planned day in closed form (method section 7)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg, special

from antexp.mixed.chance import chance_of_noticing, detectable_gap
from antexp.mixed.multivariate_t import critical_value, family_critical_values
from antexp.repeats.planned_gaps import PlannedGaps

Floats = NDArray[np.float64]

# Points of the sequence for chances of several gaps together: their error is about 0.001.
_JOINT_POINTS = 2**12


@dataclass(frozen=True)
class Chances:
    """What a planned day can tell.

    Attributes
    ----------
    gaps : DataFrame
        One row a gap: ``candidate, against, scope, standard_error_db, degrees_of_freedom, resolution_db,
        detectable_db, chance, chance_settled_if_equal``.
    resolution_db : float, dB
        The largest over the gaps; NaN where a gap gets no interval.
    detectable_db : float, dB
        The largest over the gaps.
    chance : float
        The smallest over the gaps; 0 where a gap gets no interval, NaN without a gap that matters.
    chance_all : float
        Of noticing all gaps, each at the gap that matters (each-other: candidates one gap apart in a row; best: the
        second named of the worst pair above all others).
    chance_settled_if_equal : float
        Of `no gap that matters` when the gap is 0; the smallest over the gaps.
    """

    gaps: pd.DataFrame
    resolution_db: float
    detectable_db: float
    chance: float
    chance_all: float
    chance_settled_if_equal: float


def closed_form(
    planned: Sequence[PlannedGaps], *, compare: str, matter_db: float | None, confidence: float, chance: float,
    joint: bool = True,
) -> Chances:
    """Work out the chances of a planned day.

    Parameters
    ----------
    planned : sequence of PlannedGaps
        One a scope.
    compare : {"reference", "each-other", "best"}
    matter_db : float or None, dB
        The smallest gap that matters.
    confidence : float
        For all comparisons together.
    chance : float
        Wanted chance, for the detectable gap.
    joint : bool
        False leaves `chance_all` NaN, where only the rest is wanted.

    Returns
    -------
    Chances

    Notes
    -----
    chance = 1 − F_nct(c·r; ν, M/se) with se the true standard error, r the ratio of the reported to the true one
    (1 where the model holds) and c the family's critical value. With ``best`` every candidate is held against each
    other by its one-sided Dunnett value, and the worst of these pairs decides.
    """
    if not planned:
        return _nothing(matter_db)
    family = _best_family(planned, confidence) if compare == "best" else _family(planned, confidence)
    matter = np.nan if matter_db is None else matter_db
    true, reported, df, critical = family.true, family.reported, family.scatter_df, family.critical
    usable = np.isfinite(critical)
    ratio = reported / true
    noticed = np.where(usable, chance_of_noticing(matter, true, df, critical * ratio), 0.0)
    noticed = np.full(len(true), np.nan) if matter_db is None else noticed
    settled = settled_if_equal(matter, true, reported, df, critical, 1 if compare == "best" else 2)
    detectable = np.array([detectable_gap(*row, chance) for row in zip(true, df, critical * ratio, strict=True)])
    gaps = pd.DataFrame({
        "candidate": [pair[0] for pair in family.pairs], "against": [pair[1] for pair in family.pairs],
        "scope": family.scopes, "standard_error_db": reported, "degrees_of_freedom": family.df,
        "resolution_db": critical * reported, "detectable_db": detectable, "chance": noticed,
        "chance_settled_if_equal": settled,
    })
    together = np.nan
    if joint and matter_db is not None:
        together = _all_noticed(planned, family, compare, matter, int(np.argmin(noticed)))
    return Chances(gaps, float(np.max(critical * reported)), float(np.max(detectable)), float(np.min(noticed)),
                   together, float(np.min(settled)))


def settled_if_equal(
    matter_db: float, true: Floats, reported: Floats, df: Floats, critical: Floats, sides: int = 2
) -> Floats:
    """Return the chance of ``no gap that matters`` for a gap of 0.

    Notes
    -----
    The interval holds 0 and lies inside ±M: |estimate| < min(h, M − h) with h = c·s the half width, s² scattering
    as χ²; one-sided (``best``) the lower limit alone must lie above −M. Mean over 400 equal slices of s.
    """
    slices: Floats = (np.arange(400.0) + 0.5) / 400.0
    degrees = [float(value) if np.isfinite(value) and value >= 1 else 1.0 for value in df]
    scales = np.stack([chi_scale(slices, value) for value in degrees])
    half = np.multiply(critical, reported)[:, None] * scales
    if sides == 1:
        inside = special.ndtr((matter_db - half) / true[:, None])
        return np.where(np.isfinite(critical), inside.mean(axis=1), 0.0) + 0.0 * matter_db
    room = np.minimum(half, matter_db - half) / true[:, None]
    inside = np.maximum(2.0 * special.ndtr(room) - 1.0, 0.0)
    return np.where(np.isfinite(critical), inside.mean(axis=1), 0.0) + 0.0 * matter_db


@dataclass(frozen=True)
class _Family:
    """The asked gaps side by side."""

    pairs: list[tuple[str, str]]
    scopes: list[str]
    true: Floats
    reported: Floats
    df: Floats
    scatter_df: Floats
    critical: Floats


def _family(planned: Sequence[PlannedGaps], confidence: float) -> _Family:
    """Put the scopes together as one family; between fits the correlation is set to zero (Royen 2014)."""
    reported = linalg.block_diag(*(part.reported_covariance_db2 for part in planned))
    true = np.concatenate([np.sqrt(np.diag(part.true_covariance_db2)) for part in planned])
    df = np.concatenate([part.degrees_of_freedom for part in planned])
    error = np.sqrt(np.diag(reported))
    critical = np.full(len(error), np.nan)
    kept = np.flatnonzero(np.isfinite(error) & (error > 0) & (df >= 1))
    if kept.size:
        critical[kept] = family_critical_values(_correlation(reported[np.ix_(kept, kept)]), df[kept], confidence)
    return _Family([pair for part in planned for pair in part.pairs],
                   [part.scope for part in planned for _ in part.pairs], true, error, df,
                   np.concatenate([part.scatter_df for part in planned]), critical)


def _best_family(planned: Sequence[PlannedGaps], confidence: float) -> _Family:
    """List every candidate against every other, with the one-sided Dunnett value of the first named."""
    part = planned[0]
    names = list(dict.fromkeys(name for pair in part.pairs for name in pair))
    k, df = len(names), float(np.min(part.degrees_of_freedom))
    scatter_df = float(np.min(part.scatter_df))
    where = {pair: i for i, pair in enumerate(part.pairs)}
    pairs, true, reported, critical = [], [], [], []
    for control in range(k):
        own = [(names[control], name) for name in names if name != names[control]]
        rows = [where[pair] if pair in where else where[pair[::-1]] for pair in own]
        signs = np.array([1.0 if pair in where else -1.0 for pair in own])
        covariance = part.reported_covariance_db2[np.ix_(rows, rows)] * np.outer(signs, signs)
        usable = np.isfinite(df) and df >= 1
        value = critical_value(_correlation(covariance), df, confidence, sides=1) if usable else np.nan
        pairs += own
        true.append(np.sqrt(np.diag(part.true_covariance_db2)[rows]))
        reported.append(np.sqrt(np.diag(covariance)))
        critical.append(np.full(k - 1, value))
    return _Family(pairs, [part.scope] * len(pairs), np.concatenate(true), np.concatenate(reported),
                   np.full(len(pairs), df), np.full(len(pairs), scatter_df), np.concatenate(critical))


def _all_noticed(
    planned: Sequence[PlannedGaps], family: _Family, compare: str, matter_db: float, worst: int
) -> float:
    """Return the chance of noticing all gaps together, over evenly spread estimates and scatters."""
    if not np.isfinite(family.critical).all():
        return 0.0
    size = sum(len(part.pairs) for part in planned)
    draws = even_points(_JOINT_POINTS, size + len(planned))
    best = family.pairs[worst][1]
    truth = _truth([pair for part in planned for pair in part.pairs], compare, matter_db, best)
    error = linalg.block_diag(*(_root(part.true_covariance_db2) for part in planned))
    estimate = truth + special.ndtri(draws[:, :size]) @ error.T
    scale = np.hstack([_chi_scales(draws[:, size + i], part.scatter_df) for i, part in enumerate(planned)])
    half = scale * (_best_half(planned[0], family, best) if compare == "best" else family.critical * family.reported)
    counts = truth != 0.0  # best: gaps among the others do not count
    return float(np.mean(np.all((estimate * np.sign(truth) > half)[:, counts], axis=1)))


def _chi_scales(draws: Floats, df: Floats) -> Floats:
    """Return χ/√df for each draw and gap, shape (draws, m); equal df are looked up once."""
    values, place = np.unique(df, return_inverse=True)
    table = np.column_stack([chi_scale(draws, value) for value in values])
    return np.asarray(table[:, place.reshape(-1)])


def chi_scale(share: Floats, df: Floats | float) -> Floats:
    """Return the quantiles of χ/√df: of a reported error over its root mean square."""
    return np.asarray(np.sqrt(2.0 * special.gammaincinv(np.asarray(df) / 2.0, share) / df))


def even_points(points: int, dimensions: int) -> Floats:
    """Spread points evenly over the unit cube: multiples of square roots of primes, modulo 1.

    Returns
    -------
    ndarray, shape (points, dimensions)
        Inside (0, 1).

    References
    ----------
    Richtmyer (1951), Los Alamos report LA-1342; Niederreiter (1978), Bull. Am. Math. Soc. 84:957.
    """
    primes = np.array([n for n in range(2, 20 * dimensions + 20) if all(n % d for d in range(2, int(n**0.5) + 1))])
    steps = np.sqrt(primes[:dimensions])
    return np.asarray(np.clip((0.5 + np.outer(np.arange(1, points + 1), steps)) % 1.0, 1e-12, 1.0 - 1e-12))


def _best_half(part: PlannedGaps, family: _Family, best: str) -> Floats:
    """Return the half width with which each gap to the best shows that the other is not."""
    half = {pair: c * e for pair, c, e in zip(family.pairs, family.critical, family.reported, strict=True)}
    return np.array([half[pair[::-1] if pair[0] == best else pair] for pair in part.pairs])


def _truth(pairs: Sequence[tuple[str, str]], compare: str, matter_db: float, best: str) -> Floats:
    """Return the true gaps of the chance of noticing all.

    Against the reference each is at the gap that matters; each-other: the candidates lie one gap apart in a row;
    best: one lies one gap above all others, which are equal.
    """
    if compare == "reference":
        return np.full(len(pairs), matter_db)
    if compare == "best":
        return np.array([matter_db * ((a == best) - float(b == best)) for a, b in pairs])
    names = list(dict.fromkeys(name for pair in pairs for name in pair))
    return matter_db * np.array([names.index(a) - names.index(b) for a, b in pairs], float)


def _root(covariance: Floats) -> Floats:
    """Return a square root of a covariance that may be singular."""
    values, vectors = np.linalg.eigh(covariance)
    return vectors * np.sqrt(np.maximum(values, 0.0))


def _correlation(covariance: Floats) -> Floats:
    """Return the correlation of a covariance, exactly symmetric with a unit diagonal."""
    scale = np.sqrt(np.diag(covariance))
    correlation = np.clip(covariance / np.outer(scale, scale), -1.0, 1.0)
    correlation = (correlation + correlation.T) / 2.0
    np.fill_diagonal(correlation, 1.0)
    return correlation


def _nothing(matter_db: float | None) -> Chances:
    """Return the chances of a day that cannot be judged."""
    columns = ["candidate", "against", "scope", "standard_error_db", "degrees_of_freedom", "resolution_db",
               "detectable_db", "chance", "chance_settled_if_equal"]
    none = np.nan if matter_db is None else 0.0
    return Chances(pd.DataFrame(columns=columns), np.nan, np.nan, none, none, none)
