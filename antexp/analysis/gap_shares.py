"""What physics says of each gap: the share of the metal, and that of height and sag."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.plan.expected_losses import expected_losses
from antexp.plan.height_slope import height_slope
from antexp.plan.model import Plan
from antexp.plan.range_facts import PULL_PERCENT, REHANG_HEIGHT_M, range_facts
from antexp.radio.gap_budget import height_share_db, range_to_standard_uncertainty

Floats = NDArray[np.float64]
Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Share:
    """A share of several gaps, arrays of shape (m,), dB; NaN where it is not known.

    Attributes
    ----------
    db : ndarray
        What it adds to each gap.
    u_db : ndarray
        Standard uncertainty.
    low_db, high_db : ndarray
        The range from which the uncertainty comes; NaN where it does not come from a range.
    """

    db: Floats
    u_db: Floats
    low_db: Floats
    high_db: Floats


def conductor_shares(plan: Plan | None, pairs: Pairs) -> Share:
    """Return the predicted share of the metal in each gap.

    Parameters
    ----------
    plan : Plan or None
    pairs : tuple of (str, str), length m

    Returns
    -------
    Share
        The range is that of every uncertain constant; the uncertainty is its half over √3 (GUM 4.3.7).
    """
    found = np.full((3, len(pairs)), np.nan)
    if plan is not None:
        for against in dict.fromkeys(pair[1] for pair in pairs):
            _add_gaps(found, plan, pairs, against)
    value, low, high = found
    return Share(value, range_to_standard_uncertainty(low, high), low, high)


def _add_gaps(found: Floats, plan: Plan, pairs: Pairs, against: str) -> None:
    """Fill in the gaps against one candidate, which stands in for the plan's reference."""
    expected = {each.name: each for each in expected_losses(plan.model_copy(update={"reference": against})).candidates}
    for i, (name, other) in enumerate(pairs):
        each = expected.get(name)
        if other == against and each is not None and each.gap_to_reference_range_db is not None:
            found[:, i] = (each.gap_to_reference_db, *each.gap_to_reference_range_db)


def height_shares(plan: Plan | None, table: pd.DataFrame, pairs: Pairs) -> Share:
    """Return the share of height and sag in each gap: what goes with the wire at every hanging.

    Parameters
    ----------
    plan : Plan or None
        Its range gives the slope of the level with height, its pull and masses the sag.
    table : DataFrame
        The record's readings; ``height_m`` (of the supports, or of a vertical's foot) where it was noted.
    pairs : tuple of (str, str), length m

    Returns
    -------
    Share
        Heights and sag added, each where it is known.

    Notes
    -----
    slope·(height − sag's loss of height), of the first named less the other. Variances of slope, height (within a
    hand's breadth) and pull add (GUM 5.1.2).
    """
    unknown = np.full(len(pairs), np.nan)
    slope = height_slope(plan) if plan is not None else None
    if plan is None or slope is None:
        return Share(unknown, unknown, unknown, unknown)
    low, value, high = slope
    u_slope = float(range_to_standard_uncertainty(low, high))
    heights = _differences(_heights(table), pairs)
    # what hangs through less stands higher; without a slope there is no telling by how much, nor any need
    by_sag = _differences(range_facts(plan).sag_gap_db or {}, pairs) / (value or np.nan)
    known = ~(np.isnan(heights) & np.isnan(by_sag))
    up = np.where(known, np.nan_to_num(heights) + np.nan_to_num(by_sag), np.nan)
    # each height lies anywhere within a hand's breadth, each pull within its range: half over √3 (GUM 4.3.7)
    u_height = np.where(np.isnan(heights), 0.0, np.sqrt(2.0 / 3.0) * REHANG_HEIGHT_M.value)
    u_sag = np.nan_to_num(np.abs(by_sag)) * PULL_PERCENT.value / 100 / np.sqrt(3.0)
    u = np.sqrt((up * u_slope) ** 2 + (value * u_height) ** 2 + (value * u_sag) ** 2)
    return Share(height_share_db(value, up, 0.0), u, unknown, unknown)


def _heights(table: pd.DataFrame) -> dict[str, float]:
    """Return each candidate's mean height over swaps, then specimens; only where every specimen's was noted."""
    if "height_m" not in table:
        return {}
    swaps = table.groupby(["candidate", "specimen", "swap"], sort=False)["height_m"].mean()
    specimens = swaps.groupby(level=["candidate", "specimen"], sort=False).mean()
    means = specimens.groupby(level="candidate", sort=False).agg(lambda each: each.mean(skipna=False))
    return {str(name): float(height) for name, height in means.items() if not np.isnan(height)}


def _differences(values: dict[str, float], pairs: Pairs) -> Floats:
    """Return the first named's value less the other's; NaN where either is not known."""
    return np.array([values.get(one, np.nan) - values.get(other, np.nan) for one, other in pairs], float)
