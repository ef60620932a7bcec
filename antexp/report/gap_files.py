"""The gaps, and where they come from, as tables for a spreadsheet: numbers unrounded, texts that nothing executes."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

from antexp.analysis.result import Judgement
from antexp.spreadsheet import csv_text

GAPS_CSV: dict[str, str] = {
    "candidate": "the candidate the gap is about",
    "against": "what it is compared with",
    "gap_db": "the gap, dB; positive: the first named is stronger",
    "low_db": "its lower limit, dB, for all gaps together",
    "high_db": "its upper limit, dB",
    "verdict": "one of the five; blank beside the row that counts",
    "scope": "these specimens, or any specimen",
    "resolution_db": "the smallest gap this record can call real, dB",
    "detectable_db": "the true gap that such a day notices with the wanted chance, dB",
    "more_blocks": "for `cannot tell`: how many more blocks would settle it",
    "standard_error_db": "standard error of the gap, dB",
    "degrees_of_freedom": "of that standard error",
    "p_value": "of this comparison alone",
    "p_adjusted": "for all comparisons together",
}
"""Columns of ``gaps.csv``; what a statistician asks for stands last."""


def gaps_csv(judgement: Judgement) -> str:
    """Return ``gaps.csv``: one row a gap, the strongest first; a number that is not known is a blank cell."""
    rows = judgement.gaps.sort_values("gap_db", ascending=False, kind="stable").to_dict(orient="records")
    return csv_text(tuple(GAPS_CSV), [[_cell(_value(row, name)) for name in GAPS_CSV] for row in rows])


def budgets_csv(judgement: Judgement) -> str:
    """Return ``gap-budget.csv``: what each gap is made of, in the keys of ``gap_budgets`` of the results file."""
    rows = judgement.budgets.rows() if judgement.budgets is not None else []
    columns = tuple(rows[0]) if rows else ()
    return csv_text(columns, [[_cell(row[name]) for name in columns] for row in rows])


def _value(row: Mapping[Hashable, Any], name: str) -> object:
    """Return a cell of a gap, the limits one by one."""
    if name in ("low_db", "high_db"):
        return row["interval_db"][0 if name == "low_db" else 1]
    return row[name]


def _cell(value: object) -> object:
    """Return a number or text; None where it is not known or not finite."""
    if isinstance(value, float) and (value != value or value in (float("inf"), float("-inf"))):
        return None
    return value
