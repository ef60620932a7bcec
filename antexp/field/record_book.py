"""The record while it is written: rows in the order in which they came, undo within the rows themselves.

A user's action is an entry. Its rows carry its number, and rows that it left out carry it too, so that a file tells
the whole story, can be judged at any time, and undo works after any interruption. The pages keep the same book.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from antexp.field.book_columns import MORE_WHEN_WANDERING
from antexp.field.swap_list import PlannedSwap, SwapList

Row = Mapping[str, str]
COUNTING = ("reading", "noise", "up", "down")
ENDING = ("skip", "stop", "enough", "wrong")


@dataclass(frozen=True)
class Undone:
    """An entry that was taken back.

    Attributes
    ----------
    rows : tuple of Row
        What it had written.
    left_out : tuple of int
        The places of the rows that it had left out.
    """

    rows: tuple[Row, ...]
    left_out: tuple[int, ...]


@dataclass(frozen=True)
class Book:
    """The record of one end.

    Attributes
    ----------
    rows : tuple of Row
        Every cell as text; entries rise.
    undone : tuple of Undone
        What can be brought back, the latest last; the next entry empties it.
    """

    rows: tuple[Row, ...] = ()
    undone: tuple[Undone, ...] = field(default=())

    @property
    def last_entry(self) -> int:
        """Return the number of the latest entry, 0 for an empty book."""
        return int(self.rows[-1]["entry"]) if self.rows else 0

    def with_entry(self, added: Iterable[Row], leaves_out: Callable[[Row], bool] | None = None) -> Book:
        """Return the book with one more entry.

        Parameters
        ----------
        added : iterable of Row
            Its rows.
        leaves_out : callable, optional
            Tells which of the rows so far it leaves out.
        """
        entry = str(self.last_entry + 1)
        old = tuple({**row, "keep": "0", "left_out_by": entry} if leaves_out and leaves_out(row) else row
                    for row in self.rows)
        new = tuple({**row, "keep": own_keep(row), "entry": entry, "left_out_by": ""} for row in added)
        return Book(old + new)

    def undo(self) -> Book:
        """Return the book without its latest entry; an empty book stays as it is."""
        if not self.rows:
            return self
        entry = str(self.last_entry)
        rows = tuple(row for row in self.rows if row["entry"] != entry)
        left = tuple(place for place, row in enumerate(rows) if row["left_out_by"] == entry)
        restored = tuple({**row, "keep": own_keep(row), "left_out_by": ""} if row["left_out_by"] == entry else row
                         for row in rows)
        return Book(restored, (*self.undone, Undone(self.rows[len(rows):], left)))

    def bring_back(self) -> Book:
        """Return the book with the entry that was undone last; the book itself where there is none."""
        if not self.undone:
            return self
        item = self.undone[-1]
        entry = item.rows[0]["entry"]
        rows = tuple({**row, "keep": "0", "left_out_by": entry} if place in item.left_out else row
                     for place, row in enumerate(self.rows))
        return Book(rows + item.rows, self.undone[:-1])

    def standing(self, swap: int, *what: str) -> tuple[Row, ...]:
        """Return the rows of a swap, of some kinds, that nothing has left out."""
        return tuple(row for row in self.rows
                     if row["swap"] == str(swap) and row["left_out_by"] == "" and row["what"] in what)

    def readings(self, swap: int) -> tuple[Row, ...]:
        """Return the readings of a swap that count."""
        return tuple(row for row in self.standing(swap, "reading") if row["keep"] == "1")

    def wanted(self, swap: int, readings: int) -> int:
        """Return how many readings the swap is to have: the planned ones, and more where it wanders."""
        return readings + MORE_WHEN_WANDERING * len(self.standing(swap, "wanders"))

    def is_read(self, swap: int, readings: int) -> bool:
        """Tell whether the reading end is through with a swap."""
        return bool(self.standing(swap, *ENDING)) or len(self.readings(swap)) >= self.wanted(swap, readings)

    def present(self, swaps: SwapList, readings: int) -> PlannedSwap | None:
        """Return the swap that is to be read next; None when all are done."""
        return next((swap for swap in swaps.swaps if not self.is_read(swap.swap, readings)), None)

    def next_reading(self, swap: int) -> int:
        """Return the number of the next reading of a swap; numbers of those left out are not used again."""
        return 1 + max((int(row["reading"]) for row in self.rows
                        if row["swap"] == str(swap) and row["reading"]), default=0)


def own_keep(row: Row) -> str:
    """Return "1" for a row that counts unless something leaves it out, "0" for a remark and the like."""
    return "1" if row["what"] in COUNTING else "0"


def again_leaves_out(swap: int) -> Callable[[Row], bool]:
    """Return what reading a swap again leaves out: all of it but noise, remarks and the clocks."""
    return lambda row: (row["swap"] == str(swap) and row["left_out_by"] == ""
                        and row["what"] in ("reading", "wanders", *ENDING))


def wrong_wire_leaves_out(swap: int) -> Callable[[Row], bool]:
    """Return what a wrong wire leaves out at the reading end: the swap's readings, until the ends are joined."""
    return lambda row: row["swap"] == str(swap) and row["left_out_by"] == "" and row["what"] == "reading"
