"""Where the gaps come from, as tables and sentences for people."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import pandas as pd

from antexp.analysis.budget_result import GapBudgets
from antexp.report.numbers import decibels, interval, joined

TOO_LARGE = "not explained: crimps, trim, height?"
NO_MATCH = "match not measured"
HEADS = {
    "measured_db": "measured dB",
    "mismatch_db": "mismatch dB",
    "conductor_db": "metal, expected dB",
    "height_and_sag_db": "height and sag dB",
    "unexplained_db": "unexplained dB",
}
_UNCERTAINTY = {
    "measured_db": "measured_standard_error_db",
    "mismatch_db": "mismatch_uncertainty_db",
    "conductor_db": "conductor_uncertainty_db",
    "height_and_sag_db": "height_and_sag_uncertainty_db",
    "unexplained_db": "unexplained_uncertainty_db",
}


def strongest_first(budgets: GapBudgets) -> list[int]:
    """Return the order in which the gaps are shown: the strongest first, as in the table of gaps."""
    return [int(i) for i in np.argsort(-budgets.budget.measured_db, kind="stable")]


def gap_names(budgets: GapBudgets) -> list[str]:
    """Name the gaps: by the candidate alone where all are compared with the same one."""
    return _named(budgets, budgets.pairs)


def _named(budgets: GapBudgets, pairs: Iterable[tuple[str, str]]) -> list[str]:
    """Name some of the gaps, alike in all tables."""
    several = len({against for _, against in budgets.pairs}) > 1
    return [f"{name} against {against}" if several else name for name, against in pairs]


def budget_table(budgets: GapBudgets) -> pd.DataFrame:
    """Return the budgets as text, one row a gap, the strongest first.

    Returns
    -------
    DataFrame of str
        ``candidate``; ``measured dB`` and each share that is known of some gap, with its standard uncertainty after
        the ±; ``remark``.
    """
    rows, names = budgets.rows(), gap_names(budgets)
    keys = [key for key in HEADS if any(math.isfinite(row[key]) for row in rows)]
    return pd.DataFrame([
        {"candidate": names[i],
         **{HEADS[key]: _with_uncertainty(rows[i][key], rows[i][_UNCERTAINTY[key]]) for key in keys},
         "remark": _remark(rows[i], _no_match(budgets, *budgets.pairs[i]))}
        for i in strongest_first(budgets)
    ])


def matched_table(budgets: GapBudgets) -> pd.DataFrame:
    """Return as used beside matched as text, one row a gap whose mismatch is known at both ends.

    Returns
    -------
    DataFrame of str
        ``candidate``, ``as used dB``, ``verdict as used`` (the one that counts), ``matched dB``, ``between``,
        ``verdict matched``.
    """
    rows = budgets.matched.sort_values("as_used_gap_db", ascending=False, kind="stable")
    return pd.DataFrame({
        "candidate": _named(budgets, zip(rows["candidate"], rows["against"], strict=True)),
        "as used dB": rows["as_used_gap_db"].map(lambda value: decibels(value, signed=True)),
        "verdict as used": rows["as_used_verdict"].map(lambda verdict: verdict or "–"),
        "matched dB": rows["gap_db"].map(lambda value: decibels(value, signed=True)),
        "between": rows["interval_db"].map(interval),
        "verdict matched": rows["verdict"],
    }).reset_index(drop=True)


def budget_sentence(budgets: GapBudgets) -> str:
    """Say what the shares rest on: the end whose mismatch counts, and where each part comes from."""
    parts = []
    if budgets.mismatch_from:
        sources = joined(list(dict.fromkeys(part for each in budgets.mismatch_from.values()
                                            for part in each.split(", "))))
        parts.append(f"Mismatch at the {budgets.swap_end} end against {budgets.source_impedance_ohm:g} Ω, measured "
                     f"(from: {sources})")
    if np.isfinite(budgets.budget.conductor_db).any():
        parts.append("the metal's share from the plan's wires")
    if np.isfinite(budgets.budget.height_db).any():
        parts.append("height and sag from the plan's range")
    text = "; ".join(parts)
    return (f"{text[:1].upper()}{text[1:]}. Behind each ±: how far off it may well be; two in three lie within (one "
            "standard uncertainty). Each number is rounded by itself.")


def _with_uncertainty(value: float, uncertainty: float) -> str:
    """Write a share with its uncertainty; a dash where it is not known."""
    if not math.isfinite(value):
        return "–"
    return f"{decibels(value, signed=True)}\u00a0±\u00a0{decibels(uncertainty)}"


def _remark(row: dict[str, object], no_match: str) -> str:
    """Say what to do about a gap."""
    return "; ".join(filter(None, [TOO_LARGE if row["unexplained_too_large"] else "", no_match]))


def _no_match(budgets: GapBudgets, candidate: str, against: str) -> str:
    """Say whose match was not measured, where some were."""
    known = budgets.mismatch_loss_db
    if not known or (candidate in known and against in known):
        return ""
    return NO_MATCH if candidate not in known else f"match of “{against}” not measured"
