"""From cells to a record: every column read and checked, every fault noted, nothing built on a fault."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.field.cells import CellTable, text_of
from antexp.field.extras import read_extras
from antexp.field.hangings import Hangings, note_twin_names, read_hangings
from antexp.field.header import COLUMNS, check_columns
from antexp.field.levels import Levels, read_levels
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList, counted, listed, plural
from antexp.field.record import Record
from antexp.field.row_kinds import held_readings, is_signal, noise_table, split_kept
from antexp.field.swap_changes import note_swap_faults
from antexp.field.times import Times, read_times
from antexp.field.word_slips import word_slips
from antexp.notices import Notice

_SWAP = Allowed(1, 1e9, "a whole number: 1, 2, 3… over the whole experiment", whole=True)
_READING = Allowed(0, 1e9, "a whole number", whole=True)
# Levels further apart than this that differ in sign are more likely a lost minus than a strong station.
_SIGN_GAP_DB = 30.0


def record_from_cells(
    cells: CellTable, faults: FaultList, *, plan: Any = None, order: Any = None, scale: str | None = None,
    step_db: float | None = None,
) -> Record | None:
    """Read and check every column; the record, or None when there are faults.

    Parameters
    ----------
    cells : CellTable
        The readings as given.
    faults : FaultList
        Takes what is wrong; with any fault in it, also from before, there is no record.
    plan, order, scale, step_db
        As in `antexp.field.readings.read_readings`.
    """
    notices = check_columns(cells, faults, candidate_needed=order is None)
    if notices is None:
        return None
    # A stand-in without `states` counts as stated: it was written by hand.
    stated = scale is not None or not hasattr(plan, "states") or plan.states("meter.scale")
    scale = scale if scale is not None else _of(plan, "meter", "scale")
    step_db = step_db if step_db is not None else _of(plan, "meter", "step_db")
    kept, left_out = split_kept(cells, faults)
    signal = is_signal(kept, faults)
    if not signal.any():
        faults.add("no readings are left",
                   got=f"{counted(len(left_out), 'row')} with keep = 0, {len(kept)} with the source off")
    swap = numbers(kept, "swap", faults, _SWAP, blank_is_fault=True)
    levels = read_levels(kept, faults, scale=scale, stated=stated, step_db=step_db, signal=signal,
                         frequency_mhz=_of(plan, "radio", "frequency_mhz"))
    rows = kept.rows(signal)
    hung, times, columns = _read_signal(rows, faults, swap[signal], plan, order)
    extras = read_extras(rows, faults)
    noise = noise_table(kept.rows(~signal), swap[~signal], levels.rows(~signal), getattr(order, "table", None))
    if faults.faults:
        return None
    table = _assemble(rows, swap[signal], hung, times, columns, levels.rows(signal), extras)
    notices = (*notices, *times.notices, *_notices(rows, hung, left_out, table, order))
    passed = tuple(_own_name(name) for name in rows.columns if name not in COLUMNS)
    return Record(table, left_out.to_frame(), noise, notices, cells.sha256, cells.path, levels.step_db, scale,
                  levels.form, times.source, hung.corrected, passed)


def _own_name(column: str) -> str:
    """Return the name under which a column of the user passes through; ``line`` is taken."""
    return "line_given" if column == "line" else column


def _of(plan: Any, part: str, key: str) -> Any:
    """Return a key of the plan, None where the plan or its part does not have it."""
    return getattr(getattr(plan, part, None), key, None)


def _read_signal(
    rows: CellTable, faults: FaultList, swap: NDArray[np.float64], plan: Any, order: Any
) -> tuple[Hangings, Times, dict[str, NDArray]]:
    """Read what hung, when, on which receiver and as which reading."""
    table = None if order is None else order.table
    names, names_from = (plan.candidate_names, "plan") if plan is not None else (
        (list(dict.fromkeys(text_of(name) for name in table["candidate"])), "order file") if table is not None
        else (None, ""))
    hung = read_hangings(rows, faults, swap=swap, order=table, names=names, names_from=names_from)
    times = read_times(rows, faults, swap=swap, block=hung.block, planned=hung.planned_minutes,
                       minutes_per_swap=_of(plan, "field", "minutes_per_swap"))
    receiver = _receivers(rows, faults)
    reading = _reading_numbers(rows, faults, swap, receiver)
    note_swap_faults(rows, faults, swap=swap, hung=hung, receiver=receiver, reading=reading)
    return hung, times, {"receiver": receiver, "reading": reading}


def _receivers(rows: CellTable, faults: FaultList) -> NDArray[np.object_]:
    """Return the receiver of each row; "1" where the column is not used."""
    receiver = rows.texts("receiver")
    blank = receiver == ""
    if blank.all():
        return np.full(len(rows), "1", dtype=object)
    faults.add_rows("receiver is blank", rows.lines[blank], column="receiver",
                    do="Name the receiver on every row, or on none.")
    note_twin_names(rows, "receiver", receiver, faults)
    return receiver


def _reading_numbers(
    rows: CellTable, faults: FaultList, swap: NDArray[np.float64], receiver: NDArray[np.object_]
) -> NDArray[np.float64]:
    """Return each row's reading number, counted as the rows stand where the column is not used."""
    if rows.has_values("reading"):
        return numbers(rows, "reading", faults, _READING, blank_is_fault=True)
    keys = pd.DataFrame({"swap": swap, "receiver": receiver})
    counted = keys.groupby(["swap", "receiver"], dropna=False).cumcount()
    return counted.to_numpy().astype(np.float64) + 1.0


def _assemble(
    rows: CellTable, swap: NDArray[np.float64], hung: Hangings, times: Times, columns: dict[str, NDArray],
    levels: Levels, extras: dict[str, NDArray],
) -> pd.DataFrame:
    """Return the record's table."""
    source = extras.get("source_db", 0.0)
    others = {_own_name(name): column.given() for name, column in rows.columns.items()
              if name not in COLUMNS}
    return pd.DataFrame({
        "line": rows.lines, "swap": swap.astype(np.int64), "block": hung.block, "candidate": hung.candidate,
        "specimen": hung.specimen, "place": hung.place, "receiver": columns["receiver"], "minutes": times.minutes,
        "reading": columns["reading"].astype(np.int64), "level_db": levels.level_db - source,
        "level_low_db": levels.low_db - source, "level_high_db": levels.high_db - source, **extras, **others})


def _notices(
    rows: CellTable, hung: Hangings, left_out: CellTable, table: pd.DataFrame, order: Any
) -> list[Notice]:
    """Return the warnings of the whole record."""
    notices = []
    left = held_readings(left_out).lines
    if len(left):
        notices.append(Notice("rows-left-out", f"{counted(len(left), 'reading')} with keep = 0 left out: "
                              f"{plural(len(left), rows.row_word)} {listed(left)}."))
    if hung.corrected:
        notices.append(Notice("order-not-as-planned", "Another wire hung than ordered. " + " ".join(hung.corrected)))
    if hung.missing_swaps:
        notices.append(Notice("order-not-as-planned", f"No readings of {counted(len(hung.missing_swaps), 'swap')} "
                              f"of the order: {listed(hung.missing_swaps, 10)}."))
    slips = () if order is None else word_slips(table, order.table)
    if slips:
        notices.append(Notice("words-out-of-step", " ".join(str(slip) for slip in slips[:5])
                              + (f" And {len(slips) - 5} more." if len(slips) > 5 else "")
                              + " Are the two ends out of step?"))
    level = table["level_db"].to_numpy()
    if (level > 0).any() and (level < 0).any() and level[level > 0].min() - level[level < 0].max() > _SIGN_GAP_DB:
        lines = table["line"].to_numpy()[level > 0]
        notices.append(Notice("signs-mixed", "Most levels are negative and some far above 0: "
                              f"{plural(len(lines), rows.row_word)} {listed(lines)}. Was a minus sign lost?"))
    return notices
