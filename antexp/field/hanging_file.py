"""What the hanging end wrote, brought down to one hanging a swap."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from antexp.errors import Fault, ReadingsError
from antexp.field.book_columns import HANGING_NEEDED
from antexp.field.book_file import EndFile, read_end_file
from antexp.field.clocks import seconds_ahead
from antexp.field.record_book import Row
from antexp.field.swap_list import SwapList


@dataclass(frozen=True)
class Hanging:
    """What hung in one swap, and when.

    Attributes
    ----------
    swap : int
    line : int
        Of its latest row in the file.
    hung : bool
        False for a swap that was skipped or not reached.
    candidate, specimen, place : str
        What really hung; "" where nobody knows.
    up, down : datetime or None
        When it was up and clear, and when the source had gone into the dummy load, by the hanging end's clock.
    swr, height_m : str
        As written, "" where not measured.
    source_db : str
        A monitor of the source, as written; "" where there is none.
    handling, handling_note : str
        How it was to hang and coil, "1" to "5", and a remark; "" where nobody said.
    correction : str
        Why it is not what was ordered; "" where it is.
    """

    swap: int
    line: int
    hung: bool
    candidate: str = ""
    specimen: str = ""
    place: str = ""
    up: datetime | None = None
    down: datetime | None = None
    swr: str = ""
    height_m: str = ""
    source_db: str = ""
    handling: str = ""
    handling_note: str = ""
    correction: str = ""


@dataclass(frozen=True)
class HangingRecord:
    """The hanging end's file.

    Attributes
    ----------
    path : str
    by_swap : mapping of int to Hanging
        Swaps that the file says something of.
    other_ahead_s : float or None, seconds
        How far the reading end's clock was ahead of this end's, where they were compared.
    """

    path: str
    by_swap: Mapping[int, Hanging]
    other_ahead_s: float | None


def read_hanging_record(path: str | os.PathLike[str], swaps: SwapList) -> HangingRecord:
    """Read the hanging end's file.

    Raises
    ------
    FileError, ReadingsError
        When it cannot be read, or does not belong to the order, with all faults.
    """
    found = read_end_file(path, HANGING_NEEDED, "hanging end's file")
    faults = [*word_faults(found, swaps), *time_faults(found)]
    if faults:
        raise ReadingsError(faults[:20])
    return hanging_record(found, swaps)


def hanging_record(found: EndFile, swaps: SwapList) -> HangingRecord:
    """Return what the rows of a hanging end's file come to."""
    by_swap: dict[int, Hanging] = {}
    for planned in swaps.swaps:
        own = [(line, row) for line, row in zip(found.lines, found.rows, strict=True)
               if row["swap"] == str(planned.swap) and row["left_out_by"] == ""]
        hanging = _one(planned.swap, own)
        if hanging is not None:
            by_swap[planned.swap] = hanging
    return HangingRecord(found.path, by_swap, seconds_ahead(found.rows))


def _one(swap: int, rows: list[tuple[int, Row]]) -> Hanging | None:
    """Return one swap's hanging; None when the file says nothing of it."""
    last = {row["what"]: (line, row) for line, row in rows}
    if "up" not in last:
        ended = last.get("skip") or last.get("stop")
        return Hanging(swap, ended[0], False) if ended else None
    line, up = last["up"]
    really = last["wrong"][1] if "wrong" in last else up
    return Hanging(
        swap=swap, line=line, hung=True, candidate=really["candidate"], specimen=really["specimen"],
        place=really["place"] or up["place"], up=_moment(up["time"]),
        down=_moment(last["down"][1]["time"]) if "down" in last else None,
        swr=up["swr"], height_m=up["height_m"], source_db=up.get("source_db", ""), handling=up["handling"],
        handling_note=up["handling_note"],
        correction=(really["note"] or "a wrong wire was up") if "wrong" in last else "",
    )


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def word_faults(found: EndFile, swaps: SwapList) -> list[Fault]:
    """Return a fault for each row whose swap and word are not those of the order."""
    words = {str(swap.swap): swap.word for swap in swaps.swaps}
    faults = []
    for line, row in zip(found.lines, found.rows, strict=True):
        if row["swap"] not in words:
            faults.append(Fault("the swap is not in the order", f"{found.path}, line {line}", row["swap"] or "nothing",
                                do="Is this the order that the file was made by?"))
        elif words[row["swap"]] != row["word"]:
            faults.append(Fault("the check word is not that of the swap", f"{found.path}, line {line}",
                                f"swap {row['swap']}, word {row['word'] or 'nothing'}", f"word {words[row['swap']]}",
                                "The two ends were out of step here, or the file belongs to another order."))
    return faults


def time_faults(found: EndFile) -> list[Fault]:
    """Return a fault for each time that is none, or has no zone."""
    faults = []
    for line, row in zip(found.lines, found.rows, strict=True):
        for name in ("time", "other_time"):
            if (name == "time" or row.get(name)) and not _is_moment(row[name]):
                faults.append(Fault(f"{name} is not a time with its zone", f"{found.path}, line {line}, column {name}",
                                    row[name] or "nothing", "2026-05-01T10:32:05+02:00"))
    return faults


def _is_moment(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False
