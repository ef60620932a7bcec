"""A record in which every reading is the same: the meter saw nothing, and nothing can be told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from antexp.analysis.comparisons import asked_pairs
from antexp.analysis.gap_table import gaps_frame
from antexp.analysis.record_model import record_model
from antexp.analysis.result import GAP_COLUMNS, Day, DriftSeen, Judgement, Spread
from antexp.analysis.scopes import THESE
from antexp.analysis.settings import Settings
from antexp.errors import Fault, JudgementError
from antexp.field.record import Record
from antexp.mixed.correlation import correlation_of
from antexp.mixed.flat_limits import flat_limit
from antexp.mixed.multivariate_t import family_critical_values
from antexp.mixed.verdict import CANNOT_TELL
from antexp.notices import Notice


def is_flat(table: pd.DataFrame) -> bool:
    """Tell whether all readings are the same number, or the same range."""
    ends = ["level_low_db", "level_high_db"]
    return bool(table["level_db"].nunique() == 1 and (table[ends].nunique() <= 1).all())


def flat_judgement(
    record: Record, settings: Settings, reference: str, provenance: dict[str, Any], notices: tuple[Notice, ...]
) -> Judgement:
    """Return the judgement of a record whose readings are all the same.

    Parameters
    ----------
    record : Record
        The readings.
    settings : Settings
        What was asked.
    reference : str
        The candidate the others are compared with.
    provenance : dict
        Versions and digests.
    notices : tuple of Notice
        Warnings found so far.

    Returns
    -------
    Judgement
        Every gap ``cannot tell``: no estimate, and limits of at least ± the step, wider where few swaps hold them
        (`antexp.mixed.flat_limits`); never a gap of 0.00 ± 0.00.

    Raises
    ------
    JudgementError
        When no step of the meter is known: then identical levels are a question back to the user.
    """
    table = record.table
    step_db = max((step for step in (record.step_db, _width(table)) if step is not None), default=None)
    if step_db is None:
        raise JudgementError(
            Fault(
                "all levels are identical, and no step of the meter is declared",
                str(record.path or "readings"),
                f"{len(table)} times {table['level_db'].iloc[0]:g}",
                do="What is the meter's step? Declare it in the plan (meter.step_db) and pass --plan; if the meter "
                "was stuck, the record says nothing.",
            )
        )
    names = tuple(dict.fromkeys([reference, *table["candidate"].astype(str)]))
    text = (
        "Every reading shows the same number. The wires, the path and the re-hanging all stayed below the meter's "
        f"step of {step_db:g} dB, so this record cannot tell them apart: your meter, not your wires, was the limit."
    )
    pairs = tuple(asked_pairs(names, settings.compare))
    return Judgement(
        title=Path(record.path).name if record.path else "Readings",
        reference=reference,
        compare=settings.compare,
        confidence=settings.confidence,
        chance=settings.chance,
        matter_db=settings.matter_db,
        readings=len(table),
        swaps=int(table["swap"].nunique()),
        blocks=int(table["block"].nunique()),
        candidates=names,
        gaps=_rows(pairs, _limits(table, reference, settings, pairs, step_db)),
        gaps_covariance_db2=np.full((len(pairs), len(pairs)), np.nan),
        gaps_covariance_of=pairs,
        could_be_best=names,
        spread=Spread(None, None),
        drift=DriftSeen(settings.drift, {}),
        restricted_log_likelihood=float("nan"),
        warnings=(*notices, *record.notices, Notice("all-readings-equal", text)),
        provenance=provenance,
        day=_day(table),
    )


def _width(table: pd.DataFrame) -> float | None:
    """Return the width of the range that all readings share, where they are ranges."""
    # pandas before 3 warns of a median of nothing
    width = float((table["level_high_db"] - table["level_low_db"]).dropna().median())
    return width if np.isfinite(width) and width > 0 else None


def _limits(
    table: pd.DataFrame, reference: str, settings: Settings, pairs: tuple[tuple[str, str], ...], step_db: float
) -> list[float]:
    """Return half the width of each gap's limits, dB; NaN where too few swaps are left over."""
    swaps = table.drop_duplicates("swap")
    model = record_model(swaps.assign(receiver="1"), reference=reference, drift=settings.drift).model
    information = np.linalg.pinv(model.X.T @ model.X)
    left = len(swaps) - int(np.linalg.matrix_rank(model.X))
    if left < 1:
        return [float("nan")] * len(pairs)
    L = model.gaps(list(pairs))
    df = np.full(len(pairs), float(left))
    critical = family_critical_values(correlation_of(L @ information @ L.T), df, settings.confidence, 2)
    counts = pd.crosstab(swaps["block"], swaps["candidate"])
    return [
        step_db * flat_limit(own := counts[list(pair)].to_numpy(float), len(swaps) - int(own.sum()), float(c), left)
        for pair, c in zip(pairs, critical, strict=True)
    ]


def _rows(pairs: tuple[tuple[str, str], ...], half_db: list[float]) -> pd.DataFrame:
    """Return one row a comparison with no estimate and no verdict but ``cannot tell``."""
    rows = [
        {
            **dict.fromkeys(GAP_COLUMNS, float("nan")),
            "candidate": candidate,
            "against": against,
            "interval_db": [-half, half],
            "resolution_db": half,
            "scope": THESE,
            "verdict": CANNOT_TELL,
            "counts": True,
            "more_blocks": None,
        }
        for (candidate, against), half in zip(pairs, half_db, strict=True)
    ]
    return gaps_frame(rows)


def _day(table: pd.DataFrame) -> Day:
    """Lay the record out without a fitted path."""
    readings = table[["swap", "block", "candidate", "receiver", "minutes", "level_db"]].copy()
    readings["hours"] = readings["minutes"] / 60.0
    swaps = table.groupby(["swap", "block", "candidate", "specimen", "place"], sort=False)
    means = swaps.agg(minutes=("minutes", "mean"), readings=("level_db", "size"), level_db=("level_db", "mean"))
    means = means.reset_index()
    means = means.assign(hours=means["minutes"] / 60.0, path_db=means["level_db"])
    return Day(means, readings, means.iloc[:0][["block", "hours", "path_db"]])
