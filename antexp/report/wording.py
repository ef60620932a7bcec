"""The answer in sentences that a layman repeats correctly."""

from __future__ import annotations

from collections.abc import Hashable, Mapping

import pandas as pd

from antexp.analysis.result import Judgement
from antexp.mixed.verdict import (
    CANNOT_TELL,
    NO_GAP_THAT_MATTERS,
    REAL_AND_MATTERS,
    REAL_MAY_MATTER,
    REAL_TOO_SMALL,
)
from antexp.report.numbers import decibels, joined, percent

MEANING: dict[str, str] = {
    REAL_AND_MATTERS: "the gap is there, and it is at least as large as the one that matters to you",
    REAL_MAY_MATTER: "the gap is there; whether it is large enough to matter stays open",
    REAL_TOO_SMALL: "the gap is there, and it is smaller than the one that matters to you",
    NO_GAP_THAT_MATTERS: "there may be a gap, but it is smaller than the one that matters to you",
    CANNOT_TELL: "this record cannot say; more swaps could",
}


def answer(judgement: Judgement) -> str:
    """Return the answer as one sentence that a layman repeats correctly.

    Parameters
    ----------
    judgement : Judgement
        The result.

    Returns
    -------
    str
        How many of the asked gaps are real and matter, are real, do not matter, and stay open.
    """
    rows = judgement.family
    counts = [(verdict, int((rows["verdict"] == verdict).sum())) for verdict in MEANING]
    parts = [_counted(verdict, count) for verdict, count in counts if count]
    return f"Of {_gaps(len(rows))} {_asked(judgement)}, {joined(parts)}."


def findings(judgement: Judgement) -> list[str]:
    """Return one sentence a verdict that occurs, naming the candidates, and one on what the record could resolve.

    Parameters
    ----------
    judgement : Judgement
        The result.

    Returns
    -------
    list of str
    """
    rows = judgement.family
    sentences = [text for text in (_found(rows, judgement, verdict) for verdict in MEANING) if text]
    finite = rows["resolution_db"].astype(float).dropna()
    if not finite.empty:
        sentences.append(
            f"The smallest gap this record can call real is {decibels(float(finite.max()))} dB; what is smaller stays "
            "hidden in drift and re-hanging."
        )
    return sentences


def _gaps(count: int) -> str:
    """Write a number of gaps."""
    return "the one gap" if count == 1 else f"{count} gaps"


def _asked(judgement: Judgement) -> str:
    """Say which gaps were asked."""
    if judgement.compare == "each-other":
        return f"among {len(judgement.candidates)} candidates"
    if judgement.compare == "best":
        return "to the best of the others"
    return f"to the reference “{judgement.reference}”"


def _counted(verdict: str, count: int) -> str:
    """Say how many gaps got a verdict."""
    be = "is" if count == 1 else "are"
    text = {
        REAL_AND_MATTERS: f"{be} real and large enough to matter",
        REAL_MAY_MATTER: f"{be} real, whether or not large enough to matter",
        REAL_TOO_SMALL: f"{be} real but too small to matter",
        NO_GAP_THAT_MATTERS: f"{be} too small to matter",
        CANNOT_TELL: f"{'stays' if count == 1 else 'stay'} open",
    }[verdict]
    return f"{count} {text}"


def _found(rows: pd.DataFrame, judgement: Judgement, verdict: str) -> str:
    """Say which gaps got a verdict."""
    mine = rows[rows["verdict"] == verdict]
    if mine.empty:
        return ""
    names = joined([_name(row, verdict, judgement) for row in mine.to_dict(orient="records")])
    matter = f"{judgement.matter_db:g} dB" if judgement.matter_db is not None else ""
    return {
        REAL_AND_MATTERS: f"Real and at least {matter}: {names}.",
        REAL_MAY_MATTER: f"Real, and perhaps {matter} or more: {names}." if matter else f"Real: {names}.",
        REAL_TOO_SMALL: f"Real but under {matter}: {names}.",
        NO_GAP_THAT_MATTERS: f"If there is a gap at all it is under {matter}: {names}.",
        CANNOT_TELL: f"This record cannot tell: {names}{_settle(mine, len(mine) > 1)}.",
    }[verdict]


def _name(row: Mapping[Hashable, object], verdict: str, judgement: Judgement) -> str:
    """Name a gap, with its size where it is real."""
    name = f"“{row['candidate']}”"
    if judgement.compare == "each-other":
        name = f"{name} against “{row['against']}”"
    if verdict in (NO_GAP_THAT_MATTERS, CANNOT_TELL):
        return name
    return f"{name} ({decibels(float(str(row['gap_db'])), signed=True)} dB)"


def _settle(rows: pd.DataFrame, plural: bool) -> str:
    """Say how many more blocks would settle the open gaps."""
    needed = [int(blocks) for blocks in rows["more_blocks"] if blocks is not None and blocks == blocks]
    if not needed or len(needed) < len(rows):
        return ""
    blocks = f"{max(needed)} more block{'s' if max(needed) > 1 else ''}"
    return f"; about {blocks} like these would settle {'them' if plural else 'it'}"


def question(judgement: Judgement) -> str:
    """Say in one sentence what was compared."""
    if judgement.compare == "each-other":
        against = "each with each other"
    elif judgement.compare == "best":
        against = "each with the best of the others"
    else:
        against = f"each with the reference “{judgement.reference}”"
    return (
        f"{judgement.readings} readings of {judgement.swaps} swaps in {judgement.blocks} "
        f"block{'s' if judgement.blocks > 1 else ''}: {len(judgement.candidates)} candidates, {against}; "
        f"all limits hold together at {percent(judgement.confidence)}."
    )


def best(judgement: Judgement) -> str:
    """Say which candidates may still be the strongest."""
    names = [f"“{name}”" for name in judgement.could_be_best]
    if not names:
        return ""
    if len(names) == 1:
        return f"The strongest is {names[0]}."
    return f"Each of these may still be the strongest: {joined(names)}."
