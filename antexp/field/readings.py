"""Reading the record: a readings file, or a DataFrame, checked whole before a number of it is used."""

from __future__ import annotations

import os
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.field.cells import CellTable, frame_cells, text_of
from antexp.field.csv_table import read_csv_table
from antexp.field.extras import read_extras
from antexp.field.hangings import Hangings, note_twin_names, read_hangings
from antexp.field.header import COLUMNS, check_columns
from antexp.field.levels import Levels, read_levels
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList, listed, shown
from antexp.field.record import Record
from antexp.field.times import Times, read_times
from antexp.notices import Notice

_SWAP = Allowed(1, 1e9, "a whole number: 1, 2, 3… over the whole experiment", whole=True)
_READING = Allowed(0, 1e9, "a whole number", whole=True)
_NOISE_COLUMNS = ["line", "swap", "block", "receiver", "minutes", "level_db", "level_low_db", "level_high_db"]
# Levels further apart than this that differ in sign are more likely a lost minus than a strong station.
_SIGN_GAP_DB = 30.0


def read_readings(
    source: str | os.PathLike[str] | pd.DataFrame, plan: Any = None, order: Any = None, *,
    scale: str | None = None, step_db: float | None = None,
) -> Record:
    """Read and check a record; everything that is wrong with it is said at once.

    The reader never guesses: what is not plainly said is asked back.

    Parameters
    ----------
    source : path-like or DataFrame
        A readings file (CSV), or a table with its columns. It is never changed.
    plan : Plan, optional
        Says the meter's scale and step and the candidates' names.
    order : Order, optional
        Says what was to hang in each swap; looked up by ``swap`` where the readings do not say it.
    scale : {"dBm", "minus dBm", "dB", "attenuator", "S units"}, optional
        The meter's scale where there is no plan to say it.
    step_db : float, optional
        The meter's step, dB, where there is no plan to say it.

    Returns
    -------
    Record

    Raises
    ------
    FileError
        When the file is missing, a folder, empty, not UTF-8 or far too large.
    ReadingsError
        When anything in it cannot be trusted, with all faults.
    """
    cells = frame_cells(source, "readings") if isinstance(source, pd.DataFrame) else read_csv_table(
        source, "readings file", COLUMNS)
    faults = FaultList(cells.name, cells.row_word, cells.faults)
    notices = list(check_columns(cells, faults, candidate_needed=order is None))
    scale = scale if scale is not None else _of(plan, "meter", "scale")
    step_db = step_db if step_db is not None else _of(plan, "meter", "step_db")
    kept, left_out = _split_kept(cells, faults)
    signal = _is_signal(kept, faults)
    if not signal.any():
        faults.add("no readings are left", got=f"{len(left_out)} rows with keep = 0, {len(kept)} with the source off")
    swap = numbers(kept, "swap", faults, _SWAP, blank_is_fault=True)
    levels = read_levels(kept, faults, scale=scale, step_db=step_db, signal=signal,
                         frequency_mhz=_of(plan, "radio", "frequency_mhz"))
    rows = kept.rows(signal)
    hung, times, columns = _read_signal(rows, faults, swap[signal], plan, order)
    extras = read_extras(rows, faults)
    noise = _noise(kept, swap, levels, ~signal)
    faults.raise_if_any()
    table = _assemble(rows, swap[signal], hung, times, columns, _take(levels, signal), extras)
    notices += [*times.notices, *_notices(rows, hung, left_out, table, order)]
    passed = tuple(name for name in rows.columns if name not in COLUMNS and name != "line")
    return Record(table, left_out.to_frame(), noise, tuple(notices), cells.sha256, cells.path,
                  levels.step_db, scale, levels.form, times.source, passed)


def _of(plan: Any, part: str, key: str) -> Any:
    """Return a key of the plan, None where the plan or its part does not have it."""
    return getattr(getattr(plan, part, None), key, None)


def _split_kept(cells: CellTable, faults: FaultList) -> tuple[CellTable, CellTable]:
    """Return the rows to use and the rows with keep = 0."""
    if "keep" not in cells:
        return cells, cells.rows(np.zeros(len(cells), dtype=bool))
    words = {"": True, "1": True, "true": True, "0": False, "false": False}
    texts = [text.lower() for text in cells.texts("keep")]
    bad = [row for row, text in enumerate(texts) if text not in words]
    faults.add_rows("keep is neither 0 nor 1", cells.lines[bad], column="keep", got=[shown(texts[r]) for r in bad[:50]],
                    allowed="1 or blank (use the row), 0 (leave it out)")
    keep = np.array([words.get(text, True) for text in texts], dtype=bool)
    return cells.rows(keep), cells.rows(~keep)


def _is_signal(cells: CellTable, faults: FaultList) -> NDArray[np.bool_]:
    """Tell which rows read the signal; the others read the noise with the source off."""
    texts = np.array([text.lower() for text in cells.texts("role")], dtype=object)
    bad = np.flatnonzero(~np.isin(texts.astype(str), ["", "on", "off", "candidate", "reference"]))
    faults.add_rows("role is not known", cells.lines[bad], column="role", got=[shown(texts[r]) for r in bad[:50]],
                    allowed='blank, "on", "candidate", "reference", or "off" (source off: the noise)')
    return texts != "off"


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
    return hung, times, {"receiver": receiver, "reading": _reading_numbers(rows, faults, swap, receiver)}


def _receivers(rows: CellTable, faults: FaultList) -> NDArray[np.object_]:
    """Return the receiver of each row; "1" where the column is not used."""
    receiver = rows.texts("receiver")
    blank = receiver == ""
    if blank.all():
        return np.full(len(rows), "1", dtype=object)
    faults.add_rows("receiver is blank", rows.lines[blank], do="Name the receiver on every row, or on none.")
    note_twin_names(rows, "receiver", receiver, faults)
    return receiver


def _reading_numbers(
    rows: CellTable, faults: FaultList, swap: NDArray[np.float64], receiver: NDArray[np.object_]
) -> NDArray[np.float64]:
    """Return each row's reading number, counted as the rows stand where the column is not used."""
    keys = pd.DataFrame({"swap": swap, "receiver": receiver})
    if not rows.has_values("reading"):
        counted = keys.groupby(["swap", "receiver"], dropna=False).cumcount()
        return counted.to_numpy().astype(np.float64) + 1.0
    reading = numbers(rows, "reading", faults, _READING, blank_is_fault=True)
    keys["reading"] = reading
    double = np.flatnonzero(keys.duplicated(keep=False).to_numpy() & ~np.isnan(reading) & ~np.isnan(swap))
    faults.add_rows("a reading stands twice", rows.lines[double], column="swap, reading, receiver",
                    got=[f"swap {swap[r]:g}, reading {reading[r]:g}, receiver {receiver[r]}" for r in double[:50]],
                    do="Delete the copy, or number the readings of a swap 1, 2, 3…")
    return reading


def _take(levels: Levels, rows: NDArray[np.bool_]) -> Levels:
    """Return the levels of some rows."""
    return Levels(levels.level_db[rows], levels.low_db[rows], levels.high_db[rows], levels.step_db, levels.form)


def _assemble(
    rows: CellTable, swap: NDArray[np.float64], hung: Hangings, times: Times, columns: dict[str, NDArray],
    levels: Levels, extras: dict[str, NDArray],
) -> pd.DataFrame:
    """Return the record's table."""
    source = extras.get("source_db", 0.0)
    others = {f"{name}_given" if name == "line" else name: column.given() for name, column in rows.columns.items()
              if name not in COLUMNS}
    return pd.DataFrame({
        "line": rows.lines, "swap": swap.astype(np.int64), "block": hung.block, "candidate": hung.candidate,
        "specimen": hung.specimen, "place": hung.place, "receiver": columns["receiver"], "minutes": times.minutes,
        "reading": columns["reading"].astype(np.int64), "level_db": levels.level_db - source,
        "level_low_db": levels.low_db - source, "level_high_db": levels.high_db - source, **extras, **others})


def _noise(cells: CellTable, swap: NDArray[np.float64], levels: Levels, off: NDArray[np.bool_]) -> pd.DataFrame:
    """Return the rows read with the source off."""
    rows, level = cells.rows(off), _take(levels, off)
    quiet = FaultList(cells.name)
    minutes = numbers(rows, "minutes", quiet, Allowed(-np.inf, np.inf, ""))
    values = [rows.lines, swap[off], rows.texts("block"), rows.texts("receiver"), minutes, level.level_db,
              level.low_db, level.high_db]
    return pd.DataFrame(dict(zip(_NOISE_COLUMNS, values, strict=True)))


def _notices(
    rows: CellTable, hung: Hangings, left_out: CellTable, table: pd.DataFrame, order: Any
) -> list[Notice]:
    """Return the warnings of the whole record."""
    notices = []
    if len(left_out):
        notices.append(Notice("rows-left-out", f"{len(left_out)} rows with keep = 0 are left out: {rows.row_word}s "
                              f"{listed(left_out.lines)}."))
    if hung.corrected:
        notices.append(Notice("order-not-as-planned", "Another wire hung than ordered. " + " ".join(hung.corrected)))
    if hung.missing_swaps:
        notices.append(Notice("order-not-as-planned", f"{len(hung.missing_swaps)} swaps of the order have no readings: "
                              f"{listed(hung.missing_swaps, 10)}."))
    level = table["level_db"].to_numpy()
    if (level > 0).any() and (level < 0).any() and level[level > 0].min() - level[level < 0].max() > _SIGN_GAP_DB:
        lines = table["line"].to_numpy()[level > 0]
        notices.append(Notice("signs-mixed", f"Most levels are negative and some far above 0: {rows.row_word}s "
                              f"{listed(lines)}. Was a minus sign lost?"))
    return notices
