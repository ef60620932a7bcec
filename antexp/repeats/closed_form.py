"""Chances of a planned day in closed form (method section 7)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import optimize, special

from antexp.mixed.chance import chance_of_noticing, detectable_gap
from antexp.repeats.joint_chance import chance_of_all, chi_scale
from antexp.repeats.planned_family import Family, planned_family
from antexp.repeats.planned_gaps import PlannedGaps

Floats = NDArray[np.float64]

_GAP_COLUMNS = ["candidate", "against", "scope", "standard_error_db", "degrees_of_freedom", "resolution_db",
                "detectable_db", "chance", "chance_settled_if_equal"]


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
        Of `no gap that matters` when the gap is 0 (best: of two equal candidates ahead of all others); the smallest
        over the gaps.
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

    Notes
    -----
    chance = 1 − F_nct(c·r; ν, M/se) with se the true standard error, r the ratio of the reported to the true one
    (1 where the model holds) and c the family's critical value. With ``best`` every candidate is held against each
    other by the value of all pairs, and the worst of these pairs decides.
    """
    if not planned:
        return _nothing(matter_db)
    family = planned_family(planned, compare, confidence)
    matter = np.nan if matter_db is None else matter_db
    noticed = np.full(len(family.pairs), np.nan) if matter_db is None else _noticed(family, matter)
    settled = settled_if_equal(matter, family, 1 if compare == "best" and len(family.pairs) > 2 else 2)
    detectable = np.array([_detectable(family, gap, chance) for gap in range(len(family.pairs))])
    half = np.mean(family.critical * family.reported, axis=0)
    one, other = zip(*family.pairs, strict=True)
    errors, freedom = np.sqrt(np.mean(family.reported**2, axis=0)), np.median(family.df, axis=0)
    values = (one, other, family.scopes, errors, freedom, half, detectable, noticed, settled)
    gaps = pd.DataFrame(dict(zip(_GAP_COLUMNS, values, strict=True)))
    together = np.nan
    if joint and matter_db is not None:
        together = chance_of_all(planned, family, compare, matter, int(np.argmin(noticed)))
    return Chances(gaps, float(np.max(half)), float(np.max(detectable)), float(np.min(noticed)), together,
                   float(np.min(settled)))


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
    as χ²; one-sided (``best`` of three or more, where another as good bounds it from above) the lower limit alone
    must lie above −M. Mean over equal slices of s.
    """
    chances = np.full(len(family.pairs), np.nan)
    if np.isnan(matter_db):
        return chances
    for gap, (true, df) in enumerate(zip(family.true, family.scatter_df, strict=True)):
        scatter = family.reported[:, gap][:, None] * _scales(float(df))
        real, half = family.critical[:, gap][:, None] * scatter, family.lower_critical[:, gap][:, None] * scatter
        if sides == 1:
            inside = special.ndtr((matter_db - half) / true)
        else:
            inside = np.maximum(2.0 * special.ndtr(np.minimum(real, matter_db - half) / true) - 1.0, 0.0)
        chances[gap] = float(np.mean(np.nan_to_num(inside)))
    return chances


def _scales(df: float) -> Floats:
    """Return equally likely values of a report over its root mean square."""
    if not np.isfinite(df) or df < 1:
        return np.ones(1)
    return chi_scale((np.arange(400.0) + 0.5) / 400.0, df)


def _nothing(matter_db: float | None) -> Chances:
    """Return the chances of a day that cannot be judged."""
    none = np.nan if matter_db is None else 0.0
    return Chances(pd.DataFrame(columns=_GAP_COLUMNS), np.nan, np.nan, none, none, none)
