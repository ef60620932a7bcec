"""What makes the limits less sure than they are stated: which warnings say so, and of which wires."""

from __future__ import annotations

from antexp.analysis.result import Judgement
from antexp.report.numbers import joined

_BY_CODE = {
    "unequal-scatter": "{one} scatters more than the others",
    "drift-form-not-enough": "the form of drift is not enough",
    "carry-over": "{one} leaves a trace in the next",
    "odd-swap": "one swap{of} is unlike the others",
    "rests-on-equal-scatter": "a verdict holds only if all wires scatter alike",
}
_NAMED_AT_MOST = 4

LESS_SURE = "less sure"
"""Stands beside the verdicts on a wire that scatters more than the others."""


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


def wires_in_doubt(judgement: Judgement) -> frozenset[str]:
    """Return the candidates that scatter more than the others, whose limits are too narrow."""
    return frozenset(name for check in judgement.checks if check.warning == "unequal-scatter"
                     for name in check.candidates)


def about(words: str, judgement: Judgement, code: str) -> str:
    """Put into words on a warning whom it is about: ``{one}``, or ``{of}`` where they can do without a name."""
    names = [f"“{name}”" for name in dict.fromkeys(_concerned(judgement, code))]
    named = joined(names) if len(names) <= _NAMED_AT_MOST else f"{len(names)} wires"
    return words.format(one=named or "one wire", of=f" of {named}" if named else "")


def _concerned(judgement: Judgement, code: str) -> list[str]:
    """List the candidates that a warning is about."""
    if judgement.budgets is not None and code == "gap-not-explained":
        return [name for name, _ in judgement.budgets.not_explained]
    if judgement.budgets is not None and code == "mismatch-decides":
        return [str(row["candidate"]) for row in judgement.budgets.decided_by_mismatch]
    return [name for check in judgement.checks if check.warning == code for name in check.candidates]
