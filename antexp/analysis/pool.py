"""Several judged days or sites put together, from their results files alone (method section 11)."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from antexp.analysis.pool_checks import level_and_matter
from antexp.analysis.pool_notices import pool_notices
from antexp.analysis.pooled_gaps import DayGap, Pair, gaps_of, pooled_gaps
from antexp.analysis.result import Judgement
from antexp.analysis.results_file import read_results
from antexp.errors import Fault, JudgementError
from antexp.json_text import JsonText, plain
from antexp.notices import Notice
from antexp.views import Viewable


@dataclass(frozen=True, eq=False)
class Pooled(JsonText, Viewable):
    """What several days say together.

    Attributes
    ----------
    reference : str
        The candidate the others are compared with.
    confidence : float
    matter_db : float or None, dB
    gaps : DataFrame
        One row a comparison; columns as `antexp.analysis.pooled_gaps.POOL_COLUMNS`.
    days : DataFrame
        One row a day and comparison: ``day, candidate, against, gap_db, standard_error_db, interval_db, verdict``.
    warnings : tuple of Notice
    provenance : list of dict
        Readings digest and title of each day.
    """

    reference: str
    confidence: float
    matter_db: float | None
    gaps: pd.DataFrame
    days: pd.DataFrame
    warnings: tuple[Notice, ...]
    provenance: list[dict[str, Any]]

    def to_dict(self) -> dict[str, Any]:
        """Return what ``antexp pool --json`` prints; what is not finite becomes None."""
        return plain({
            "reference": self.reference,
            "confidence": self.confidence,
            "matter_db": self.matter_db,
            "gaps": self.gaps.to_dict(orient="records"),
            "days": self.days.to_dict(orient="records"),
            "warnings": [notice.to_dict() for notice in self.warnings],
            "provenance": self.provenance,
        })


def pool(
    results: Sequence[str | os.PathLike[str] | Judgement],
    *,
    confidence: float | None = None,
    matter_db: float | None = None,
) -> Pooled:
    """Put judged days together.

    Parameters
    ----------
    results : sequence of path or Judgement
        Folders that ``judge -o`` wrote, results files, or judgements.
    confidence, matter_db : float, optional
        In place of the days' own, which must else agree.

    Returns
    -------
    Pooled

    Raises
    ------
    FileError, JudgementError
        Files that cannot be read; fewer than two days; the same record twice; days that ask different questions.
    """
    days = [each if isinstance(each, Judgement) else read_results(each) for each in results]
    names = _names(days, results)
    level, matter = level_and_matter(days, names, confidence, matter_db)
    own = [gaps_of(day) for day in days]
    counted = Counter(pair for day in own for pair, gap in day.items() if gap.tells)
    pairs = [pair for pair, count in counted.items() if count >= 2]
    if not pairs:
        raise JudgementError(Fault("no gap occurs in two of the days", ", ".join(names),
                                   do="Judge the days with the same reference and the same names of candidates."))
    gaps = pooled_gaps(pairs, own, level, matter)
    return Pooled(days[0].reference, level, matter, gaps, _days(own, names, set(pairs)),
                  tuple(pool_notices(days, gaps, counted, matter)), _provenance(days, names))


def _days(days: list[dict[Pair, DayGap]], names: list[str], pairs: set[Pair]) -> pd.DataFrame:
    """Return each day's own gaps, one row a day and comparison."""
    rows = [(name, *pair, gap.gap_db, gap.standard_error_db, gap.interval_db, gap.verdict)
            for day, name in zip(days, names, strict=True) for pair, gap in day.items() if pair in pairs]
    return pd.DataFrame(rows, columns=["day", "candidate", "against", "gap_db", "standard_error_db", "interval_db",
                                       "verdict"])


def _names(days: list[Judgement], results: Sequence[Any]) -> list[str]:
    """Name the days: by the folder they stand in, else by title; a name that comes twice is numbered."""
    names = []
    for day, given in zip(days, results, strict=True):
        name = day.title if isinstance(given, Judgement) else _folder(str(os.fspath(given)))
        names.append(name)
    counts = Counter(names)
    so_far: Counter[str] = Counter()
    for i, name in enumerate(names):
        so_far[name] += 1
        if counts[name] > 1:
            names[i] = f"{name} ({so_far[name]})"
    return names


def _folder(given: str) -> str:
    """Return the name of the folder of a results file, or of the folder itself."""
    path = os.path.normpath(given)
    last = os.path.basename(path)
    return os.path.basename(os.path.dirname(path)) or last if last.endswith(".json") else last


def _provenance(days: list[Judgement], names: list[str]) -> list[dict[str, Any]]:
    """Return where each day comes from."""
    return [
        {"day": name, "title": day.title, "readings_sha256": day.provenance.get("readings_sha256"),
         "antexp": day.provenance.get("antexp"), "readings": day.readings, "swaps": day.swaps, "blocks": day.blocks}
        for day, name in zip(days, names, strict=True)
    ]  # fmt: skip
