"""What to buy: the wires that cannot be told apart by their gaps, and what else speaks for each. The user decides."""

from __future__ import annotations

import os
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import pandas as pd

from antexp.analysis.hanging_times import SwapMinutes, swap_minutes
from antexp.analysis.judge import judge_record
from antexp.analysis.result import Judgement
from antexp.analysis.settings import settle
from antexp.analysis.wire_loads import LOAD_CAUTIONS, Span, WireLoad, settle_span, wire_load
from antexp.design.order_document import Order
from antexp.design.order_file import as_order
from antexp.field.readings import read_readings
from antexp.field.record import Record
from antexp.json_text import JsonText
from antexp.mixed.verdict import REAL_AND_MATTERS, REAL_MAY_MATTER
from antexp.plan.candidate import Candidate
from antexp.plan.cautions import element_length_m
from antexp.plan.corrosion import CorrosionNote, corrosion_note
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan
from antexp.views import Viewable

IN_THE_GROUP = "in the group"
OPEN = "open"
WEAKER = "weaker"
TOO_WEAK = "too weak"

STANDINGS: dict[str, str] = {
    IN_THE_GROUP: "falls short of the best by less than the gap that matters, if at all",
    OPEN: "may be as good as the best, and may fall short of it by as much as matters",
    WEAKER: "weaker than the best; whether by as much as matters stays open",
    TOO_WEAK: "falls short of the best by at least the gap that matters",
}
"""What the record says of a wire, against the best of the others."""

_WEAK = {REAL_MAY_MATTER: WEAKER, REAL_AND_MATTERS: TOO_WEAK}


@dataclass(frozen=True)
class Wire:
    """One candidate, with all that may speak for it.

    Attributes
    ----------
    name : str
        The candidate.
    standing : str
        "in the group", "open", "weaker" or "too weak"; `STANDINGS` says what each means.
    gap_db : float, dB
        To the best of the others.
    interval_db : tuple of float, dB
        Limits of that gap, all wires together.
    verdict : str
        As in `antexp.analysis.result.GAP_COLUMNS`.
    price_per_m, price_of_element : float or None
        In the user's currency, a metre and for the radiating element.
    mass_g_per_m, breaking_load_n : float or None
        As the plan has them.
    load : WireLoad
        Sag, pull and wind over the span.
    corrosion : CorrosionNote
        By where it will live.
    handling : float or None
        Median of the ticks of the hanging end, 1 (a nuisance) to 5 (a pleasure).
    handling_ticks : int
        How many swaps were ticked.
    handling_notes : tuple of str
        The remarks beside them, each once.
    minutes_per_swap : float or None, minutes
        Median time its hangings took, from the time stamps.
    swaps_timed : int
        How many that rests on.
    """

    name: str
    standing: str
    gap_db: float
    interval_db: tuple[float, float]
    verdict: str
    price_per_m: float | None
    price_of_element: float | None
    mass_g_per_m: float | None
    breaking_load_n: float | None
    load: WireLoad
    corrosion: CorrosionNote
    handling: float | None
    handling_ticks: int
    handling_notes: tuple[str, ...]
    minutes_per_swap: float | None
    swaps_timed: int

    def to_dict(self) -> dict[str, Any]:
        """Return the wire as the `choose` document holds it."""
        found = asdict(self)
        load = found.pop("load")
        ends = [float(end) if np.isfinite(end) else None for end in self.interval_db]
        gap = self.gap_db if np.isfinite(self.gap_db) else None
        return {**found, **load, "interval_db": ends, "gap_db": gap,
                "handling_notes": list(self.handling_notes)}


@dataclass(frozen=True, eq=False)
class Choice(JsonText, Viewable):
    """What a record and its plan offer for a decision.

    Attributes
    ----------
    judgement : Judgement
        Each wire against the best of the others.
    wires : tuple of Wire
        The group first, then the rest, each from the strongest down.
    length_m : float or None, m
        Of the radiating element.
    span : Span or None
        How the wire is to hang.
    swap_minutes : SwapMinutes
        Over all wires.
    cautions : tuple of str
        To be shown wherever loads are; empty without a span.
    """

    judgement: Judgement
    wires: tuple[Wire, ...]
    length_m: float | None
    span: Span | None
    swap_minutes: SwapMinutes
    cautions: tuple[str, ...]

    @property
    def group(self) -> tuple[str, ...]:
        """The wires of which none falls short of the best by the gap that matters."""
        return self.of(IN_THE_GROUP)

    @property
    def matter_db(self) -> float | None:
        """The gap that matters, dB."""
        return self.judgement.matter_db

    def of(self, standing: str) -> tuple[str, ...]:
        """Return the names of the wires of a standing."""
        return tuple(wire.name for wire in self.wires if wire.standing == standing)

    def to_dict(self) -> dict[str, Any]:
        """Return the `choose` document."""
        judgement = self.judgement
        return {
            "title": judgement.title, "reference": judgement.reference, "confidence": judgement.confidence,
            "matter_db": judgement.matter_db, "group": list(self.group), "open": list(self.of(OPEN)),
            "weaker": list(self.of(WEAKER)), "too_weak": list(self.of(TOO_WEAK)),
            "could_be_best": list(judgement.could_be_best), "length_m": self.length_m,
            "span": None if self.span is None else asdict(self.span),
            "minutes_per_swap": self.swap_minutes.median, "swaps_timed": self.swap_minutes.timed,
            "wires": [wire.to_dict() for wire in self.wires], "cautions": list(self.cautions),
            "warnings": [notice.to_dict() for notice in judgement.warnings],
        }


def choose(
    readings: str | os.PathLike[str] | pd.DataFrame,
    plan: str | os.PathLike[str] | Plan,
    order: str | os.PathLike[str] | Order | None = None,
    *,
    matter_db: float | None = None,
    span_m: float | None = None,
    tension_n: float | None = None,
    sag_m: float | None = None,
    gust_m_per_s: float | None = None,
) -> Choice:
    """Lay out what to buy.

    Parameters
    ----------
    readings, plan, order
        As in `antexp.analysis.judge.judge`; the plan's candidates carry price, mass, breaking load and where they
        will live.
    matter_db : float, optional, dB
        Left out: the plan's.
    span_m : float, optional, m
        Between the supports; left out: the length of a horizontal dipole, for a vertical none.
    tension_n : float, optional, N
        Horizontal pull; left out: the plan's.
    sag_m : float, optional, m
        The sag to which each wire is pulled, instead of a pull.
    gust_m_per_s : float, optional, m/s
        The gust to reckon with.

    Returns
    -------
    Choice

    Raises
    ------
    PlanError, OrderError, ReadingsError, FileError, JudgementError
        When an input is at fault.

    Notes
    -----
    A wire is in the group when the lower limit of its gap to the best of the others lies above −matter_db (Hsu 1984,
    method section 5). Those limits hold for all wires together, so no two wires of the group differ by matter_db or
    more.
    """
    the_plan = as_plan(plan)
    the_order = None if order is None else as_order(order)
    span = settle_span(the_plan, span_m, tension_n, sag_m, gust_m_per_s)
    settings, notices = settle(the_plan, None, "best", None, None, matter_db, None)
    record = read_readings(readings, plan=the_plan, order=the_order)
    judgement = judge_record(record, settings, the_plan, notices)
    minutes, length = swap_minutes(record), element_length_m(the_plan)
    wires = [_wire(row, the_plan.candidate(row["candidate"]), record, span, minutes, length, judgement.matter_db)
             for row in judgement.family.to_dict(orient="records")]
    places = list(STANDINGS)
    wires.sort(key=lambda wire: (places.index(wire.standing), -np.nan_to_num(wire.gap_db, nan=-np.inf)))
    return Choice(judgement, tuple(wires), length, span, minutes, LOAD_CAUTIONS if span is not None else ())


def _wire(row: dict[Any, Any], candidate: Candidate, record: Record, span: Span | None, minutes: SwapMinutes,
          length_m: float | None, matter_db: float | None) -> Wire:
    """Put together what is known of one wire."""
    price = candidate.price_per_m
    taken, timed = minutes.by_candidate.get(candidate.name, (None, 0))
    handling, ticks, notes = _handling(record.table, candidate.name)
    low, high = row["interval_db"]
    return Wire(
        name=candidate.name, standing=_standing(row, matter_db), gap_db=float(row["gap_db"]),
        interval_db=(float(low), float(high)), verdict=str(row["verdict"]), price_per_m=price,
        price_of_element=None if price is None or length_m is None else price * length_m,
        mass_g_per_m=candidate.mass_g_per_m, breaking_load_n=candidate.breaking_load_n,
        load=wire_load(candidate, span), corrosion=corrosion_note(candidate), handling=handling, handling_ticks=ticks,
        handling_notes=notes, minutes_per_swap=taken, swaps_timed=timed,
    )


def _standing(row: dict[Any, Any], matter_db: float | None) -> str:
    """Return what is known of one wire; being left out of the best set is no proof where wires may be equal."""
    if matter_db is not None and row["interval_db"][0] > -matter_db:
        return IN_THE_GROUP
    return _WEAK.get(str(row["verdict"]), OPEN) if row["gap_db"] < 0 else OPEN


def _handling(table: pd.DataFrame, name: str) -> tuple[float | None, int, tuple[str, ...]]:
    """Return the median tick of a wire, how many swaps were ticked, and the remarks."""
    mine = table[table["candidate"] == name]
    notes: tuple[str, ...] = ()
    if "handling_note" in mine:
        notes = tuple(dict.fromkeys(text for text in mine["handling_note"].astype(str).str.strip() if text))
    if "handling" not in mine:
        return None, 0, notes
    ticks = mine.dropna(subset=["handling"]).groupby("swap")["handling"].median()
    return (float(ticks.median()) if len(ticks) else None), len(ticks), notes
