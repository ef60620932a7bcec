"""What a results file holds beside the gaps, read back: look, second opinions, checks, receivers, gap budgets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from antexp.analysis.budget_result import MATCHED_COLUMNS, GapBudgets
from antexp.analysis.looks import Look
from antexp.analysis.result import Check, Opinion, Receivers
from antexp.analysis.results_values import count, ends, number, spread, text, truth, within
from antexp.mixed.verdict import VERDICTS
from antexp.notices import CODES, Notice
from antexp.radio.gap_budget import GapBudget

_MATCHED_NUMBERS = ("gap_db", "standard_error_db", "degrees_of_freedom", "p_value", "p_adjusted", "resolution_db",
                    "detectable_db", "as_used_gap_db")
_RECEIVER_NUMBERS = ("gap_db", "standard_error_db")


def look_from(document: Mapping[str, Any] | None) -> Look | None:
    """Return the look; results of earlier versions do not name its stops."""
    if document is None:
        return None
    planned = count(document["blocks_planned"])
    return Look(
        done=count(document["blocks_done"]), planned=planned,
        stops=tuple(count(stop) for stop in document.get("planned_stops", [planned])),
        alpha=1.0 - within(document["limits_confidence"], 0.0, 1.0), is_planned=truth(document["planned"]),
        earlier=count(document["unplanned_looks_before"]),
    )


def opinion_from(document: Mapping[str, Any]) -> Opinion:
    """Return one second opinion."""
    agrees = document["agrees"]
    numbers = {text(name): _kept(value) for name, value in document["numbers"].items()}
    return Opinion(text(document["method"]), None if agrees is None else truth(agrees), text(document["text"]), numbers)


def notice_from(document: Mapping[str, Any]) -> Notice:
    """Return one warning, with the gaps it is about where it names some."""
    pairs = tuple((text(one), text(other)) for one, other in document.get("gaps", ()))
    return Notice(text(document["code"]), text(document["text"]), pairs)


def check_from(document: Mapping[str, Any]) -> Check:
    """Return one question to the residuals with its answer, without what its picture shows."""
    p, code = within(document["p_value"], 0.0, 1.0), document.get("warning")
    worth = document.get("worth_a_look")
    return Check(
        name=text(document["name"]), question=text(document["question"]), answer=text(document["answer"]), p_value=p,
        worth_a_look=p < 0.05 if worth is None else truth(worth),
        warning=None if code is None else text(code, tuple(CODES)), data=pd.DataFrame(),
        candidates=tuple(text(name) for name in document.get("candidates", ())),
    )


def receivers_from(document: Mapping[str, Any] | None) -> Receivers | None:
    """Return what each receiver saw."""
    if document is None:
        return None
    rows = [{**{name: text(row[name]) for name in ("receiver", "candidate", "against")},
             **{name: number(row[name]) for name in _RECEIVER_NUMBERS}, "interval_db": ends(row["interval_db"])}
            for row in document["gaps"]]
    scatter = {text(name): spread(value) for name, value in document["reading_sd_db"].items()}
    return Receivers(within(document["p_value"], 0.0, 1.0), pd.DataFrame(rows), scatter)


def budgets_from(rows: Sequence[Mapping[str, Any]], matched: Sequence[Mapping[str, Any]]) -> GapBudgets | None:
    """Return where the gaps come from; None where nothing was known."""
    if not rows:
        return None
    pairs = tuple((text(row["candidate"]), text(row["against"])) for row in rows)

    def column(name: str) -> np.ndarray:
        return np.array([number(row[name]) for row in rows])

    measured, error = column("measured_db"), column("measured_standard_error_db")
    mismatch, mismatch_u = column("mismatch_db"), column("mismatch_uncertainty_db")
    budget = GapBudget(
        measured, error, mismatch, mismatch_u, column("conductor_db"), column("conductor_uncertainty_db"),
        column("height_and_sag_db"), column("height_and_sag_uncertainty_db"), column("unexplained_db"),
        column("unexplained_uncertainty_db"), measured - mismatch, np.hypot(error, mismatch_u),
        np.array([truth(row["unexplained_too_large"]) for row in rows]),
    )
    low, high = np.array([ends(row["conductor_range_db"]) for row in rows]).T
    own = [_matched(row) for row in matched]
    table = pd.DataFrame(own, columns=list(MATCHED_COLUMNS))
    for name in ("verdict", "as_used_verdict"):
        table[name] = pd.Series([row[name] for row in own], index=table.index, dtype=object)
    return GapBudgets(
        pairs=pairs, budget=budget, conductor_low_db=low, conductor_high_db=high,
        matched=table,
        mismatch_loss_db=_of_candidates(rows, pairs, "mismatch_loss_db"),
        mismatch_u_db=_of_candidates(rows, pairs, "mismatch_loss_uncertainty_db"),
        mismatch_from={name: text(source) for row, pair in zip(rows, pairs, strict=True)
                       for name, source in zip(pair, row["mismatch_from"], strict=True) if source is not None},
        swap_end=text(rows[0]["swap_end"], ("source", "receiver")),
        source_impedance_ohm=number(rows[0]["source_impedance_ohm"]),
    )


def _matched(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return one matched gap."""
    used = row["as_used_verdict"]
    return {**{name: text(row[name]) for name in ("candidate", "against", "scope")},
            **{name: number(row[name]) for name in _MATCHED_NUMBERS}, "interval_db": ends(row["interval_db"]),
            "verdict": text(row["verdict"], VERDICTS),
            "as_used_verdict": None if used is None else text(used, VERDICTS)}


def _of_candidates(
    rows: Sequence[Mapping[str, Any]], pairs: tuple[tuple[str, str], ...], name: str
) -> dict[str, float]:
    """Return a number of each candidate from rows that name two; results of earlier versions do not hold it."""
    return {candidate: number(value) for row, pair in zip(rows, pairs, strict=True)
            for candidate, value in zip(pair, row.get(name, [None, None]), strict=True) if value is not None}


def _kept(value: Any) -> Any:
    """Return a number, text, true, false, null or a list of these as it is."""
    if isinstance(value, list):
        return [_kept(each) for each in value]
    if value is not None and not isinstance(value, str | int | float | bool):
        raise TypeError(f"{str(value)[:40]} is not what an opinion rests on")
    return value
