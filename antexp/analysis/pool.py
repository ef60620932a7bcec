"""Several judged days or sites put together, from their results files alone (method section 11)."""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

from antexp.analysis.result import Judgement, plain_json
from antexp.analysis.results_file import read_results
from antexp.errors import Fault, JudgementError
from antexp.mixed.between_sites import Together, put_together
from antexp.mixed.multivariate_t import family_adjusted_p, family_critical_values
from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS, classify
from antexp.notices import Notice

Pair = tuple[str, str]

POOL_COLUMNS: dict[str, str] = {
    "candidate": "the candidate the gap is about",
    "against": "what it is compared with",
    "gap_db": "gap over all days; positive = the first named is stronger",
    "standard_error_db": "Hartung-Knapp standard error, never below the fixed-effect one",
    "degrees_of_freedom": "days less one; of two days the smallest of their own",
    "interval_db": "[lower, upper], valid for all comparisons together",
    "p_value": "of this comparison alone",
    "p_adjusted": "for the family",
    "resolution_db": "half the width of the interval",
    "between_sd_db": "standard deviation of the gap between days, beyond their own errors (Paule-Mandel)",
    "heterogeneity_p": "how often chance alone makes the days differ so much (Q against chi-squared)",
    "days": "how many days tell of this gap",
    "verdict": "what may be said",
}


@dataclass(frozen=True, eq=False)
class Pooled:
    """What several days say together.

    Attributes
    ----------
    reference : str
        The candidate the others are compared with.
    confidence : float
    matter_db : float or None, dB
    gaps : DataFrame
        One row a comparison; columns as `POOL_COLUMNS`.
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
        return plain_json({
            "reference": self.reference,
            "confidence": self.confidence,
            "matter_db": self.matter_db,
            "gaps": self.gaps.to_dict(orient="records"),
            "days": self.days.to_dict(orient="records"),
            "warnings": [notice.to_dict() for notice in self.warnings],
            "provenance": self.provenance,
        })

    def to_json(self) -> str:
        """Return the document's text."""
        return json.dumps(self.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


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
    level, matter = _check(days, names, confidence, matter_db)
    told = [_told(day) for day in days]
    counted = Counter(pair for each in told for pair in each)
    pairs = [pair for pair in dict.fromkeys(pair for each in told for pair in each) if counted[pair] >= 2]
    if not pairs:
        raise JudgementError(Fault("no gap occurs in two of the days", ", ".join(names),
                                   do="Judge the days with the same reference and the same names of candidates."))
    gaps = _gaps(pairs, days, told, level, matter)
    return Pooled(days[0].reference, level, matter, gaps, _days(days, names, pairs),
                  tuple(_notices(days, names, gaps, counted, matter)), _provenance(days, names))


def _told(day: Judgement) -> dict[Pair, tuple[float, float, float]]:
    """Return gap, standard error and degrees of freedom of each comparison that a day can tell of."""
    rows = day.family
    numbers = rows[["gap_db", "standard_error_db", "degrees_of_freedom"]].to_numpy(dtype=float)
    told = np.isfinite(numbers[:, 0]) & np.isfinite(numbers[:, 1]) & (numbers[:, 1] > 0)
    found = {}
    for candidate, against, own, tells in zip(rows["candidate"], rows["against"], numbers.tolist(), told, strict=True):
        if tells:
            found[str(candidate), str(against)] = (own[0], own[1], own[2])
    return found


def _gaps(
    pairs: list[Pair], days: list[Judgement], told: list[dict[Pair, tuple[float, float, float]]], confidence: float,
    matter_db: float | None,
) -> pd.DataFrame:
    """Put each gap together, and judge all of them as one family."""
    found: list[Together] = []
    df = np.empty(len(pairs))
    counts = []
    for i, pair in enumerate(pairs):
        own = np.array([each[pair] for each in told if pair in each])
        found.append(put_together(own[:, 0], own[:, 1]))
        counts.append(len(own))
        df[i] = found[-1].degrees_of_freedom if len(own) > 2 else max(1.0, own[:, 2].min())
    correlation = _mean_correlation(pairs, days)
    gap, error = np.array([[each.estimate, each.standard_error] for each in found]).T
    t = gap / error
    half = family_critical_values(correlation, df, confidence, 2) * error
    lower, upper = gap - half, gap + half
    adjusted = family_adjusted_p(t, correlation, df, 2)
    verdicts = [
        _of_two(str(verdict)) if count == 2 else str(verdict)
        for verdict, count in zip(classify(lower, upper, matter_db), counts, strict=True)
    ]
    rows = [
        {
            "candidate": pair[0], "against": pair[1], "gap_db": gap[i], "standard_error_db": error[i],
            "degrees_of_freedom": df[i], "interval_db": [float(lower[i]), float(upper[i])],
            "p_value": float(2.0 * special.stdtr(df[i], -abs(t[i]))), "p_adjusted": float(adjusted[i]),
            "resolution_db": half[i], "between_sd_db": float(np.sqrt(found[i].between_variance)),
            "heterogeneity_p": float(special.chdtrc(counts[i] - 1, found[i].heterogeneity)), "days": counts[i],
            "verdict": verdicts[i],
        }
        for i, pair in enumerate(pairs)
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(POOL_COLUMNS))


def _of_two(verdict: str) -> str:
    """Return the verdict that two days may get: two cannot show how days differ, so nothing is called real."""
    return verdict if verdict == NO_GAP_THAT_MATTERS else CANNOT_TELL


def _mean_correlation(pairs: list[Pair], days: list[Judgement]) -> NDArray[np.float64]:
    """Return the mean over days of the gaps' correlation; 0 for gaps that no day holds together."""
    total, seen = np.zeros((len(pairs), len(pairs))), np.zeros((len(pairs), len(pairs)))
    for day in days:
        place = {pair: i for i, pair in enumerate(day.gaps_covariance_of)}
        error = np.sqrt(np.diag(day.gaps_covariance_db2))
        mine = [i for i, pair in enumerate(pairs) if pair in place and error[place[pair]] > 0]
        at = [place[pairs[i]] for i in mine]
        own = day.gaps_covariance_db2[np.ix_(at, at)] / np.outer(error[at], error[at])
        kept = np.isfinite(own)
        total[np.ix_(mine, mine)] += np.where(kept, own, 0.0)
        seen[np.ix_(mine, mine)] += kept
    mean = np.divide(total, seen, out=np.zeros_like(total), where=seen > 0)
    np.fill_diagonal(mean, 1.0)
    values, vectors = np.linalg.eigh((mean + mean.T) / 2.0)
    # means over different sets of days need not be a correlation matrix: the nearest one by its eigenvalues
    fixed = (vectors * np.maximum(values, 1e-10)) @ vectors.T
    scale = np.sqrt(np.diag(fixed))
    fixed = np.clip(fixed / np.outer(scale, scale), -1.0, 1.0)
    np.fill_diagonal(fixed, 1.0)
    return np.asarray((fixed + fixed.T) / 2.0)


def _days(days: list[Judgement], names: list[str], pairs: list[Pair]) -> pd.DataFrame:
    """Return each day's own gaps, one row a day and comparison."""
    kept = ["candidate", "against", "gap_db", "standard_error_db", "interval_db", "verdict"]
    # one pass over the tables' columns: a table a day made and joined costs milliseconds for each
    columns: dict[str, list[Any]] = {name: [] for name in ("day", *kept)}
    asked = set(pairs)
    for day, day_name in zip(days, names, strict=True):
        own = zip(*(day.gaps[name] for name in ("counts", *kept)), strict=True)
        for counts, *row in own:
            if counts and (row[0], row[1]) in asked:
                for name, value in zip(columns, (day_name, *row), strict=True):
                    columns[name].append(value)
    return pd.DataFrame(columns)


def _check(
    days: list[Judgement], names: list[str], confidence: float | None, matter_db: float | None
) -> tuple[float, float | None]:
    """Refuse days that cannot be put together; return confidence and the smallest gap that matters."""
    faults = []
    if len(days) < 2:
        faults.append(Fault("one day alone cannot be pooled", ", ".join(names), f"{len(days)}", "two or more"))
    by_record: dict[str, list[str]] = {}
    for day, name in zip(days, names, strict=True):
        by_record.setdefault(str(day.provenance.get("readings_sha256")), []).append(name)
    faults += [Fault("the same record is given twice", " and ".join(twice), do="Name each day once: a record that "
                     "counts twice would make the limits too narrow.")
               for twice in by_record.values() if len(twice) > 1]
    best = [name for day, name in zip(days, names, strict=True) if day.compare == "best"]
    if best:
        faults.append(Fault("a day was judged against the best of the others", ", ".join(best), "compare best",
                            "reference or each-other", "Judge it again with --compare reference."))
    faults += _differ("reference", {day.reference for day in days}, "Judge the days with one --reference.")
    faults += _differ("comparison", {day.compare for day in days}, "Judge the days with one --compare.")
    if confidence is None:
        faults += _differ("confidence", {day.confidence for day in days}, "Say which with --confidence.")
    elif not 0 < confidence < 1:
        faults.append(Fault("confidence is not a probability", got=f"{confidence:g}", allowed="above 0 and below 1"))
    if matter_db is None:
        faults += _differ("smallest gap that matters", {day.matter_db for day in days}, "Say which with --matter.")
    elif not (np.isfinite(matter_db) and 0 < matter_db <= 100):
        faults.append(Fault("matter_db is not a gap", got=f"{matter_db:g}", allowed="dB above 0, at most 100"))
    if faults:
        raise JudgementError(faults)
    return confidence or days[0].confidence, matter_db if matter_db is not None else days[0].matter_db


def _differ(what: str, values: set[Any], do: str) -> list[Fault]:
    """Say that the days do not agree on something."""
    if len(values) <= 1:
        return []
    return [Fault(f"the days differ in their {what}", got=", ".join(sorted(map(str, values))), do=do)]


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


def _notices(
    days: list[Judgement], names: list[str], gaps: pd.DataFrame, counted: Counter[Pair], matter_db: float | None
) -> list[Notice]:
    """Say what the days can and cannot say together."""
    found = []
    if (gaps["days"] == 2).any():
        found.append(Notice("two-days", "Two days cannot show how much days differ: their common value and each day "
                            "are shown, and no gap is called real on the two together."))
    alone = [f"{one} against {other}" for (one, other), count in counted.items() if count < 2]
    if alone:
        found.append(Notice("one-day-only", f"Only one day tells of: {', '.join(alone)}; left out here."))
    differ = gaps[gaps["heterogeneity_p"] < 0.05]
    if len(differ):
        rows = ", ".join(f"{row.candidate} against {row.against}" for row in differ.itertuples())
        found.append(Notice("days-differ", f"The days differ by more than their own errors for: {rows}. What differs "
                            "between them (band, ground, height, specimens) is part of these gaps."))
    found += _specimen_notices(days)
    if matter_db is None:
        found.append(Notice("no-matter-db", "No gap that matters was stated (--matter), so antexp can say which gaps "
                            "are real but not which of them matter."))
    return found


def _specimen_notices(days: list[Judgement]) -> list[Notice]:
    """Say whether the same specimens hung on all days."""
    sets = [set(day.specimens) for day in days]
    if not all(sets) or any(one != sets[0] for one in sets):
        return []
    return [Notice("same-specimens", "The same specimens are named on all days. If they are the same antennas, these "
                   "gaps are about them, however many days there are; new ones cut from the same reels could differ.")]


def _provenance(days: list[Judgement], names: list[str]) -> list[dict[str, Any]]:
    """Return where each day comes from."""
    return [
        {"day": name, "title": day.title, "readings_sha256": day.provenance.get("readings_sha256"),
         "antexp": day.provenance.get("antexp"), "readings": day.readings, "swaps": day.swaps, "blocks": day.blocks}
        for day, name in zip(days, names, strict=True)
    ]  # fmt: skip
