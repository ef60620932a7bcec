"""The whole lines of a log, block after block: neither a cut-off end nor a monstrous row reaches the quick reader."""

from __future__ import annotations

import csv
import io
import os
from typing import Any

import numpy as np

from antexp.errors import Fault

_LONGEST_LINE = 1_000_000
_CELLS_TO_SPARE = 8
"""So many cells more than the head names may stand in a row, as loggers leave commas at line ends."""


class WholeLines(io.RawIOBase):
    """A log up to its last line end: a row that was cut off, by a power failure or a log still running, is not read.

    A row with many more cells than the head names stops it: the quick reader makes room for as many in every row.

    Parameters
    ----------
    path : path-like
    columns : int
        How many the head names.

    Attributes
    ----------
    fault : Fault or None
        What stopped it.
    """

    def __init__(self, path: str | os.PathLike[str], columns: int) -> None:
        self._path, self._most = path, columns + _CELLS_TO_SPARE
        self._stream = open(path, "rb")  # noqa: SIM115  (closed with this one)
        self._end = b"\n" if b"\n" in self._stream.read(_LONGEST_LINE) else b"\r"
        self._left = self._length()
        self._lines, self._begun = 0, b""
        self.fault: Fault | None = None

    def _length(self) -> int:
        """Return how many bytes there are up to the last line end, and stand at the first."""
        end = self._stream.seek(0, os.SEEK_END)
        start = max(0, end - _LONGEST_LINE)
        self._stream.seek(start)
        tail = self._stream.read()
        self._stream.seek(0)
        return start + tail.rfind(self._end) + 1 if self._end in tail else end

    def readable(self) -> bool:
        """Tell that it can be read."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Read into a buffer and return how much."""
        data = self._stream.read(min(len(buffer), self._left))
        buffer[: len(data)] = data
        self._left -= len(data)
        self._check_width(data)
        return len(data)

    def _check_width(self, data: bytes) -> None:
        """Stop at a row with too many cells; the begun row stays until its end is there."""
        if not data:
            return
        block = self._begun + data
        letters = np.frombuffer(block, np.uint8)
        starts = np.concatenate([[0], np.flatnonzero(letters == ord(self._end)) + 1])
        commas = np.add.reduceat(letters == ord(","), starts[starts < letters.size], dtype=np.int64)
        for place in np.flatnonzero(commas >= self._most).tolist():
            line = block[starts[place]:][:_LONGEST_LINE].partition(self._end)[0].decode("utf-8", "replace")
            if '"' not in line or len(cells_of(line)) > self._most:  # commas in quotes part no cells
                self._stop(place, "the row has more cells than the head", f"{commas[place] + 1:,} cells",
                           f"{self._most - _CELLS_TO_SPARE}, as in line 1")
        self._lines += len(starts) - 1
        self._begun = block[starts[-1]:]
        if len(self._begun) > _LONGEST_LINE:
            self._stop(0, "a row is longer than any of a log", f"more than {_LONGEST_LINE:,} letters")

    def _stop(self, further: int, what: str, got: str, allowed: str = "") -> None:
        """Keep what is wrong some lines further on, and end the reading."""
        self.fault = Fault(what, f"{self._path}, line {self._lines + further + 1}", got, allowed,
                           "Is this row from another file? Delete it.")
        raise ValueError(what)

    def close(self) -> None:
        """Close the file."""
        self._stream.close()
        super().close()


def cells_of(line: str) -> list[str]:
    """Take a line apart; none where a cell is longer than any sensible one."""
    try:
        return [cell.strip() for cell in next(csv.reader([line]), [])]
    except csv.Error:
        return []
