"""Days that cannot be put together are refused, all faults at once."""

from __future__ import annotations

from typing import Any

from antexp.analysis.result import Judgement
from antexp.analysis.settings import matter_faults, share_faults
from antexp.errors import Fault, JudgementError


def level_and_matter(
    days: list[Judgement], names: list[str], confidence: float | None, matter_db: float | None
) -> tuple[float, float | None]:
    """Return the confidence and the smallest gap that matters, said anew or the days' own.

    Raises
    ------
    JudgementError
        Days that cannot be put together: fewer than two, one record twice, or different questions.
    """
    faults = _record_faults(days, names)
    faults += _differ("reference", {day.reference for day in days}, "Judge the days with one --reference.")
    faults += _differ("comparison", {day.compare for day in days}, "Judge the days with one --compare.")
    if confidence is None:
        faults += _differ("confidence", {day.confidence for day in days}, "Say which with --confidence.")
    faults += share_faults("confidence", confidence)
    if matter_db is None:
        faults += _differ("smallest gap that matters", {day.matter_db for day in days}, "Say which with --matter.")
    faults += matter_faults(matter_db)
    if faults:
        raise JudgementError(faults)
    return confidence or days[0].confidence, matter_db if matter_db is not None else days[0].matter_db


def _record_faults(days: list[Judgement], names: list[str]) -> list[Fault]:
    """Say that there are too few days, that one is given twice, or that one cannot be pooled."""
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
    return faults


def _differ(what: str, values: set[Any], do: str) -> list[Fault]:
    """Say that the days do not agree on something."""
    if len(values) <= 1:
        return []
    return [Fault(f"the days differ in their {what}", got=", ".join(sorted(map(str, values))), do=do)]
