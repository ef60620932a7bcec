"""What makes the limits less sure than they are stated: which warnings say so, and of which wires."""

from __future__ import annotations

import pandas as pd

from antexp.analysis.result import Judgement
from antexp.mixed.verdict import CANNOT_TELL
from antexp.notices import named_gap
from antexp.report.numbers import joined

_BY_CODE = {
    "unequal-scatter": "{one} scatters more than the others",
    "drift-form-not-enough": "the form of drift is not enough",
    "carry-over": "{one} leaves a trace in the next",
    "odd-swap": "one swap{of} is unlike the others",
    "rests-on-equal-scatter": "a verdict{of} holds only if all wires scatter alike",
}
_NAMED_AT_MOST = 4

LESS_SURE = "less sure"
"""Stands beside verdicts on a wire that scatters more than the others."""

WHY_LESS_SURE = "Less sure: a wire of the gap scatters more than the others, so that its limits are too narrow."


def less_sure(judgement: Judgement) -> str:
    """Say what, by the warnings and the second opinions, makes the limits less sure; empty where nothing does."""
    codes = {notice.code for notice in judgement.warnings}
    found = [about(words, judgement, code) for code, words in _BY_CODE.items() if code in codes]
    said = [f"Less sure than that, by the notes below: {joined(found)}."] if found else []
    differing = [opinion.method for opinion in judgement.second_opinions if opinion.agrees is False]
    if differing:
        said.append(f"Of the second opinions {'this differs' if len(differing) == 1 else 'these differ'}: "
                    f"{joined(differing)}; the statistician's part says how.")
    return " ".join(said)


def in_doubt(judgement: Judgement) -> pd.Series:
    """Tell of each asked gap whether its verdict says something and is less sure: a wire of it scatters more."""
    rows = judgement.family
    wires = _wires(judgement, "unequal-scatter")
    pairs = _gaps(judgement, "rests-on-equal-scatter")
    found = [row["verdict"] != CANNOT_TELL and (not {row["candidate"], row["against"]}.isdisjoint(wires)
                                                or (row["candidate"], row["against"]) in pairs)
             for row in rows.to_dict(orient="records")]
    return pd.Series(found, index=rows.index, dtype=bool)


def about(words: str, judgement: Judgement, code: str) -> str:
    """Put into words on a warning whom it is about: ``{one}``, or ``{of}`` where they can do without a name."""
    names = list(dict.fromkeys(_concerned(judgement, code)))
    named = joined(names) if len(names) <= _NAMED_AT_MOST else f"{len(names)} wires"
    return words.format(one=named or "one wire", of=f" of {named}" if named else "")


def decided_by_mismatch(judgement: Judgement) -> list[str]:
    """List the wires to trim or match where mismatch decides: of each gap the one that loses more to it."""
    budgets = judgement.budgets
    if budgets is None:
        return []
    pairs = [(str(row["candidate"]), str(row["against"])) for row in budgets.decided_by_mismatch]
    return [max(pair, key=lambda name: budgets.mismatch_loss_db.get(name) or 0.0) for pair in pairs]


def _concerned(judgement: Judgement, code: str) -> list[str]:
    """Name the candidates, or the gaps, that a warning is about."""
    wires = decided_by_mismatch(judgement) if code == "mismatch-decides" else _wires(judgement, code)
    gaps = _gaps(judgement, code)
    if judgement.compare == "reference":
        return [f"“{name}”" for name in (*wires, *(one for one, _ in gaps))]
    return [*(f"“{name}”" for name in wires), *(named_gap(*gap) for gap in gaps)]


def _wires(judgement: Judgement, code: str) -> list[str]:
    """List the candidates that the question behind a warning found."""
    return [name for check in judgement.checks if check.warning == code for name in check.candidates]


def _gaps(judgement: Judgement, code: str) -> list[tuple[str, str]]:
    """List the gaps that a warning is about."""
    if code == "gap-not-explained":
        return judgement.budgets.not_explained if judgement.budgets is not None else []
    return [pair for notice in judgement.warnings if notice.code == code for pair in notice.gaps]
