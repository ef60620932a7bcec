"""What may be said after a day, each sentence beside the one that may not, so that results are told on as they are."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

from antexp.analysis.best import BEST_OF_OTHERS
from antexp.analysis.result import Judgement
from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS, REAL, REAL_AND_MATTERS, REAL_TOO_SMALL
from antexp.plan.model import Plan
from antexp.report.numbers import decibels, joined
from antexp.report.scope import scope_words

Row = dict[Hashable, Any]


@dataclass(frozen=True)
class Statement:
    """One sentence that may be said and the one that may not.

    Attributes
    ----------
    may : str
        What the record supports.
    may_not : str
        What people make of it.
    why : str
        Why that is not so, in a few words.
    """

    may: str
    may_not: str
    why: str


def statements(judgement: Judgement, plan: Plan | None = None) -> tuple[Statement, ...]:
    """Return the sentences that a judgement allows, each beside the tempting one that it does not.

    Parameters
    ----------
    judgement : Judgement
    plan : Plan, optional
        Gives band and height their numbers.

    Returns
    -------
    tuple of Statement
        Gaps that are real one by one, the others together by verdict, then the best, then band and specimens.
    """
    rows = judgement.family.to_dict(orient="records")
    found = [_real(row, judgement) for verdict in REAL
             for row in rows if row["verdict"] == verdict]
    for verdict, say in ((NO_GAP_THAT_MATTERS, _no_gap), (CANNOT_TELL, _open)):
        same = [row for row in rows if row["verdict"] == verdict]
        if same:
            found.append(say(same, judgement))
    return (*found, _best(judgement), _scope(judgement, plan))


def _real(row: Row, judgement: Judgement) -> Statement:
    """Return what a real gap allows to say."""
    gap, (low, high) = float(row["gap_db"]), row["interval_db"]
    one, other = _quoted(row["candidate"]), _against(row)
    word = "stronger" if gap > 0 else "weaker"
    near, far = sorted((abs(low), abs(high)))
    size = f"{decibels(abs(gap))} dB, between {decibels(near)} and {decibels(far)}"
    matter = "" if judgement.matter_db is None else f"{judgement.matter_db:g} dB"
    if row["verdict"] == REAL_AND_MATTERS:
        return Statement(f"{one} was {word} than {other} by {matter} or more ({size}).",
                         f"{one} {'gives' if gap > 0 else 'costs'} you {decibels(abs(gap))} dB.",
                         "the figure has limits, and belongs to this band, height and antenna")
    if row["verdict"] == REAL_TOO_SMALL:
        return Statement(f"{one} was {word} than {other}, by less than {matter} ({size}).",
                         f"{one} is {'better' if gap > 0 else 'worse'}, so it decides what to buy.",
                         f"real is not large: nobody notices less than the {matter} that was asked for")
    return Statement(f"{one} was {word} than {other} ({size}); whether by enough to matter stays open.",
                     f"{one} was {word} by {decibels(abs(gap))} dB, and that matters.",
                     "the limits reach from hardly anything to more than enough")


def _no_gap(rows: list[Row], judgement: Judgement) -> Statement:
    """Return what gaps that are too small to matter allow to say."""
    matter = f"{judgement.matter_db:g} dB"
    if rows[0]["against"] == BEST_OF_OTHERS:
        return Statement(f"None of these fell short of the best by {matter} or more: {_names(rows)}.",
                         f"{_names(rows)} are equal." if len(rows) > 1 else f"{_names(rows)} is the best.",
                         f"gaps under {matter} may be there")
    return Statement(f"Any gap of {_pairs(rows)} was under {matter}.", f"{_all_names(rows)} are equal.",
                     f"nobody can measure equal; a gap under {matter} may be there")


def _open(rows: list[Row], judgement: Judgement) -> Statement:
    """Return what gaps that stay open allow to say."""
    size = "" if judgement.matter_db is None else f" {judgement.matter_db:g} dB or more"
    if rows[0]["against"] == BEST_OF_OTHERS:
        by = size and f" by{size}"
        return Statement(f"Whether {_names(rows)} fell short of the best{by} this record cannot tell.",
                         f"There is nothing between {_names(rows)} and the best.",
                         "not found is not the same as not there")
    return Statement(f"Whether there is a gap{size and f' of{size}'} this record cannot tell: {_pairs(rows)}.",
                     f"There is no difference between {_all_names(rows)}.",
                     "not found is not the same as not there; more swaps would tell")


def _best(judgement: Judgement) -> Statement:
    """Return what may be said of the best."""
    names = judgement.could_be_best
    leader = leading(judgement)
    if len(names) == 1:
        return Statement(f"Of the wires compared here {_quoted(names[0])} was the strongest.",
                         f"{_quoted(names[0])} is the best antenna wire.",
                         "only these wires were compared, here and on that day")
    listed = joined([_quoted(name) for name in names]) if names else "none can be left out"
    return Statement(f"Each of these may still be the strongest: {listed}.", f"{_quoted(leader)} is the best.",
                     "it came out on top this time; another day may put another first")


def _scope(judgement: Judgement, plan: Plan | None) -> Statement:
    """Return what band, height and specimens allow to say."""
    return Statement(f"This holds for {scope_words(judgement.family, plan)} only.",
                     "It is the same on every band, and for all wire of the kind.",
                     "losses change with frequency, height moves them, and another reel is another specimen")


def leading(judgement: Judgement) -> str:
    """Return the candidate whose estimate is the strongest."""
    rows = judgement.family.sort_values("gap_db", ascending=False, kind="stable").to_dict(orient="records")
    if judgement.compare == "reference":
        return str(rows[0]["candidate"]) if rows and rows[0]["gap_db"] > 0 else judgement.reference
    if judgement.compare == "best":
        return str(rows[0]["candidate"])
    level = dict.fromkeys(judgement.candidates, 0.0)
    for row in rows:  # each wire's mean gap to all the others
        level[str(row["candidate"])] += float(row["gap_db"])
        level[str(row["against"])] -= float(row["gap_db"])
    return max(level, key=level.__getitem__)


def _quoted(name: object) -> str:
    return f"“{name}”"


def _against(row: Row) -> str:
    """Name what a row is compared with."""
    return BEST_OF_OTHERS if row["against"] == BEST_OF_OTHERS else _quoted(row["against"])


def _names(rows: list[Row]) -> str:
    return joined([_quoted(row["candidate"]) for row in rows])


def _all_names(rows: list[Row]) -> str:
    """Name every candidate of some rows once."""
    return joined([_quoted(name) for name in dict.fromkeys(name for row in rows
                                                           for name in (row["candidate"], row["against"]))])


def _pairs(rows: list[Row]) -> str:
    """Name the comparisons: all with one partner together, else pair by pair."""
    if len({row["against"] for row in rows}) == 1:
        return f"{_names(rows)} to {_quoted(rows[0]['against'])}"
    return joined([f"{_quoted(row['candidate'])} to {_quoted(row['against'])}" for row in rows])
