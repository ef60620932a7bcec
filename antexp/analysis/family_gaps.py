"""The asked gaps of a record, with limits that hold for all of them together."""

from __future__ import annotations

import numpy as np
import pandas as pd

from antexp.analysis.best import BestComparison
from antexp.analysis.comparisons import Estimates, asked_pairs, family_limits, joined
from antexp.analysis.gap_table import gap_rows
from antexp.analysis.record_fits import RecordFits
from antexp.analysis.scopes import ANY, THESE
from antexp.analysis.settings import Settings


def family_gaps(fits: RecordFits, settings: Settings, best: BestComparison) -> tuple[pd.DataFrame, Estimates]:
    """Judge the asked gaps.

    Parameters
    ----------
    fits : RecordFits
    settings : Settings
    best : BestComparison
        The comparison with the best, which has a table of its own.

    Returns
    -------
    gaps : DataFrame
        One row a comparison and scope; columns as `antexp.analysis.result.GAP_COLUMNS`.
    estimates : Estimates
        Of the rows that count.
    """
    blocks = int(fits.table["block"].nunique())
    pairs = asked_pairs(fits.candidates, settings.compare)
    if fits.coarse is not None and settings.compare != "best":
        family, limits = fits.coarse.family(pairs, settings.confidence, settings.chance)
        return gap_rows(family, limits, [THESE] * len(pairs), settings, blocks, counts=True), family
    wide, narrow = fits.by_scope(pairs)
    parts = [fits.specimens.estimates(wide)] if fits.specimens is not None and wide else []
    parts += [fits.these_or_coarse.estimates(narrow)] if narrow else []
    family = joined(parts)
    if settings.compare == "best":
        return best.table(settings, blocks), family
    limits = family_limits(family, settings.confidence, settings.chance)
    scopes = [ANY] * len(wide) + [THESE] * len(narrow)
    tables = [gap_rows(family, limits, scopes, settings, blocks, counts=True)]
    if wide:
        beside = fits.these.estimates(wide)
        beside_limits = family_limits(beside, settings.confidence, settings.chance)
        tables.append(gap_rows(beside, beside_limits, [THESE] * len(wide), settings, blocks, counts=False))
    return _in_order(pd.concat(tables, ignore_index=True), pairs), family


def _in_order(rows: pd.DataFrame, pairs: list[tuple[str, str]]) -> pd.DataFrame:
    """Sort the rows as the comparisons were asked, the row that counts before the one beside it."""
    place = {pair: i for i, pair in enumerate(pairs)}
    keys = np.array([place[pair] for pair in zip(rows["candidate"], rows["against"], strict=True)])
    order = np.lexsort((~rows["counts"].to_numpy(bool), keys))
    return rows.iloc[order].reset_index(drop=True)
