"""The reference page of files and their columns, made from the data dictionary."""

from __future__ import annotations

from antexp.columns import (
    BENCH_BOOK,
    HANGING_RECORD,
    ORDER,
    ORDER_READING_END,
    READING_RECORD,
    READINGS,
    TABLES,
    Column,
    Table,
)
from antexp.report.markdown import code, plain, table

_FILES = {
    ORDER: "`order.csv`, written by `antexp order PLAN -o order.csv`.",
    ORDER_READING_END: "`order.reading-end.csv`, written beside it: the order without names, for the end that reads.",
    READINGS: "`readings.csv`, yours, or written by `antexp record` and `antexp join`. Required are `swap`, a level, "
    "and `candidate` unless an order file is given. Other columns pass through untouched; the file is never changed.",
    READING_RECORD: "`order.reading-end.record.csv`, exported by the reading end's page; the recorder writes the "
    "same, with names where the order has them. It is a readings file: a row without a level is a remark, no reading.",
    HANGING_RECORD: "`order.hanging-end.record.csv`, exported by the hanging end's page, for `antexp join` and "
    "`antexp record --from log`.",
    BENCH_BOOK: "Read by `antexp trim` and by `antexp judge`: one row a measurement, in time order.",
}

_FILES_HEAD = """# Files and their columns

Every table that antexp reads or writes, made from the data dictionary in its code. Files are CSV in UTF-8 with a
comma between cells and a point in numbers; a byte-order mark and Windows line ends are accepted. The plan has a page of
its own: [plan keys](plan.md); what `judge` writes is on [results](results.md).
"""


def files_page() -> str:
    """Return the page of files and columns."""
    parts = [_FILES_HEAD]
    for each in TABLES:
        if each in _FILES:
            parts.append(f"## {_title(each)}\n\n{_FILES[each]} A row is {each.row}.\n\n{columns_table(each)}")
    return "\n".join(parts)


def columns_table(each: Table) -> str:
    """Return a table's columns as Markdown."""
    rows = [
        (code(column.name), _meaning(column), column.kind, column.unit, "yes" if column.required else "no")
        for column in each.columns
    ]
    return table(("column", "meaning", "kind", "unit", "required"), rows)


def _meaning(column: Column) -> str:
    """Return what a column means, and the words it may hold."""
    words = f" One of: {', '.join(code(word) for word in column.allowed)}." if column.allowed else ""
    return f"{plain(column.meaning)}{words}"


def _title(each: Table) -> str:
    """Return a table's name as a heading."""
    return each.name[0].upper() + each.name[1:]
