"""Tables at any width of the terminal: what does not fit side by side is laid out one below the other."""

from __future__ import annotations

from rich.console import Console
from rich.measure import Measurement
from rich.table import Column, Table
from rich.text import Text

_PADDING = 3  # room that rich puts around a column
_EDGES = 2
_KEY_AT_LEAST = 14
_UNBOUNDED = 100_000  # a width at which nothing wraps


def print_table(console: Console, table: Table) -> None:
    """Print a table; where it is wider than the terminal, as several that repeat the first column.

    Parameters
    ----------
    console : Console
    table : Table
        Numbers stand in columns that are justified right; they are never cut or broken.
    """
    for part in folded(table, console):
        console.print(part)


def folded(table: Table, console: Console) -> list[Table]:
    """Return a table as it is where it fits, else as many as the width asks for."""
    if Measurement.get(console, console.options.update(max_width=_UNBOUNDED), table).maximum <= console.width:
        return [table]
    keys = _keys(table, console.width)
    taken_by_keys = sum(least + _PADDING for _, least in keys)
    groups: list[list[tuple[Column, int]]] = [[]]
    for column in table.columns[len(keys):]:
        taken = taken_by_keys + sum(least + _PADDING for _, least in groups[-1]) + _least(column)
        if groups[-1] and taken + _EDGES > console.width:
            groups.append([])
        groups[-1].append((column, _least(column)))
    return [_part(table, _widened([*keys, *group], console.width), group is groups[0], group is groups[-1])
            for group in groups]


def _keys(table: Table, width: int) -> list[tuple[Column, int]]:
    """Return the columns that say what a row is about, the first and whom it is held against, with least widths."""
    several = len(table.columns) > 2 and _text(table.columns[1].header) == "against"
    columns = table.columns[:2] if several else table.columns[:1]
    widest = max(_least(column) for column in table.columns[len(columns):])
    most = max((width - _EDGES - widest) // len(columns) - _PADDING, 1)  # so that any one column fits beside them
    return [(column, min(max(_widest_word(column), _KEY_AT_LEAST), _whole(column), most)) for column in columns]


def _widened(columns: list[tuple[Column, int]], width: int) -> list[tuple[Column, int]]:
    """Give the room that is left to the columns of text, letter by letter, the narrowest first."""
    widths = [least for _, least in columns]
    left = width - _EDGES + _PADDING - sum(least + _PADDING for least in widths)
    while left > 0:
        short = [place for place, (column, _) in enumerate(columns)
                 if column.justify != "right" and widths[place] < _whole(column)]
        if not short:
            break
        widths[min(short, key=lambda place: widths[place])] += 1
        left -= 1
    return [(column, found) for (column, _), found in zip(columns, widths, strict=True)]


def _part(table: Table, columns: list[tuple[Column, int]], begins: bool, ends: bool) -> Table:
    """Return a table of some columns; the title stands over the first part, the caption under the last."""
    part = Table(box=table.box, pad_edge=table.pad_edge, show_header=table.show_header,
                 title=table.title if begins else None, title_justify=table.title_justify,
                 caption=table.caption if ends else None, caption_justify=table.caption_justify)
    for column, width in columns:
        part.add_column(column.header, justify=column.justify, overflow="fold", width=width)
    cells = [list(column.cells) for column, _ in columns]
    for place, row in enumerate(table.rows):
        part.add_row(*(column[place] for column in cells), style=row.style, end_section=row.end_section)
    return part


def _least(column: Column) -> int:
    """Return the width below which a column is no longer read: numbers in one piece, text word by word."""
    if column.justify == "right":
        return max([_longest_word(_text(column.header)), *(len(_text(cell)) for cell in column.cells)])
    return _widest_word(column)


def _widest_word(column: Column) -> int:
    return max(_longest_word(_text(cell)) for cell in (column.header, *column.cells))


def _whole(column: Column) -> int:
    return max(len(_text(cell)) for cell in (column.header, *column.cells))


def _longest_word(text: str) -> int:
    return max([len(word) for word in text.split()] or [1])


def _text(cell: object) -> str:
    """Return a cell's letters as they are shown."""
    return cell.plain if isinstance(cell, Text) else str(cell)
