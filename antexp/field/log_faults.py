"""The form of a level log, and which of its lines is at fault when the quick reader stumbles."""

from __future__ import annotations

import csv
import os
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.errors import Fault, FileError, ReadingsError
from antexp.field.numbers import number_of
from antexp.field.whole_lines import cells_of

_LATEST_S = 9e9
"""Seconds since 1970 that nanoseconds still hold in 64 bits: the year 2255; as far before 1970."""
_TIMES = "ISO 8601 (2026-05-01T10:32:05.25, with or without a zone, all alike), or seconds since 1970"


@dataclass(frozen=True)
class LogForm:
    """How a log writes its times.

    Attributes
    ----------
    kind : str
        ``"seconds"`` since 1970, ``"zone"`` (ISO 8601 with its zone) or ``"wall"`` (ISO 8601 without one).
    first : str
        The first time as it stands there.
    columns : int
        How many the head names.
    """

    kind: str
    first: str
    columns: int

    @property
    def dtype(self) -> Any:
        """Return how the quick reader takes the column in."""
        return np.float64 if self.kind == "seconds" else object

    def nanoseconds(self, times: pd.Series) -> NDArray[np.int64]:
        """Return times in nanoseconds since 1970: UTC, for ``"wall"`` by the wall clock.

        Raises
        ------
        ValueError
            When one of them is none.
        """
        if times.isna().any():
            raise ValueError("a time is missing")
        if self.kind == "seconds":
            if (np.abs(times.to_numpy()) > _LATEST_S).any():
                raise ValueError("a time is beyond what is possible")
            return np.rint(times.to_numpy() * 1e6).astype(np.int64) * 1000
        moments = pd.DatetimeIndex(pd.to_datetime(times.to_numpy(), format="ISO8601", utc=self.kind == "zone"))
        if (moments.tz is None) != (self.kind == "wall"):
            raise ValueError("times with and without a zone")
        return moments.as_unit("ns").asi8

    def of_moment(self, moment: datetime) -> int:
        """Return a moment with its zone on the log's time axis, nanoseconds."""
        if self.kind == "wall":
            since = moment.replace(tzinfo=None) - datetime(1970, 1, 1)
        else:
            since = moment - datetime(1970, 1, 1, tzinfo=UTC)
        return since // timedelta(microseconds=1) * 1000


def log_form(path: str | os.PathLike[str]) -> LogForm:
    """Look at the head and the first row of a log.

    Raises
    ------
    FileError, ReadingsError
        When the file cannot be read, has not the two columns, or its first time is none.
    """
    try:
        with open(path, encoding="utf-8-sig", newline="") as stream:
            head, first = stream.readline(1_000_000), stream.readline(1_000_000)
    except FileNotFoundError:
        raise FileError(Fault("there is no such log", str(path), do="Check the name and the folder.")) from None
    except (OSError, UnicodeDecodeError, ValueError) as error:
        raise FileError(Fault("the log cannot be read", str(path), str(error)[:200])) from None
    names = cells_of(head)
    if "time" not in names or "level_db" not in names:
        raise ReadingsError(Fault("the log has not the columns it needs", f"{path}, line 1",
                                  head.strip()[:80] or "nothing", "time,level_db",
                                  "Separate them by commas and name them so in the first line."))
    cells = cells_of(first)
    time = cells[names.index("time")] if len(cells) > names.index("time") else ""
    kind = _kind(time)
    if kind is None:
        raise ReadingsError(Fault("time is not a time", f"{path}, line 2, column time", time or "nothing", _TIMES))
    return LogForm(kind, time, len(names))


def _kind(text: str) -> str | None:
    """Return how a time is written; None when it is none."""
    try:
        return "seconds" if abs(float(text)) <= _LATEST_S else None
    except ValueError:
        pass
    try:
        moment = datetime.fromisoformat(text)
        return None if not 1690 < moment.year < 2255 else "wall" if moment.tzinfo is None else "zone"
    except ValueError:
        return None


def explain(path: str | os.PathLike[str], form: LogForm, error: Exception) -> list[Fault]:
    """Find the first lines at fault, slowly; what the quick reader said where none is found."""
    faults: list[Fault] = []
    try:
        with open(path, encoding="utf-8-sig", newline="") as stream:
            rows = csv.reader(stream)
            names = [name.strip() for name in next(rows)]
            time_at, level_at = names.index("time"), names.index("level_db")
            for row in rows:
                fault = _row_fault(row, time_at, level_at, form, f"{path}, line {rows.line_num}")
                faults += [fault] if fault else []
                if len(faults) == 5:
                    break
    except (csv.Error, UnicodeDecodeError) as trouble:
        faults.append(Fault("the log cannot be taken apart into rows", str(path), str(trouble)[:200]))
    return faults or [Fault("the log cannot be read", str(path), str(error)[:200])]


def _row_fault(row: list[str], time_at: int, level_at: int, form: LogForm, where: str) -> Fault | None:
    """Return what is wrong with a row; None when it is fine."""
    if len(row) <= max(time_at, level_at):
        return Fault("the row is too short", where, ",".join(row)[:60] or "nothing",
                     do="Delete blank rows, and the last one if the log was cut off.")
    time, level = row[time_at].strip(), row[level_at].strip()
    kind = _kind(time)
    if kind != form.kind:
        what = "time is not written like the first one" if kind else "time is not a time"
        return Fault(what, f"{where}, column time", time[:60] or "nothing", f"like {form.first}" if kind else _TIMES)
    number, _ = number_of(level)
    if level and level.lower() != "nan" and np.isnan(number):
        return Fault("level_db is not a number", f"{where}, column level_db", level[:60],
                     "a number with a decimal point")
    if abs(number) > 300:
        return Fault("level_db is not possible", f"{where}, column level_db", level[:60], "-300 to 300")
    return None
