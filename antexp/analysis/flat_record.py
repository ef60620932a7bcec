"""A record in which every reading is the same: the meter saw nothing, and nothing can be told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from antexp.analysis.comparisons import asked_pairs
from antexp.analysis.result import GAP_COLUMNS, Day, DriftSeen, Judgement, Spread
from antexp.analysis.scopes import THESE
from antexp.analysis.settings import Settings
from antexp.errors import Fault, JudgementError
from antexp.field.record import Record
from antexp.mixed.verdict import CANNOT_TELL
from antexp.notices import Notice


def is_flat(table: pd.DataFrame) -> bool:
    """Tell whether all readings are the same number."""
    return bool(table["level_db"].nunique() == 1)


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
        Every gap ``cannot tell`` with no limits: never a gap of 0.00 ± 0.00.

    Raises
    ------
    JudgementError
        When no step of the meter is known: then identical levels are a question back to the user.
    """
    table = record.table
    if record.step_db is None:
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
        f"Every reading shows the same number. The wires, the path and the re-hanging all stayed below the meter's step "
        f"of {record.step_db:g} dB, so this record cannot tell them apart."
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
        gaps=_rows(pairs),
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


def _rows(pairs: tuple[tuple[str, str], ...]) -> pd.DataFrame:
    """Return one row a comparison with no estimate, no limits and no verdict but ``cannot tell``."""
    unknown = float("nan")
    rows = [
        {
            **dict.fromkeys(GAP_COLUMNS, unknown),
            "candidate": candidate,
            "against": against,
            "interval_db": [unknown, unknown],
            "scope": THESE,
            "verdict": CANNOT_TELL,
            "counts": True,
            "more_blocks": None,
        }
        for candidate, against in pairs
    ]
    return pd.DataFrame(rows, columns=list(GAP_COLUMNS)).astype({"more_blocks": object, "verdict": object})


def _day(table: pd.DataFrame) -> Day:
    """Lay the record out without a fitted path."""
    readings = table[["swap", "block", "candidate", "receiver", "minutes", "level_db"]].copy()
    readings["hours"] = readings["minutes"] / 60.0
    swaps = table.groupby(["swap", "block", "candidate", "specimen", "place"], sort=False)
    means = swaps.agg(minutes=("minutes", "mean"), readings=("level_db", "size"), level_db=("level_db", "mean"))
    means = means.reset_index().assign(hours=lambda frame: frame["minutes"] / 60.0, path_db=lambda frame: frame["level_db"])
    return Day(means, readings, means.iloc[:0][["block", "hours", "path_db"]])
