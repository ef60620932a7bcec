"""The two ends' files become one readings file: joined by swap and word, each reading with what really hung."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from antexp.errors import Fault, ReadingsError
from antexp.field.book_columns import HANGING_NEEDED, READING_COLUMNS
from antexp.field.book_file import EndFile, is_count, read_end_file
from antexp.field.clocks import seconds_ahead
from antexp.field.hanging_file import Hanging, HangingRecord, hanging_record, time_faults, word_faults
from antexp.field.record_book import Row
from antexp.field.swap_list import PlannedSwap, SwapList
from antexp.notices import Notice

JOINED_COLUMNS: tuple[str, ...] = (
    "swap", "block", "word", "candidate", "specimen", "place", "receiver", "reading", "time", "level_db",
    "level_low_db", "level_high_db", "level_s", "role", "swr", "height_m", "source_db", "handling",
    "handling_note", "keep", "note", "correction", "what",
)
# Clocks set by the telephone network agree within seconds; compared by voice, within a few (common practice).
CLOCK_SLACK = timedelta(seconds=30)
_SHARED = ("swap", "word", "what", "time", "entry", "left_out_by")


@dataclass(frozen=True)
class Joined:
    """One readings file out of the two ends' files.

    Attributes
    ----------
    columns : tuple of str
    rows : tuple of Row
    readings : int
        Those that count.
    swaps : int
        With at least one reading that counts.
    notices : tuple of Notice
    """

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    readings: int
    swaps: int
    notices: tuple[Notice, ...]


def join_ends(swaps: SwapList, paths: Sequence[str | os.PathLike[str]]) -> Joined:
    """Join the files of the two ends.

    Parameters
    ----------
    swaps : SwapList
        The order, with names.
    paths : sequence of path-like
        The reading end's files (one a device) and at most one of the hanging end, in any order; which is which shows
        in their columns.

    Returns
    -------
    Joined
        Candidates are what really hung: as the hanging end wrote it, else as ordered.

    Raises
    ------
    FileError, ReadingsError
        When a file cannot be read, the two ends contradict each other, or were out of step, with all faults.
    """
    if not swaps.has_names:
        raise ReadingsError(Fault("joining needs the order with names", swaps.path,
                                  do="Give order.csv, not the reading end's file."))
    files = [read_end_file(path, _SHARED, "file of one end") for path in paths]
    hangings = [file for file in files if set(HANGING_NEEDED) <= set(file.columns)]
    readings = [file for file in files if file not in hangings]
    faults = _file_faults(files, hangings, readings, swaps)
    if faults:
        raise ReadingsError(faults[:20])
    hung = hanging_record(hangings[0], swaps) if hangings else None
    rows, faults = _rows(readings, hung, swaps)
    if faults:
        raise ReadingsError(faults[:20])
    counting = [row for row in rows if row["keep"] == "1" and row["role"] != "off"]
    return Joined(JOINED_COLUMNS, tuple(rows), len(counting), len({row["swap"] for row in counting}),
                  tuple(_outside(readings, hung, counting)))


def _file_faults(
    files: Sequence[EndFile], hangings: Sequence[EndFile], readings: Sequence[EndFile], swaps: SwapList
) -> list[Fault]:
    """Return what is wrong with the files themselves."""
    faults = []
    for file in readings:
        missing = [name for name in READING_COLUMNS if name not in file.columns]
        if missing:
            faults.append(Fault("the file is of neither end", file.path, "", "",
                                f"Missing for the reading end: {', '.join(missing)}."))
    if len(hangings) > 1:
        faults.append(Fault("there are two files of the hanging end", ", ".join(file.path for file in hangings), "",
                            "one", "Give the later export alone: it holds all of the earlier one."))
    if not readings:
        faults.append(Fault("there is no file of the reading end", ", ".join(file.path for file in files)))
    for file in files:
        faults += word_faults(file, swaps) + time_faults(file)
    return faults + [
        Fault("reading is not a number", f"{file.path}, line {line}, column reading", row["reading"] or "nothing")
        for file in readings if "reading" in file.columns for line, row in zip(file.lines, file.rows, strict=True)
        if row["what"] in ("reading", "noise") and not is_count(row["reading"])]


def _rows(
    readings: Sequence[EndFile], hung: HangingRecord | None, swaps: SwapList
) -> tuple[list[Row], list[Fault]]:
    """Return the joined rows, and the contradictions between the ends."""
    planned = {str(swap.swap): swap for swap in swaps.swaps}
    rows: list[Row] = []
    faults: list[Fault] = []
    seen: dict[tuple[str, str, str], tuple[str, Row]] = {}
    for file in readings:
        wrong = {row["entry"] for row in file.rows if row["what"] == "wrong" and row["left_out_by"] == ""}
        for line, row in zip(file.lines, file.rows, strict=True):
            if row["what"] not in ("reading", "noise"):
                continue
            where = f"{file.path}, line {line}"
            before = seen.setdefault((row["swap"], row["receiver"], row["reading"]), (where, row))
            if before[1] is not row:
                if before[1] != row:
                    faults.append(_twice(before[0], where, row))
                continue
            hanging = hung.by_swap.get(int(row["swap"])) if hung else None
            joined, fault = _row(row, planned[row["swap"]], hanging, row["left_out_by"] in wrong, where, hung)
            rows.append(joined)
            faults += [fault] if fault else []
    rows.sort(key=lambda row: (int(row["swap"]), row["receiver"], int(row["reading"])))
    return rows, faults


def _twice(first: str, second: str, row: Row) -> Fault:
    name = f", receiver {row['receiver']}" if row["receiver"] else ""
    return Fault("two files hold a reading of one number, and not the same", f"{first} and {second}",
                 f"swap {row['swap']}, reading {row['reading']}{name}",
                 do="Several receivers: give each a name on its page. One record continued on another device: give the "
                 "later export alone.")


def _row(
    row: Row, planned: PlannedSwap, hanging: Hanging | None, wrong_wire: bool, where: str, hung: HangingRecord | None
) -> tuple[Row, Fault | None]:
    """Return one reading with what hung during it."""
    counts = row["keep"] == "1"
    joined = {**{name: row.get(name, "") for name in JOINED_COLUMNS}, "candidate": planned.candidate,
              "specimen": planned.specimen, "place": planned.place}
    if row["what"] == "noise" or hanging is None:
        return joined, None
    if not hanging.hung:
        fault = Fault("the hanging end skipped a swap that the reading end read", where, f"swap {planned.swap}", "",
                      f"See {hung.path if hung else ''}, line {hanging.line}. Settle which is right: set keep to 0 in "
                      "the readings, or take the skip back on the hanging page and export again.") if counts else None
        return joined, fault
    if wrong_wire and hanging.correction:
        counts = True
    known = bool(hanging.candidate)
    return {**joined, "keep": "1" if counts and known else "0",
            "candidate": hanging.candidate or planned.candidate,
            "specimen": hanging.specimen if known else planned.specimen, "place": hanging.place or planned.place,
            "swr": hanging.swr or joined["swr"], "height_m": hanging.height_m or joined["height_m"],
            "source_db": hanging.source_db or joined["source_db"], "handling": hanging.handling,
            "handling_note": hanging.handling_note, "correction": hanging.correction}, None


def _outside(readings: Sequence[EndFile], hung: HangingRecord | None, rows: Iterable[Row]) -> list[Notice]:
    """Return a warning for readings that were taken while, by the clocks, their swap was not up."""
    if hung is None:
        return []
    ahead = seconds_ahead(row for file in readings for row in file.rows)
    # the hanging clock's lead over the reading clock, as either end found it
    lead = timedelta(seconds=ahead if ahead is not None else -(hung.other_ahead_s or 0.0))
    odd = []
    for row in rows:
        hanging = hung.by_swap.get(int(row["swap"]))
        moment = datetime.fromisoformat(row["time"]) + lead
        if hanging is None or hanging.up is None:
            continue
        if moment < hanging.up - CLOCK_SLACK or (hanging.down and moment > hanging.down + CLOCK_SLACK):
            odd.append(row["swap"])
    swaps = list(dict.fromkeys(odd))
    return [Notice("readings-outside-hanging", f"By the two clocks {len(odd)} readings were taken while their swap was "
                   f"not up: swaps {', '.join(swaps[:10])}{' and more' if len(swaps) > 10 else ''}. Were the ends a "
                   "swap out of step, or the clocks never compared?")] if odd else []
