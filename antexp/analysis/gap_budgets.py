"""Take the gaps of a record apart, and judge them once more with the mismatch taken out."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.analysis.budget_result import MATCHED_COLUMNS, GapBudgets
from antexp.analysis.comparisons import Estimates, family_limits
from antexp.analysis.gap_shares import conductor_shares, height_shares
from antexp.analysis.gap_table import gap_rows
from antexp.analysis.match_losses import CandidateMatch, candidate_match
from antexp.analysis.settings import Settings
from antexp.field.bench_book import BenchBook
from antexp.plan.model import Plan
from antexp.radio.gap_budget import MatchLoss, gap_budget, matched_gaps


def gap_budgets(table: pd.DataFrame, gaps: pd.DataFrame, family: Estimates, settings: Settings, plan: Plan | None,
                bench: BenchBook | None) -> GapBudgets | None:
    """Take the gaps apart: mismatch, metal, height and sag, and what none of them explains.

    Parameters
    ----------
    table : DataFrame
        The record's readings.
    gaps : DataFrame
        The judged gaps, for scope and verdict as used.
    family : Estimates
        The asked gaps as used with their covariance; with ``best`` those to the reference.
    settings : Settings
        Confidence, chance and the gap that matters.
    plan : Plan or None
        The physics, the source impedance and the end of the swaps.
    bench : BenchBook or None
        Matches measured at the bench.

    Returns
    -------
    GapBudgets or None
        None when nothing is known of any gap.

    Notes
    -----
    measured = mismatch + metal + height and sag + unexplained (`antexp.radio.gap_budget.gap_budget`). A rest is too
    large beyond the critical value of all gaps together, so that a record of many honest wires does not send anybody
    looking for crimps.
    """
    family = _in_order_of(gaps, family)
    names = tuple(dict.fromkeys(name for pair in family.pairs for name in pair))
    match = candidate_match(names, table, plan, bench)
    metal, height = conductor_shares(plan, family.pairs), height_shares(plan, table, family.pairs)
    first, other = (_of(match, [pair[side] for pair in family.pairs]) for side in (0, 1))
    known = ~np.isnan(first.loss_db - other.loss_db)
    if not (known.any() or np.isfinite(metal.db).any() or np.isfinite(height.db).any()):
        return None
    critical = family_limits(family, settings.confidence, settings.chance).critical
    budget = gap_budget(family.gap_db, family.standard_error_db, mismatch_loss=first, against_mismatch_loss=other,
                        conductor_gap_db=metal.db, conductor_u_db=metal.u_db, height_db=height.db,
                        height_u_db=height.u_db, coverage_factor=critical)
    measured = {name: i for i, name in enumerate(names) if match.rests_on[i]}
    return GapBudgets(
        pairs=family.pairs,
        budget=budget,
        conductor_low_db=metal.low_db,
        conductor_high_db=metal.high_db,
        matched=_matched(family, known, match, gaps, settings, int(table["block"].nunique())),
        mismatch_loss_db={name: float(match.losses.loss_db[i]) for name, i in measured.items()},
        mismatch_u_db={name: float(match.losses.u_db[i]) for name, i in measured.items()},
        mismatch_from={name: match.rests_on[i] for name, i in measured.items()},
        swap_end=plan.radio.swap_end if plan is not None else "source",
        source_impedance_ohm=match.source_ohm,
    )


def _of(match: CandidateMatch, names: list[str]) -> MatchLoss:
    """Return the losses of the named candidates."""
    index = [match.candidates.index(name) for name in names]
    return MatchLoss(match.losses.loss_db[index], match.losses.u_db[index])


def _matched(family: Estimates, known: NDArray[np.bool_], match: CandidateMatch, gaps: pd.DataFrame,
             settings: Settings, blocks: int) -> pd.DataFrame:
    """Judge the gaps whose mismatch is known, with it taken out.

    The others stay in the family as they are, so that a verdict changes by mismatch and not by a smaller family.
    """
    if not known.any():
        return pd.DataFrame(columns=list(MATCHED_COLUMNS))
    ends = [[(name == one) - (name == other) for name in match.candidates] for one, other in family.pairs]
    contrasts = np.array(ends, dtype=float) * known[:, None]
    losses = MatchLoss(np.nan_to_num(match.losses.loss_db), np.nan_to_num(match.losses.u_db))
    gap_db, covariance = matched_gaps(family.gap_db, family.covariance_db2, contrasts, losses)
    with np.errstate(invalid="ignore", divide="ignore"):
        # Welch-Satterthwaite (GUM G.4.1): the measured mismatch adds variance whose degrees of freedom are infinite
        df = family.degrees_of_freedom * (np.diag(covariance) / np.diag(family.covariance_db2)) ** 2
    estimates = Estimates(family.pairs, gap_db, covariance, df)
    limits = family_limits(estimates, settings.confidence, settings.chance)
    scopes, verdicts = _as_used(gaps, family)
    rows = gap_rows(estimates, limits, scopes, settings, blocks, counts=True)
    rows = rows.assign(as_used_gap_db=family.gap_db, as_used_verdict=pd.Series(verdicts, dtype=object))
    return rows.loc[known, list(MATCHED_COLUMNS)].reset_index(drop=True)


def _as_used(gaps: pd.DataFrame, family: Estimates) -> tuple[list[str], list[str | None]]:
    """Return scope and verdict as used of each gap; no verdict where each was held against the best of the others."""
    counting = gaps[gaps["counts"].astype(bool)]
    pairs = list(zip(counting["candidate"], counting["against"], strict=True))
    scope = dict(zip(pairs, map(str, counting["scope"]), strict=True))
    verdict = dict(zip(pairs, map(str, counting["verdict"]), strict=True))
    shared = str(counting["scope"].iloc[0])
    return [scope.get(pair, shared) for pair in family.pairs], [verdict.get(pair) for pair in family.pairs]


def _in_order_of(gaps: pd.DataFrame, family: Estimates) -> Estimates:
    """Sort the family as the judged gaps stand; pairs that do not occur there stay as they are, at the end."""
    place = {pair: i for i, pair in enumerate(dict.fromkeys(zip(gaps["candidate"], gaps["against"], strict=True)))}
    order = sorted(range(len(family.pairs)), key=lambda i: (place.get(family.pairs[i], len(place)), i))
    return Estimates(tuple(family.pairs[i] for i in order), family.gap_db[order],
                     family.covariance_db2[np.ix_(order, order)], family.degrees_of_freedom[order])
