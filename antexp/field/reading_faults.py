"""Faults of a table, gathered row by row and said with their count and first five lines."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from antexp.errors import Fault, ReadingsError

SHOWN_ROWS = 5
SHOWN_CHARACTERS = 60
LONGEST_GOT = 1500
# Nearest-name search compares every pair of letters: beyond this it is no help to the reader either.
SEARCHED_NAMES = 300


def shown(value: object) -> str:
    """Return a value in quotes, on one line and no longer than a message can bear."""
    text = str(value)
    short = text if len(text) <= SHOWN_CHARACTERS else f"{text[:SHOWN_CHARACTERS]}…"
    return '"' + "".join(c if c.isprintable() else "�" for c in short) + '"'


def listed(values: Iterable[object], limit: int = SHOWN_ROWS) -> str:
    """Return the first few values joined by commas, and how many more there are."""
    every = list(values)
    text = ", ".join(str(value) for value in every[:limit])
    return f"{text} and {len(every) - limit} more" if len(every) > limit else text


def plural(count: int, word: str) -> str:
    """Return a word in the number that goes with a count."""
    return word if count == 1 else f"{word}s"


def counted(count: int, word: str) -> str:
    """Return a count with its word."""
    return f"{count} {plural(count, word)}"


def nearest(name: str, names: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """Return the names that look most like the given one, the nearest first; none when nothing is near."""
    by_folded = {other[:SHOWN_CHARACTERS].casefold(): other for other in list(names)[:SEARCHED_NAMES]}
    found = difflib.get_close_matches(name[:SHOWN_CHARACTERS].casefold(), by_folded, n=count, cutoff=0.6)
    return tuple(by_folded[folded] for folded in found)


class FaultList:
    """The faults found so far in one table.

    Parameters
    ----------
    name : str
        What the table is called in messages: its path, or "the readings table".
    row_word : str
        What a row is called: "line" of a file, "row" of a DataFrame.
    faults : iterable of Fault
        Those already known.

    Attributes
    ----------
    faults : list of Fault
        Those found so far.
    lines : set of int
        The lines of all rows at fault.
    of_rows_only : bool
        Whether every fault noted here lies in single rows, so that without them the rest could be read.
    """

    def __init__(self, name: str, row_word: str = "line", faults: Iterable[Fault] = ()) -> None:
        self.name = name
        self.row_word = row_word
        self.faults: list[Fault] = list(faults)
        self.lines: set[int] = set()
        self.of_rows_only = True

    def add(self, what: str, *, at: str = "", got: str = "", allowed: str = "", do: str = "") -> None:
        """Note a fault of the whole table, or of a place in it that ``at`` names."""
        self.of_rows_only = False
        self._note(what, at, got, allowed, do)

    def _note(self, what: str, at: str, got: str, allowed: str, do: str) -> None:
        got = got if len(got) <= LONGEST_GOT else f"{got[:LONGEST_GOT]}…"
        self.faults.append(Fault(what, f"{self.name}, {at}" if at else self.name, got, allowed, do))

    def add_rows(
        self, what: str, lines: NDArray[np.int64] | Sequence[int], *, column: str = "",
        got: Iterable[object] = (), allowed: str = "", do: str = "",
    ) -> None:
        """Note one problem that several rows share; nothing happens without rows.

        Parameters
        ----------
        what : str
            The thing and its problem, in the singular.
        lines : array of int, shape (n_rows,)
            The line numbers of the rows at fault.
        column : str
            The column, when the fault lies in one.
        got : iterable
            What stood there; the first five are shown, repetitions once.
        allowed, do : str
            As in `Fault`.
        """
        count = len(lines)
        if count == 0:
            return
        at = f"{plural(count, self.row_word)} {', '.join(str(int(line)) for line in lines[:SHOWN_ROWS])}"
        if count > SHOWN_ROWS:
            at += f" and {count - SHOWN_ROWS} more"
        if column:
            at += f", column {column}"
        several = f" ({count} {self.row_word}s)" if count > 1 else ""
        self.lines.update(int(line) for line in lines)
        self._note(f"{what}{several}", at, listed(dict.fromkeys(got)), allowed, do)

    def raise_if_any(self) -> None:
        """Raise all faults at once.

        Raises
        ------
        ReadingsError
            When there is at least one.
        """
        if self.faults:
            raise ReadingsError(self.faults)
