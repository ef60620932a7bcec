"""Chances of a planned day in closed form (method section 7)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg, optimize, special

from antexp.mixed.chance import chance_of_noticing, detectable_gap
from antexp.mixed.multivariate_t import critical_values_many
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
    noticed = np.full(len(family.pairs), np.nan) if matter_db is None else _noticed(family, matter)
    settled = settled_if_equal(matter, family, 1 if compare == "best" else 2)
    detectable = np.array([_detectable(family, gap, chance) for gap in range(len(family.pairs))])
    half = np.mean(family.critical * family.reported, axis=0)
    gaps = pd.DataFrame({
        "candidate": [pair[0] for pair in family.pairs], "against": [pair[1] for pair in family.pairs],
        "scope": family.scopes, "standard_error_db": np.sqrt(np.mean(family.reported**2, axis=0)),
        "degrees_of_freedom": np.median(family.df, axis=0), "resolution_db": half, "detectable_db": detectable,
        "chance": noticed, "chance_settled_if_equal": settled,
    })
    together = np.nan
    if joint and matter_db is not None:
        together = _all_noticed(planned, family, compare, matter, int(np.argmin(noticed)))
    return Chances(gaps, float(np.max(half)), float(np.max(detectable)), float(np.min(noticed)), together,
                   float(np.min(settled)))


@dataclass(frozen=True)
class Family:
    """The asked gaps side by side, over K equally likely reports.

    Attributes
    ----------
    pairs : list of (str, str), length m
    scopes : list of str, length m
    true : ndarray, shape (m,), dB
        Standard errors of the estimates.
    reported : ndarray, shape (K, m), dB
        Standard errors as reported, root mean square where `scatter_df` is finite.
    df : ndarray, shape (K, m)
        As reported.
    scatter_df : ndarray, shape (m,)
        With which a report scatters about `reported`; infinite where the K reports are the scatter.
    critical : ndarray, shape (K, m)
        NaN without an interval.
    """

    pairs: list[tuple[str, str]]
    scopes: list[str]
    true: Floats
    reported: Floats
    df: Floats
    scatter_df: Floats
    critical: Floats


def _noticed(family: Family, matter_db: float | Floats) -> Floats:
    """Return the chance of noticing each gap."""
    usable = np.isfinite(family.critical)
    ratio = np.where(usable, family.critical * family.reported / family.true, 0.0)
    chance = chance_of_noticing(matter_db, family.true, family.scatter_df, ratio)
    return np.asarray(np.where(usable, chance, 0.0).mean(axis=0))


def _detectable(family: Family, gap: int, chance: float) -> float:
    """Return the true gap that is noticed with the wanted chance; NaN where some report has no interval."""
    critical, reported = family.critical[:, gap], family.reported[:, gap]
    true, df = float(family.true[gap]), float(family.scatter_df[gap])
    if len(critical) == 1:
        return detectable_gap(true, df, float(critical[0] * reported[0]) / true, chance)
    if not np.isfinite(critical).all():
        return float("nan")
    ratio = critical * reported / true

    def shortfall(shift: float) -> float:
        return float(np.mean(chance_of_noticing(shift, 1.0, df, ratio))) - chance

    upper = float(ratio.max()) + 8.0
    return float(optimize.brentq(shortfall, 0.0, upper, xtol=1e-8)) * true if shortfall(0.0) < 0 else 0.0


def settled_if_equal(matter_db: float, family: Family, sides: int = 2) -> Floats:
    """Return the chance of ``no gap that matters`` for a gap of 0.

    Notes
    -----
    The interval holds 0 and lies inside ±M: |estimate| < min(h, M − h) with h = c·s the half width, s² scattering
    as χ²; one-sided (``best``) the lower limit alone must lie above −M. Mean over equal slices of s.
    """
    chances = np.full(len(family.pairs), np.nan)
    if np.isnan(matter_db):
        return chances
    for gap, (true, df) in enumerate(zip(family.true, family.scatter_df, strict=True)):
        half = (family.critical[:, gap] * family.reported[:, gap])[:, None] * _scales(float(df))
        if sides == 1:
            inside = special.ndtr((matter_db - half) / true)
        else:
            inside = np.maximum(2.0 * special.ndtr(np.minimum(half, matter_db - half) / true) - 1.0, 0.0)
        chances[gap] = float(np.mean(np.nan_to_num(inside)))
    return chances


def _scales(df: float) -> Floats:
    """Return equally likely values of a report over its root mean square."""
    if not np.isfinite(df) or df < 1:
        return np.ones(1)
    return chi_scale((np.arange(400.0) + 0.5) / 400.0, df)


def _family(planned: Sequence[PlannedGaps], confidence: float) -> Family:
    """Put the scopes together as one family; between fits the correlation is set to zero (Royen 2014)."""
    correlation = linalg.block_diag(*(_correlation(part.reported_covariance_db2) for part in planned))
    reports = max(1 if part.nodes is None else len(part.nodes.standard_error_db) for part in planned)
    reported = np.hstack([_reported(part, reports) for part in planned])
    df = np.hstack([_df(part, reports) for part in planned])
    critical = np.full(df.shape, np.nan)
    usable = (np.isfinite(reported) & (reported > 0) & (df >= 1)).all(axis=1)
    if usable.any():
        critical[usable] = critical_values_many(correlation, df[usable], confidence)
    return Family([pair for part in planned for pair in part.pairs],
                  [part.scope for part in planned for _ in part.pairs],
                  np.concatenate([np.sqrt(np.diag(part.true_covariance_db2)) for part in planned]), reported, df,
                  np.concatenate([_scatter(part) for part in planned]), critical)


def _reported(part: PlannedGaps, reports: int) -> Floats:
    """Return the standard errors of the reports."""
    if part.nodes is not None:
        return part.nodes.standard_error_db
    return np.tile(np.sqrt(np.diag(part.reported_covariance_db2)), (reports, 1))


def _df(part: PlannedGaps, reports: int) -> Floats:
    """Return the degrees of freedom of the reports."""
    return part.nodes.degrees_of_freedom if part.nodes is not None else np.tile(part.degrees_of_freedom, (reports, 1))


def _scatter(part: PlannedGaps) -> Floats:
    """Return the degrees of freedom of a report's scatter; none where the reports themselves are it."""
    return part.scatter_df if part.nodes is None else np.full(len(part.pairs), np.inf)


def _best_family(planned: Sequence[PlannedGaps], confidence: float) -> Family:
    """List every candidate against every other, with the one-sided Dunnett value of the first named."""
    part = planned[0]
    names = list(dict.fromkeys(name for pair in part.pairs for name in pair))
    where = {pair: i for i, pair in enumerate(part.pairs)}
    reports = 1 if part.nodes is None else len(part.nodes.standard_error_db)
    errors, df = _reported(part, reports), _df(part, reports)
    pairs: list[tuple[str, str]] = []
    rows: list[int] = []
    critical: list[Floats] = []
    for control in names:
        own = [(control, name) for name in names if name != control]
        place = [where[pair] if pair in where else where[pair[::-1]] for pair in own]
        signs = np.array([1.0 if pair in where else -1.0 for pair in own])
        covariance = part.reported_covariance_db2[np.ix_(place, place)] * np.outer(signs, signs)
        freedom = df[:, place]
        value = np.full(freedom.shape, np.nan)
        usable = (freedom >= 1).all(axis=1)
        if usable.any():
            value[usable] = critical_values_many(_correlation(covariance), freedom[usable], confidence, sides=1)
        pairs, rows = [*pairs, *own], [*rows, *place]
        critical.append(value)
    true = np.sqrt(np.diag(part.true_covariance_db2))
    return Family(pairs, [part.scope] * len(pairs), true[rows], errors[:, rows], df[:, rows], _scatter(part)[rows],
                  np.hstack(critical))


def _all_noticed(
    planned: Sequence[PlannedGaps], family: Family, compare: str, matter_db: float, worst: int
) -> float:
    """Return the chance of noticing all gaps together, over evenly spread estimates and scatters."""
    if not np.isfinite(family.critical).all():
        return 0.0
    pairs = [pair for part in planned for pair in part.pairs]
    size, best = len(pairs), family.pairs[worst][1]
    draws = even_points(_JOINT_POINTS, size + len(planned) + 1)
    truth = _truth(pairs, compare, matter_db, best)
    error = linalg.block_diag(*(_root(part.true_covariance_db2) for part in planned))
    estimate = truth + special.ndtri(draws[:, :size]) @ error.T
    scale = np.hstack([_chi_scales(draws[:, size + i], _scatter(part)) for i, part in enumerate(planned)])
    half = family.critical * family.reported
    if compare == "best":
        half = half[:, [family.pairs.index(pair[::-1] if pair[0] == best else pair) for pair in pairs]]
    half = scale * half[(draws[:, -1] * len(half)).astype(np.intp)]
    counts = truth != 0.0  # best: gaps among the others do not count
    return float(np.mean(np.all((estimate * np.sign(truth) > half)[:, counts], axis=1)))


def _chi_scales(draws: Floats, df: Floats) -> Floats:
    """Return χ/√df for each draw and gap, shape (draws, m); equal df are looked up once."""
    values, place = np.unique(df, return_inverse=True)
    table = np.column_stack([chi_scale(draws, value) for value in values])
    return np.asarray(table[:, place.reshape(-1)])


def chi_scale(share: Floats, df: Floats | float) -> Floats:
    """Return the quantiles of χ/√df: of a reported error over its root mean square."""
    if np.ndim(df) == 0 and not np.isfinite(df):
        return np.ones_like(share)
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
