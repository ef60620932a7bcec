"""Results as tables that people read; every number is written by `antexp.report.numbers`."""

from __future__ import annotations

import pandas as pd

from antexp.analysis.result import Judgement
from antexp.report.less_sure import LESS_SURE, in_doubt
from antexp.report.numbers import decibels, degrees, interval, probability


def gap_table(judgement: Judgement) -> pd.DataFrame:
    """Return the gaps as text, one row a comparison, the strongest first.

    Returns
    -------
    DataFrame of str
        ``candidate`` (with ``against`` where it differs from row to row), ``gap dB``, ``between`` (limits for all
        together), ``resolves dB`` (the smallest gap it can call real), ``verdict``, marked where it is less sure
        since a wire of the gap scatters more than the others.
    """
    rows = judgement.family.sort_values("gap_db", ascending=False, kind="stable")
    columns = {"candidate": rows["candidate"]}
    if judgement.compare == "each-other":
        columns["against"] = rows["against"]
    columns |= {
        "gap dB": rows["gap_db"].map(lambda value: decibels(value, signed=True)),
        "between": rows["interval_db"].map(interval),
        "resolves dB": rows["resolution_db"].map(decibels),
        "verdict": rows["verdict"].where(~in_doubt(judgement).loc[rows.index], rows["verdict"] + f" ({LESS_SURE})"),
    }
    return pd.DataFrame(columns).reset_index(drop=True)


def statistician_table(judgement: Judgement) -> pd.DataFrame:
    """Return every row of the gaps with what a statistician asks for, as text; what holds of all rows is left out."""
    rows = judgement.gaps.sort_values("gap_db", ascending=False, kind="stable")
    table = pd.DataFrame(
        {
            "candidate": rows["candidate"],
            **{head: rows[head] for head in ("against", "scope") if rows[head].nunique() > 1},
            "gap dB": rows["gap_db"].map(lambda value: decibels(value, signed=True)),
            "standard error dB": rows["standard_error_db"].map(decibels),
            "df": rows["degrees_of_freedom"].map(degrees),
            "p alone": rows["p_value"].map(probability),
            "p adjusted": rows["p_adjusted"].map(probability),
            "detectable dB": rows["detectable_db"].map(decibels),
        }
    )
    return table.reset_index(drop=True)


def said_of_all_gaps(judgement: Judgement) -> str:
    """Say what the statistician's table leaves out, since it holds of every row; empty where it leaves out nothing."""
    rows = judgement.gaps
    against = f"All against “{rows['against'].iloc[0]}”" if rows["against"].nunique() == 1 else ""
    scope = f"of {rows['scope'].iloc[0]}" if rows["scope"].nunique() == 1 else ""
    said = ", ".join(part for part in (against, scope) if part)
    return f"{said[0].upper()}{said[1:]}." if said else ""


def spread_table(judgement: Judgement) -> pd.DataFrame:
    """Return the scatters and yardsticks as text."""
    rows = [(name, decibels(value)) for name, value, _ in spread_rows(judgement)]
    return pd.DataFrame(rows, columns=["what", "dB"])


def spread_rows(judgement: Judgement) -> list[tuple[str, float, str]]:
    """List what scattered and what to hold it against: (name, dB, "scatter" or "yardstick")."""
    spread = judgement.spread
    found = [
        ("reading after reading", spread.reading_sd_db, "scatter"),
        ("re-hanging the same wire", spread.rehang_sd_db, "scatter"),
        ("specimen to specimen", spread.specimen_sd_db, "scatter"),
        ("receiver against receiver", spread.swap_receiver_sd_db, "scatter"),
        ("largest drift in an hour", _largest_drift(judgement), "scatter"),
        ("gap called real from, at most", judgement.resolution_db, "yardstick"),
        (f"gap noticed {100 * judgement.chance:.0f} days of 100, at most", largest_noticed_db(judgement), "yardstick"),
        ("two hangings of one wire, 95 of 100 within", spread.repeatability_limit_db, "yardstick"),
        ("smallest gap that matters", judgement.matter_db, "yardstick"),
    ]
    return [(name, float(value), kind) for name, value, kind in found if value is not None and value == value]


def largest_noticed_db(judgement: Judgement) -> float | None:
    """Return the largest of the gaps that are noticed with the wanted chance, dB."""
    sizes = judgement.family["detectable_db"].astype(float).dropna()
    return None if sizes.empty else float(sizes.max())


def _largest_drift(judgement: Judgement) -> float | None:
    """Return the size of the steepest drift seen, dB per hour."""
    slopes = judgement.drift.db_per_hour.values()
    return max((abs(slope) for slope in slopes), default=None)
