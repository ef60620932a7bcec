"""The answer in sentences that a layman repeats correctly."""

from __future__ import annotations

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
    """Return the answer as one short paragraph.

    Parameters
    ----------
    judgement : Judgement
        The result.

    Returns
    -------
    str
        What differs, by how much, what does not, what stays open, and what the record could resolve.
    """
    rows = judgement.family
    sentences = [text for text in (_found(rows, judgement, verdict) for verdict in MEANING) if text]
    finite = rows["resolution_db"].astype(float).dropna()
    if not finite.empty:
        sentences.append(f"Gaps up to {decibels(float(finite.max()))} dB are beyond what this record can call real.")
    return " ".join(sentences)


def _found(rows: pd.DataFrame, judgement: Judgement, verdict: str) -> str:
    """Say which gaps got a verdict."""
    mine = rows[rows["verdict"] == verdict]
    if mine.empty:
        return ""
    names = joined([_name(row, verdict, judgement) for row in mine.to_dict(orient="records")])
    plural = len(mine) > 1
    matter = f"{judgement.matter_db:g} dB" if judgement.matter_db is not None else ""
    return {
        REAL_AND_MATTERS: f"Real, and large enough to matter: {names}.",
        REAL_MAY_MATTER: f"Real, but it stays open whether large enough to matter: {names}."
        if matter
        else f"Real: {names}.",
        REAL_TOO_SMALL: f"Real but smaller than {matter}: {names}.",
        NO_GAP_THAT_MATTERS: f"No gap that matters (any gap is under {matter}): {names}.",
        CANNOT_TELL: f"This record cannot tell for {names}{_settle(mine, plural)}.",
    }[verdict]


def _name(row: dict[str, object], verdict: str, judgement: Judgement) -> str:
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
