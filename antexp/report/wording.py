"""The answer in sentences that a layman repeats correctly."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from antexp.analysis.best import BEST_OF_OTHERS
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

NAMED_AT_MOST = 8
"""So many names a sentence can carry; the table holds them all."""
_NAMED_IN_THE_ANSWER = 3

Row = Mapping[Hashable, Any]


def answer(judgement: Judgement) -> str:
    """Return the answer as one sentence that a layman repeats correctly.

    Returns
    -------
    str
        One gap: what is known of it. Several: how many of the asked gaps are real and matter (named, where they are
        few), are real, do not matter, and stay open.
    """
    rows = judgement.family
    if len(rows) == 1:
        return _one_gap(rows.iloc[0].to_dict(), judgement)
    parts = [part for part in (_counted(rows[rows["verdict"] == verdict], verdict, judgement) for verdict in MEANING)
             if part]
    if len(parts) == 1:
        every = "Both" if len(rows) == 2 else f"All {len(rows)}"
        return f"{every} {_asked(judgement)} {parts[0].partition(' ')[2]}."
    return f"Of {len(rows)} {_asked(judgement)}, {joined(parts)}."


def findings(judgement: Judgement) -> list[str]:
    """Return one sentence a verdict that occurs, naming the candidates, and one on what the record could resolve."""
    rows = judgement.family.sort_values("gap_db", ascending=True, kind="stable")
    sentences = [text for text in (_found(rows, judgement, verdict) for verdict in MEANING) if text]
    finite = rows["resolution_db"].astype(float).dropna()
    return sentences if finite.empty else [*sentences, _resolution(float(finite.min()), float(finite.max()))]


def question(judgement: Judgement) -> str:
    """Say in one sentence what was compared."""
    if judgement.compare == "each-other":
        against = "each with each other"
    elif judgement.compare == "best":
        against = "each with the best of the others"
    else:
        against = f"{len(judgement.candidates) - 1} of them each with the reference “{judgement.reference}”"
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
    return f"Each of these may still be the strongest: {shortened(names)}."


def best_explained(judgement: Judgement) -> str:
    """Say what "may still be the strongest" does not say; empty where one candidate is the strongest."""
    if len(judgement.could_be_best) < 2:
        return ""
    if judgement.matter_db is None:
        return "“May still be” says no more than: not ruled out."
    matter = f"{judgement.matter_db:g} dB"
    asked = "the verdicts here answer" if judgement.compare == "best" else "antexp choose answers"
    return (f"“May still be” says no more than: not ruled out. Which are sure to come within {matter} of the strongest "
            f"is another question, which {asked}; it may name others, or fewer.")


def shortened(names: list[str]) -> str:
    """Write names as a list; of more than a sentence can carry the first ones, and how many more."""
    if len(names) <= NAMED_AT_MOST:
        return joined(names)
    shown = NAMED_AT_MOST - 2
    return f"{', '.join(names[:shown])} and {len(names) - shown} more"


def _one_gap(row: Row, judgement: Judgement) -> str:
    """Say what is known of the only gap asked."""
    one, other, verdict = f"“{row['candidate']}”", f"“{row['against']}”", row["verdict"]
    matter = "" if judgement.matter_db is None else f"{judgement.matter_db:g} dB"
    low, high = row["interval_db"]
    if verdict == NO_GAP_THAT_MATTERS:
        return f"{one} and {other} differ by less than {matter}, if at all."
    if verdict == CANNOT_TELL:
        limits = f": the gap may lie anywhere from {decibels(low, True)} to {decibels(high, True)} dB"
        return f"This record cannot tell “{row['candidate']}” from {other}{limits if low == low else ''}."
    sizes = sorted((abs(low), abs(high)))
    size = f"about {decibels(abs(row['gap_db']))} dB (between {decibels(sizes[0])} and {decibels(sizes[1])})"
    is_weaker = f"{one} is {_weaker(row)} than {other}"
    if verdict == REAL_AND_MATTERS:
        return f"{is_weaker} by {matter} or more: {size}."
    if verdict == REAL_TOO_SMALL:
        return f"{is_weaker}, but by less than {matter}: {size}."
    return f"{is_weaker} by {size}{f'; whether by {matter} or more stays open' if matter else ''}."


def _asked(judgement: Judgement) -> str:
    """Say which gaps were asked."""
    if judgement.compare == "each-other":
        return f"gaps among {len(judgement.candidates)} candidates"
    if judgement.compare == "best":
        return f"gaps to {BEST_OF_OTHERS}"
    return f"gaps to the reference “{judgement.reference}”"


def _counted(rows: pd.DataFrame, verdict: str, judgement: Judgement) -> str:
    """Say how many gaps got a verdict, and which, where the gap matters and names are few; empty for none."""
    count = len(rows)
    if not count:
        return ""
    one, matter = count == 1, f"{judgement.matter_db:g} dB" if judgement.matter_db is not None else ""
    be = "is" if one else "are"
    return f"{count} " + {
        REAL_AND_MATTERS: f"{be} real and {matter} or more{_which(rows, judgement)}",
        REAL_MAY_MATTER: f"{be} real and perhaps {matter} or more" if matter else f"{be} real{_which(rows, judgement)}",
        REAL_TOO_SMALL: f"{be} real but less than {matter}",
        NO_GAP_THAT_MATTERS: f"{be} less than {matter} (if there at all)",
        CANNOT_TELL: f"{'stays' if one else 'stay'} open",
    }[verdict]


def _which(rows: pd.DataFrame, judgement: Judgement) -> str:
    """Name the few gaps of an answer; empty for many, and for pairs, whose names would fill it."""
    if len(rows) > _NAMED_IN_THE_ANSWER or judgement.compare == "each-other":
        return ""
    rows = rows.sort_values("gap_db", kind="stable")
    sides = []
    for word in ("weaker", "stronger"):
        names = [f"“{row['candidate']}”" for row in rows.to_dict(orient="records") if _weaker(row) == word]
        if names:
            sides.append(f"{joined(names)} {'is' if len(names) == 1 else 'are'} {word}")
    return f" ({joined(sides)})"


def _weaker(row: Row) -> str:
    return "weaker" if row["gap_db"] < 0 else "stronger"


def _found(rows: pd.DataFrame, judgement: Judgement, verdict: str) -> str:
    """Say which gaps got a verdict."""
    mine = rows[rows["verdict"] == verdict]
    if mine.empty:
        return ""
    names = shortened([_name(row, verdict, judgement) for row in mine.to_dict(orient="records")])
    matter = f"{judgement.matter_db:g} dB" if judgement.matter_db is not None else ""
    return {
        REAL_AND_MATTERS: f"Real and at least {matter}: {names}.",
        REAL_MAY_MATTER: f"Real, and perhaps {matter} or more: {names}." if matter else f"Real: {names}.",
        REAL_TOO_SMALL: f"Real but under {matter}: {names}.",
        NO_GAP_THAT_MATTERS: f"If there is a gap at all it is under {matter}: {names}.",
        CANNOT_TELL: f"This record cannot tell: {names}{_settle(mine, len(mine) > 1)}.",
    }[verdict]


def _name(row: Row, verdict: str, judgement: Judgement) -> str:
    """Name a gap, with its size where it is real."""
    name = f"“{row['candidate']}”"
    if judgement.compare == "each-other":
        name = f"{name} against “{row['against']}”"
    if verdict in (NO_GAP_THAT_MATTERS, CANNOT_TELL):
        return name
    return f"{name} ({decibels(float(row['gap_db']), signed=True)} dB)"


def _resolution(least: float, most: float) -> str:
    """Say which gaps the record can call real: one size, or from where to where it reaches over the gaps."""
    if decibels(least) == decibels(most):
        size = f"{decibels(most)} dB"
    else:
        size = f"{decibels(least)} to {decibels(most)} dB, depending on the gap"
    return (f"The smallest gap this record can call real is {size}; what is smaller stays hidden in drift and "
            "re-hanging.")


def _settle(rows: pd.DataFrame, plural: bool) -> str:
    """Say how many more blocks would settle the open gaps."""
    needed = [int(blocks) for blocks in rows["more_blocks"] if blocks is not None and blocks == blocks]
    if not needed or len(needed) < len(rows):
        return ""
    blocks = f"{max(needed)} more block{'s' if max(needed) > 1 else ''}"
    return f"; about {blocks} like these would settle {'them' if plural else 'it'}, if gap and scatter stay as seen"
