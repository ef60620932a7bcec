"""Tables and text in Markdown, for the pages of the documentation that are made from the code."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table; an empty cell becomes a dash, and nothing in a cell breaks its row.

    Parameters
    ----------
    head : sequence of str
        Names of the columns.
    rows : iterable of sequence of str
        As many cells each as there are names.
    """
    lines = [_row(head), _row(["---"] * len(head))]
    return "\n".join([*lines, *(_row([_cell(cell) for cell in row]) for row in rows)]) + "\n"


def code(text: str) -> str:
    """Return text as code; nothing stays nothing."""
    return f"`{text}`" if text else ""


def plain(text: str) -> str:
    """Return a docstring's text as Markdown: references to names and double backquotes become code."""
    return re.sub(r"`+([^`]+)`+", r"`\1`", text).replace("*", r"\*")


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _cell(cell: str) -> str:
    return " ".join(cell.split()).replace("|", r"\|").replace("$", r"\$") or "–"
