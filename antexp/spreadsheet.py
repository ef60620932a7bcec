"""Text in cells that no spreadsheet takes for a formula, and back again.

A cell that begins with ``=``, ``+``, ``-``, ``@``, a tab or a carriage return may be executed when the file is opened
(CWE-1236; OWASP, "CSV Injection"; a leading quote mark is the escape of OWASP ASVS 5.0, 1.2.10). Some spreadsheets take
the full-width forms of these signs too, and one set to semicolons begins a cell after each of them.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

_SIGNS = "=+\\-@＝＋－＠"
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_FORMULA = re.compile(rf"(^|;)(?=[ ']*[{_SIGNS}])")
_MARKED = re.compile(rf"(^|;)'(?=[ ']*[{_SIGNS}])")
_CONTROL = re.compile(r"[\x00-\x1f\x7f\u2028\u2029]+")


def is_formula(text: str) -> bool:
    """Tell whether some spreadsheet might execute a cell, or a part of it, that holds this text."""
    return bool(_FORMULA.search(text)) and not _NUMBER.fullmatch(text)


def safe_cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: such text gets a quote mark before it, numbers do not."""
    flat = _CONTROL.sub(" ", text)
    return _FORMULA.sub(r"\1'", flat) if is_formula(flat) else flat


def plain_cell(text: str) -> str:
    """Return a cell as it was before `safe_cell`."""
    return _MARKED.sub(r"\1", text)


def csv_text(columns: Sequence[str], rows: Iterable[Iterable[object]]) -> str:
    r"""Return a table as CSV text with ``\n`` line ends, every text in it safe; None is a blank cell."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([safe_cell(name) for name in columns])
    for row in rows:
        writer.writerow([safe_cell(value) if isinstance(value, str) else value for value in row])
    return text.getvalue()
