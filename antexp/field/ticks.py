"""How a wire handles, ticked at the terminal once its swap is over: the tick stands on the readings of that swap."""

from __future__ import annotations

from antexp.field.record_book import Book

TICK = "handling"
"""The kind of row that holds a tick, and the column it stands in."""

NOTE = "handling_note"


def with_ticks(book: Book, before: Book) -> Book:
    """Return a book whose readings carry the ticks of their swaps.

    A tick is an entry of its own, so that it can be undone; readings carry the latest that stands. Only swaps that
    have a tick, or had one before, are touched.

    Parameters
    ----------
    book : Book
    before : Book
        What stood until now.
    """
    swaps = {row["swap"] for row in (*before.rows, *book.rows) if row["what"] == TICK}
    if not swaps:
        return book
    blank = {TICK: "", NOTE: ""}
    standing = {row["swap"]: {TICK: row[TICK], NOTE: row[NOTE]} for row in book.rows
                if row["what"] == TICK and row["left_out_by"] == ""}
    rows = tuple({**row, **standing.get(row["swap"], blank)} if row["what"] == "reading" and row["swap"] in swaps
                 else row for row in book.rows)
    return Book(rows, book.undone)


def parse_tick(text: str) -> tuple[str, str]:
    """Understand "4 springs open".

    Returns
    -------
    tick, note : str

    Raises
    ------
    ValueError
        When it does not begin with a whole number from 1 to 5.
    """
    tick, _, note = text.strip().partition(" ")
    if tick not in ("1", "2", "3", "4", "5"):
        raise ValueError(f"How it handles goes from 1 (a nuisance) to 5 (a pleasure): got {tick or 'nothing'}. "
                         "Type t SWAP 4, and a remark if there is one.")
    return tick, note.strip()
