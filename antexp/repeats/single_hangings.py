"""A table of single hangings against chance: how far equal wires would spread, and which gaps could be real."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import optimize, stats

from antexp.errors import Fault
from antexp.json_text import JsonText
from antexp.radio.mismatch import mismatch_loss_from_swr_db
from antexp.repeats.single_hanging import Scatter, assumed_spreads, checked_scatter, checked_share, refuse
from antexp.repeats.single_hangings_file import Hanging

# Re-hanging scatters to hold the table against: from a rigid mast on a still day to a wire thrown over a branch.
SCATTERS_DB = (0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.0)


@dataclass(frozen=True, eq=False)
class TableAgainstChance(JsonText):
    """A table of single hangings, judged.

    Attributes
    ----------
    table : DataFrame
        One row a hanging: ``name, level_db, half_range_db, swr, mismatch_loss_db, own_level_db`` (the level with its
        mismatch loss given back), ``rank`` by own level.
    scatter : Scatter
        Taken as known.
    confidence : float
        Of all gaps together.
    spread_db : float, dB
        Largest own level less smallest.
    spread_of_equal_db : float, dB
        What equal wires would spread in the median.
    spread_limit_db : float, dB
        What equal wires stay below with the stated confidence.
    p_value : float
        Chance that equal wires spread as far as this table.
    noise_above_rehang_sd_db : float, dB
        The re-hanging scatter from which on the spread of the whole table is not told from chance.
    pairs : DataFrame
        One row a pair, the larger first: ``candidate, against, gap_db, resolution_db, p_adjusted, real,
        real_below_rehang_sd_db`` (the re-hanging scatter up to which this gap would be called real).
    by_scatter : DataFrame
        One row a re-hanging scatter: ``rehang_sd_db, resolution_db, spread_of_equal_db, spread_limit_db, p_value,
        pairs_real``.
    assumptions : tuple of str
        Spreads that were not given, as sentences that begin "I assume".
    """

    table: pd.DataFrame
    scatter: Scatter
    confidence: float
    spread_db: float
    spread_of_equal_db: float
    spread_limit_db: float
    p_value: float
    noise_above_rehang_sd_db: float
    pairs: pd.DataFrame
    by_scatter: pd.DataFrame
    assumptions: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as the JSON document holds it."""
        return {
            "hangings": len(self.table),
            "rehang_sd_db": self.scatter.rehang_sd_db,
            "reading_sd_db": self.scatter.reading_sd_db,
            "readings": self.scatter.readings,
            "confidence": self.confidence,
            "spread_db": self.spread_db,
            "spread_of_equal_db": self.spread_of_equal_db,
            "spread_limit_db": self.spread_limit_db,
            "p_value": self.p_value,
            "noise_above_rehang_sd_db": self.noise_above_rehang_sd_db,
            "table": self.table.to_dict(orient="records"),
            "pairs": self.pairs.to_dict(orient="records"),
            "by_scatter": self.by_scatter.to_dict(orient="records"),
            "assumptions": self.assumptions,
        }


def against_chance(
    hangings: Sequence[Hanging],
    *,
    rehang_sd_db: float | None = None,
    reading_sd_db: float | None = None,
    readings: int = 1,
    step_db: float | None = None,
    confidence: float = 0.95,
) -> TableAgainstChance:
    """Hold a table of single hangings against what equal wires would show.

    Parameters
    ----------
    hangings : sequence of Hanging
        At least two.
    rehang_sd_db, reading_sd_db : float, optional, dB
        Known or guessed spreads; left out: the defaults of a plan.
    readings : int
        Readings of each hanging.
    step_db : float, optional, dB
        Step of the display.
    confidence : float
        Of all gaps together.

    Returns
    -------
    TableAgainstChance

    Raises
    ------
    RepeatsError
        When a value is impossible or there is nothing to compare.

    Notes
    -----
    All pairs together: the studentised range with infinite degrees of freedom, spreads taken as known. A level known
    only to lie in a range of half width h adds h²/3 to its variance; with unequal variances the limits are those of
    Tukey and Kramer, which hold at least the stated confidence (Hayter 1984).

    References
    ----------
    Tukey (1953), The problem of multiple comparisons; Hayter (1984), Ann. Stat. 12:61.
    """
    scatter, faults = checked_scatter(rehang_sd_db, reading_sd_db, readings, step_db)
    faults += checked_share("confidence", confidence)
    if len(hangings) < 2:
        faults.append(Fault("the table has too few rows", got=str(len(hangings)), allowed="2 or more",
                            do="One wire alone cannot be compared."))
    refuse(faults)
    table = _table(hangings)
    level = table["own_level_db"].to_numpy()
    extra = table["half_range_db"].to_numpy() ** 2 / 3.0
    most_db = _edge(level, extra, scatter, confidence)
    return TableAgainstChance(
        table=table, scatter=scatter, confidence=confidence, spread_db=float(np.ptp(level)),
        **_spread(level, extra, scatter, confidence), noise_above_rehang_sd_db=most_db,
        pairs=_pairs(table, extra, scatter, confidence), by_scatter=_by_scatter(level, extra, scatter, confidence),
        assumptions=assumed_spreads(rehang_sd_db, reading_sd_db),
    )


def _table(hangings: Sequence[Hanging]) -> pd.DataFrame:
    """Put the hangings in a table and give the mismatch losses back."""
    swr = np.array([math.nan if hanging.swr is None else hanging.swr for hanging in hangings])
    loss = np.where(np.isnan(swr), np.nan, mismatch_loss_from_swr_db(np.where(np.isnan(swr), 1.0, swr)))
    level = np.array([hanging.level_db for hanging in hangings])
    own = level + np.where(np.isnan(loss), 0.0, loss)
    return pd.DataFrame({
        "name": [hanging.name for hanging in hangings],
        "level_db": level,
        "half_range_db": [hanging.half_range_db for hanging in hangings],
        "swr": swr,
        "mismatch_loss_db": loss,
        "own_level_db": own,
        "rank": stats.rankdata(-own, method="min").astype(int),
    })


def _root_mean(extra: NDArray[np.float64], scatter: Scatter) -> NDArray[np.float64]:
    """Return the scatter that a pair's gap is held against, √((sᵢ² + sⱼ²)/2), shape (k, k)."""
    variance = scatter.sd_db**2 + extra
    return np.sqrt((variance[:, None] + variance[None, :]) / 2.0)


def _largest(level: NDArray[np.float64], extra: NDArray[np.float64], scatter: Scatter) -> float:
    """Return the largest gap in units of its scatter: the studentised range where all scatter alike."""
    return float(np.max(np.abs(level[:, None] - level[None, :]) / _root_mean(extra, scatter)))


def _spread(
    level: NDArray[np.float64], extra: NDArray[np.float64], scatter: Scatter, confidence: float
) -> dict[str, float]:
    """Return what equal wires would spread, and the chance that they spread as far as these."""
    k = len(level)
    typical = math.sqrt(scatter.sd_db**2 + float(np.mean(extra)))
    return {
        "spread_of_equal_db": float(stats.studentized_range.ppf(0.5, k, np.inf)) * typical,
        "spread_limit_db": float(stats.studentized_range.ppf(confidence, k, np.inf)) * typical,
        "p_value": float(stats.studentized_range.sf(_largest(level, extra, scatter), k, np.inf)),
    }


def _edge(level: NDArray[np.float64], extra: NDArray[np.float64], scatter: Scatter, confidence: float) -> float:
    """Return the re-hanging scatter at which the table's spread is just what chance allows; 0 where it always is."""
    point = float(stats.studentized_range.ppf(confidence, len(level), np.inf))

    def excess(rehang_sd_db: float) -> float:
        return _largest(level, extra, scatter.with_rehang(rehang_sd_db)) - point

    lowest = 0.0 if scatter.reading_variance_db2 + float(extra.min()) > 0 else 1e-9
    if excess(lowest) <= 0:
        return 0.0
    return float(optimize.brentq(excess, lowest, float(np.ptp(level)) + 1.0, xtol=1e-9))


def _pairs(table: pd.DataFrame, extra: NDArray[np.float64], scatter: Scatter, confidence: float) -> pd.DataFrame:
    """Judge every pair, the stronger named first, the largest gap on top."""
    level = table["own_level_db"].to_numpy()
    k = len(level)
    point = float(stats.studentized_range.ppf(confidence, k, np.inf))
    one, other = np.triu_indices(k, 1)
    swap = level[one] < level[other]
    one, other = np.where(swap, other, one), np.where(swap, one, other)
    gap = level[one] - level[other]
    root_mean = _root_mean(extra, scatter)[one, other]
    # real as long as rehang² + readings² + (h₁² + h₂²)/6 < (gap/point)²
    room = (gap / point) ** 2 - scatter.reading_variance_db2 - (extra[one] + extra[other]) / 2.0
    names = table["name"].to_numpy()
    return pd.DataFrame({
        "candidate": names[one],
        "against": names[other],
        "gap_db": gap,
        "resolution_db": point * root_mean,
        "p_adjusted": stats.studentized_range.sf(gap / root_mean, k, np.inf),
        "real": gap > point * root_mean,
        "real_below_rehang_sd_db": np.sqrt(np.maximum(room, 0.0)),
    }).sort_values("gap_db", ascending=False, kind="stable").reset_index(drop=True)


def _by_scatter(
    level: NDArray[np.float64], extra: NDArray[np.float64], scatter: Scatter, confidence: float
) -> pd.DataFrame:
    """Hold the table against one re-hanging scatter after another."""
    point = float(stats.studentized_range.ppf(confidence, len(level), np.inf))
    one, other = np.triu_indices(len(level), 1)
    gap = np.abs(level[one] - level[other])
    rows = []
    for rehang_sd_db in sorted({*SCATTERS_DB, scatter.rehang_sd_db} - {0.0}):
        at = scatter.with_rehang(rehang_sd_db)
        limits = point * _root_mean(extra, at)[one, other]
        rows.append({"rehang_sd_db": rehang_sd_db, "resolution_db": float(limits.max()),
                     **_spread(level, extra, at, confidence), "pairs_real": int(np.sum(gap > limits))})
    return pd.DataFrame(rows)
