"""Checking a record before it is judged: all faults and all doubts in one pass, and what each would do."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from antexp.design.order_document import Order
from antexp.design.order_file import as_order
from antexp.errors import Fault, ReadingsError
from antexp.field.cells import text_of
from antexp.field.doubt import EFFECTS, Doubt, whole
from antexp.field.hanging_doubts import hanging_doubts
from antexp.field.level_doubts import level_doubts, mid_levels
from antexp.field.reading_faults import FaultList, counted, listed
from antexp.field.readings import check_meter, read_cells
from antexp.field.record import Record
from antexp.field.record_from_cells import record_from_cells
from antexp.json_text import JsonText
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan

# Rows at fault are not looked at, so what seems to be missing may stand in them.
_OF_ABSENT_ROWS = {"swaps-without-readings", "hung-once", "reference-missing", "receiver-missing"}


@dataclass(frozen=True)
class NoiseFacts:
    """What the rows with the source off say of one receiver.

    Attributes
    ----------
    receiver : str
    readings : int
        How many noise readings there are.
    noise_db : float
        Their median.
    smallest_margin_db : float
        From the noise to the weakest level; NaN without levels of that receiver.
    """

    receiver: str
    readings: int
    noise_db: float
    smallest_margin_db: float


@dataclass(frozen=True)
class SourceFacts:
    """What the monitor of the source says.

    Attributes
    ----------
    lowest_db, highest_db : float
        The ends of its readings.
    sd_db : float
        Their standard deviation.
    """

    lowest_db: float
    highest_db: float
    sd_db: float


@dataclass(frozen=True)
class ReadingsCheck(JsonText):
    """Everything that can be said of a readings file before the judgement.

    Attributes
    ----------
    name : str
        The file, or "the readings table".
    faults : tuple of Fault
        What must be mended before the record can be judged.
    doubts : tuple of Doubt
        What should be known; found without the faulty rows when there are any.
    rows_without_faults : int or None
        How many rows the doubts were looked for in; None when faults of the whole table left nothing to look at.
    swaps, blocks, readings : int
        Of those rows.
    hangings : dict of str to int
        Number of swaps of each candidate.
    noise : tuple of NoiseFacts
        One for each receiver with noise readings; empty when there are none.
    source : SourceFacts or None
        None when the source was not monitored.
    times_from : str
        "minutes", "time", "order" or "swap number"; empty when nothing could be looked at.
    level_form : str
        "level", "range", "level and range" or "S units"; empty when nothing could be looked at.
    """

    name: str
    faults: tuple[Fault, ...]
    doubts: tuple[Doubt, ...] = ()
    rows_without_faults: int | None = None
    swaps: int = 0
    blocks: int = 0
    readings: int = 0
    hangings: dict[str, int] | None = None
    noise: tuple[NoiseFacts, ...] = ()
    source: SourceFacts | None = None
    times_from: str = ""
    level_form: str = ""

    @property
    def can_be_judged(self) -> bool:
        """Whether there is no fault."""
        return not self.faults

    def to_dict(self) -> dict[str, Any]:
        """Return the check as a JSON document; NaN becomes null."""
        return {
            "readings_file": self.name, "can_be_judged": self.can_be_judged,
            "faults": [vars(fault) | {"text": str(fault)} for fault in self.faults],
            "doubts": [doubt.to_dict() for doubt in self.doubts], "rows_without_faults": self.rows_without_faults,
            "readings": self.readings, "swaps": self.swaps, "blocks": self.blocks, "hangings": self.hangings or {},
            "noise": [_without_nan(vars(facts)) for facts in self.noise],
            "source": None if self.source is None else _without_nan(vars(self.source)),
            "times_from": self.times_from, "level_form": self.level_form}


def _without_nan(values: dict[str, Any]) -> dict[str, Any]:
    return {key: None if isinstance(value, float) and np.isnan(value) else value for key, value in values.items()}


def check_readings(
    readings: str | os.PathLike[str] | pd.DataFrame, plan: str | os.PathLike[str] | Plan | None = None,
    order: str | os.PathLike[str] | Order | None = None, *, scale: str | None = None, step_db: float | None = None,
) -> ReadingsCheck:
    """Find all faults and doubts of a record in one pass.

    Where faults lie in single rows, the doubts are looked for in the others.

    Parameters
    ----------
    readings : path or DataFrame
        A readings file (CSV), or a table with its columns.
    plan : path or Plan, optional
        Says the meter's scale and step and the candidates' names.
    order : path or Order, optional
        Says what was to hang in each swap.
    scale : {"dBm", "minus dBm", "dB", "attenuator", "S units"}, optional
        The meter's scale where there is no plan to say it.
    step_db : float, optional, dB
        The meter's step where there is no plan to say it.

    Returns
    -------
    ReadingsCheck

    Raises
    ------
    FileError, PlanError, OrderError
        When a file cannot be read at all, or the plan or order is at fault.
    ReadingsError
        When ``scale`` or ``step_db`` is none.
    """
    check_meter(scale, step_db)
    plan, order = None if plan is None else as_plan(plan), None if order is None else as_order(order)
    name = "the readings table" if isinstance(readings, pd.DataFrame) else str(readings)
    given: dict[str, Any] = {"plan": plan, "order": order, "scale": scale, "step_db": step_db}
    try:
        cells = read_cells(readings)
    except ReadingsError as error:
        return ReadingsCheck(name, error.faults)
    faults = FaultList(cells.name, cells.row_word, cells.faults)
    record = record_from_cells(cells, faults, **given)
    if record is None and faults.of_rows_only:
        sound = cells.rows(~np.isin(cells.lines, sorted(faults.lines)))
        if len(sound):
            record = record_from_cells(replace(sound, faults=()), FaultList(cells.name, cells.row_word), **given)
    if record is None:
        return ReadingsCheck(name, tuple(faults.faults))
    doubts = (*hanging_doubts(record, order, _reference(plan, order)), *level_doubts(record), *_from_reader(record))
    if faults.faults:
        doubts = tuple(doubt for doubt in doubts if doubt.code not in _OF_ABSENT_ROWS)
    return _with_facts(ReadingsCheck(name, tuple(faults.faults), doubts), record)


def _reference(plan: Any, order: Any) -> str | None:
    """Return the reference's name, from the plan or the order's roles."""
    if getattr(plan, "reference", None) is not None:
        return str(plan.reference)
    if order is None or "role" not in order.table:
        return None
    names = order.table.loc[order.table["role"] == "reference", "candidate"]
    return text_of(names.iloc[0]) if len(names) else None


def _from_reader(record: Record) -> list[Doubt]:
    """Return the reader's own warnings that are doubts and were not found more fully elsewhere."""
    found = [Doubt(notice.code, notice.text) for notice in record.notices
             if notice.code in EFFECTS and notice.code in ("signs-mixed", "column-not-used")]
    levels = [name for name in ("level_db", "level_low_db", "level_high_db", "level_s") if name in record.left_out]
    left = record.left_out[record.left_out[levels].map(lambda cell: text_of(cell) != "").any(axis=1)]
    if len(left):
        notes = left["note"].map(text_of) if "note" in left else [""] * len(left)
        text = f"{counted(len(left), 'reading')} with keep = 0: " + listed(
            f"{line} ({note or 'no note'})" for line, note in zip(left["line"], notes, strict=True)) + "."
        found.append(Doubt("rows-left-out", text, whole(left["line"])))
    return found


def _with_facts(check: ReadingsCheck, record: Record) -> ReadingsCheck:
    """Return the check with the counts of the record, its noise and its source."""
    table = record.table
    hangings = table.drop_duplicates("swap")["candidate"].value_counts(sort=False)
    source = table["source_db"] if record.source_monitored else None
    return replace(
        check, rows_without_faults=len(table) + len(record.noise) + len(record.left_out), readings=len(table),
        swaps=int(table["swap"].nunique()), blocks=int(table["block"].nunique()),
        hangings={str(name): int(times) for name, times in hangings.items()}, noise=_noise_facts(record),
        source=None if source is None else SourceFacts(
            float(source.min()), float(source.max()), float(source.std()) if len(source) > 1 else float("nan")),
        times_from=record.times_from, level_form=record.level_form)


def _noise_facts(record: Record) -> tuple[NoiseFacts, ...]:
    """Return the noise of each receiver that has noise readings."""
    level = mid_levels(record.table) + (record.table["source_db"] if record.source_monitored else 0.0)
    facts = []
    for receiver, noise in record.noise.groupby("receiver"):
        floor = float(mid_levels(noise).median())
        margin = float((level[record.table["receiver"] == receiver] - floor).min())
        facts.append(NoiseFacts(str(receiver), len(noise), floor, margin))
    return tuple(facts)
