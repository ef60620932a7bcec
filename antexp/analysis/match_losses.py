"""What each candidate of a record loses to mismatch: from the readings, else the bench book, else the plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.random_terms import group_numbers
from antexp.field.bench_book import BenchBook
from antexp.plan.model import Plan
from antexp.radio.gap_budget import MatchLoss, match_loss, mean_match_loss

READINGS, BENCH, PLAN = "readings", "bench book", "plan"

COMMON_SOURCE_OHM = 50.0
"""What an antenna is taken to be connected to where no plan says it (common practice)."""


@dataclass(frozen=True)
class CandidateMatch:
    """Mismatch of the candidates of a record.

    Attributes
    ----------
    candidates : tuple of str, length k
    losses : MatchLoss, arrays of shape (k,)
        Mean over the specimens that hung; NaN where one of them was not measured.
    rests_on : tuple of str, length k
        Where it was measured: ``readings``, ``bench book``, ``plan``, several of them joined by commas, or empty.
    source_ohm : float, Ω
        What the antennas are connected to.
    """

    candidates: tuple[str, ...]
    losses: MatchLoss
    rests_on: tuple[str, ...]
    source_ohm: float


def candidate_match(candidates: tuple[str, ...], table: pd.DataFrame, plan: Plan | None,
                    bench: BenchBook | None) -> CandidateMatch:
    """Work out the mismatch loss of each candidate.

    Parameters
    ----------
    candidates : tuple of str, length k
    table : DataFrame
        The record's readings; its columns ``swr`` and ``feed_ohm`` are used where they are there.
    plan : Plan or None
        Its source impedance (else 50 Ω), and its candidates' own ``swr`` or ``feed_ohm``.
    bench : BenchBook or None
        The last match measured of each specimen.

    Notes
    -----
    The readings give a loss for each swap, of which each specimen takes the mean: what varies from swap to swap stays
    in the re-hanging scatter, by which the gaps are judged. One instrument measured all of it, so its uncertainty
    does not average out over swaps or specimens.
    """
    source = plan.radio.source_impedance_ohm if plan is not None else COMMON_SOURCE_OHM
    specimens = table.drop_duplicates(["candidate", "specimen"])[["candidate", "specimen"]].reset_index(drop=True)
    loss, u = np.full(len(specimens), np.nan), np.full(len(specimens), np.nan)
    rests = np.full(len(specimens), "", dtype=object)
    for name, found in ((READINGS, _from_readings(table, specimens, source)),
                        (BENCH, _from_rows(None if bench is None else bench.last_match(), specimens, source)),
                        (PLAN, _from_rows(_plan_rows(plan, specimens), specimens, source))):
        fill = np.isnan(loss) & ~np.isnan(found.loss_db)
        loss[fill], u[fill], rests[fill] = found.loss_db[fill], found.u_db[fill], name
    of = np.array([candidates.index(name) for name in specimens["candidate"]], dtype=np.intp)
    mean = mean_match_loss(MatchLoss(loss, u), of, len(candidates), independent=False)
    partly = np.isin(np.arange(len(candidates)), of[np.isnan(loss)])
    mean.loss_db[partly], mean.u_db[partly] = np.nan, np.nan
    names = tuple("" if partly[i] else ", ".join(dict.fromkeys(rests[of == i])) for i in range(len(candidates)))
    return CandidateMatch(candidates, mean, names, source)


def _from_readings(table: pd.DataFrame, specimens: pd.DataFrame, source_ohm: float) -> MatchLoss:
    """Return the mean over its swaps for each specimen; NaN where none was measured."""
    if "swr" not in table and "feed_ohm" not in table:
        return _unknown(len(specimens))
    each = match_loss(source_ohm, _column(table, "feed_ohm", complex), _column(table, "swr", float))
    swaps = group_numbers(table, ["swap"])
    one = mean_match_loss(each, swaps, int(swaps.max()) + 1, independent=False)
    first = table.drop_duplicates("swap")
    return mean_match_loss(one, _specimen_codes(first, specimens), len(specimens), independent=False)


def _from_rows(rows: pd.DataFrame | None, specimens: pd.DataFrame, source_ohm: float) -> MatchLoss:
    """Return what rows of ``candidate, specimen, swr, feed_ohm`` say of each specimen; one row each at most."""
    if rows is None or rows.empty:
        return _unknown(len(specimens))
    each = match_loss(source_ohm, rows["feed_ohm"].to_numpy(complex), rows["swr"].to_numpy(float))
    codes = _specimen_codes(rows, specimens)
    hung = codes >= 0
    return mean_match_loss(MatchLoss(each.loss_db[hung], each.u_db[hung]), codes[hung], len(specimens),
                           independent=False)


def _plan_rows(plan: Plan | None, specimens: pd.DataFrame) -> pd.DataFrame | None:
    """Return the plan's word for every specimen of its candidates."""
    if plan is None:
        return None
    known = {each.name: each for each in plan.candidates}
    feed = [known[name].feed_ohm if name in known else None for name in specimens["candidate"]]
    swr = [known[name].swr if name in known else None for name in specimens["candidate"]]
    return specimens.assign(feed_ohm=np.array([np.nan if z is None else z for z in feed], complex),
                            swr=np.array(swr, float))


def _specimen_codes(rows: pd.DataFrame, specimens: pd.DataFrame) -> NDArray[np.intp]:
    """Return which of the specimens each row is about; −1 for one that did not hang."""
    known = pd.MultiIndex.from_frame(specimens.astype(str))
    return np.asarray(known.get_indexer(pd.MultiIndex.from_frame(rows[["candidate", "specimen"]].astype(str))))


def _column(table: pd.DataFrame, name: str, kind: type) -> NDArray[np.generic]:
    """Return a column, NaN where the record does not have it."""
    return table[name].to_numpy(kind) if name in table else np.full(len(table), np.nan, kind)


def _unknown(size: int) -> MatchLoss:
    """Return the mismatch of what nobody measured."""
    return MatchLoss(np.full(size, np.nan), np.full(size, np.nan))
