"""The order on disk: the order file, the reading end's file without names, and the recipe."""

from __future__ import annotations

import csv
import hashlib
import io
import os
import re
from pathlib import Path
from typing import Any

import pandas as pd

import antexp
from antexp.columns import ORDER, ORDER_READING_END
from antexp.design.order_document import Order
from antexp.design.replaceable import refuse_to_replace
from antexp.design.stored_order import StoredOrder, read_stored
from antexp.errors import Fault, OrderError
from antexp.files import decode_text, read_raw, write_all_whole
from antexp.json_text import as_json
from antexp.spreadsheet import csv_text, plain_cell

COLUMNS = ORDER.names
READING_END_COLUMNS = ORDER_READING_END.names
_ROLES = ORDER.column("role").allowed
_COUNT = re.compile(r"[0-9]{1,9}")
_MINUTES = re.compile(r"\+?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_MOST_MINUTES = 1e6  # two years: no block lasts that long
_MAX_BYTES = 64 * 2**20  # far beyond any day; a file above it is something else
_MOST_FAULTS, _LONGEST_SHOWN = 100, 80  # of a message that somebody is to read


def companions(path: str | os.PathLike[str]) -> tuple[Path, Path]:
    """Return the paths of the reading end's file and of the recipe that stand beside an order file."""
    order = Path(path)
    return order.with_name(f"{order.stem}.reading-end.csv"), order.with_name(f"{order.stem}.json")


def write_order(order: Order, path: str | os.PathLike[str]) -> tuple[Path, Path, Path]:
    """Write an order and its two companions, all or none.

    Parameters
    ----------
    order : Order
    path : path-like
        The order file, usually ``order.csv``; ``order.reading-end.csv`` (no names) and ``order.json`` (the recipe)
        are written beside it.

    Returns
    -------
    tuple of Path
        Order file, reading end's file, recipe.

    Raises
    ------
    OrderError
        When the order file would be one of its own companions, or something else stands there already.
    FileError
        When a file cannot be written; then none is.
    """
    write_all_whole(order_files(order, path))
    return Path(path), *companions(path)


def order_files(order: Order, path: str | os.PathLike[str]) -> dict[str | os.PathLike[str], str | bytes]:
    """Return what `write_order` writes: path → content.

    Raises
    ------
    OrderError
        When the order file would be one of its own companions, or something else stands there already.
    """
    target = Path(path)
    if not target.name or target.is_dir():
        raise OrderError(Fault("a file's name is missing", str(path), allowed="a name such as order.csv"))
    reading_end, recipe = companions(target)
    if target.suffix.lower() == ".json":
        raise OrderError(Fault("the order file is a table", str(path), target.name, "a name such as order.csv",
                               "The recipe goes to order.json beside it by itself."))
    refuse_to_replace(target, COLUMNS)
    return {
        target: _csv(order.table, COLUMNS),
        reading_end: _csv(order.table, READING_END_COLUMNS),
        recipe: as_json(_document(order)),
    }


def read_order(path: str | os.PathLike[str]) -> Order:
    """Read an order file, and its recipe where it stands beside it.

    Parameters
    ----------
    path : path-like
        The order file.

    Returns
    -------
    Order
        Without the recipe file: no seed, recipe, precision or gaps.

    Raises
    ------
    FileError, OrderError
        When a file cannot be read, or a row is not a swap; all faults at once.
    """
    raw = read_raw(path, "order file", _MAX_BYTES)
    rows = _rows(raw, path)
    header = [name.strip() for name in rows[0][1]] if rows else []
    missing = [name for name in COLUMNS if name not in header]
    if missing:
        raise OrderError(Fault("the order file lacks columns", f"{path}, line 1", ", ".join(header[:15])[:300],
                               ", ".join(COLUMNS), f"Missing: {', '.join(missing)}."))
    faults: list[Fault] = []
    table = _table(header, rows[1:], str(path), faults)
    if faults:
        raise OrderError(faults[:_MOST_FAULTS])
    _, recipe = companions(path)
    stored = read_stored(recipe) if recipe.is_file() else StoredOrder()
    return Order(
        table=table, seed=stored.seed, recipe=stored.recipe, precision_kept=stored.precision_kept, gaps=stored.gaps,
        warnings=stored.warnings, minutes_per_swap=stored.minutes_per_swap, block_starts=stored.block_starts,
        hung=stored.hung, plan_sha256=stored.plan_sha256,
        sha256=hashlib.sha256(raw).hexdigest(),
    )


def as_order(order: str | os.PathLike[str] | Order) -> Order:
    """Return an order as it is, or read it where its file is named."""
    return read_order(order) if isinstance(order, str | os.PathLike) else order


def _rows(raw: bytes, path: str | os.PathLike[str]) -> list[tuple[int, list[str]]]:
    """Return the filled rows of the order file with their lines."""
    text = decode_text(raw, path, "order file")
    if "\0" in text:
        raise OrderError(Fault("the order file holds NUL bytes", str(path), do="It is damaged: make the order again."))
    reader = csv.reader(io.StringIO(text), strict=True, skipinitialspace=True)
    rows, line = [], 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((line, row))
            line = reader.line_num + 1
    except csv.Error as error:
        raise OrderError(Fault("a row cannot be taken apart into cells", f"{path}, line {line}", str(error),
                               do="Cells in quotes must end with a quote; make the order again.")) from None
    return rows


def _document(order: Order) -> dict[str, Any]:
    """Return what the recipe file holds."""
    return {
        "antexp": antexp.__version__,
        "plan_sha256": order.plan_sha256,
        **order.to_dict(),
        "minutes_per_swap": order.minutes_per_swap,
        "block_starts": list(order.block_starts),
        "hung": order.hung,
        "recipe": order.recipe,
    }


def _csv(table: pd.DataFrame, columns: tuple[str, ...]) -> str:
    """Return columns of the table as CSV text; minutes lose trailing zeros."""
    rows = table[list(columns)].itertuples(index=False)
    return csv_text(columns, ([f"{value:.10g}" if isinstance(value, float) else value for value in row]
                              for row in rows))


def _table(header: list[str], rows: list[tuple[int, list[str]]], path: str, faults: list[Fault]) -> pd.DataFrame:
    """Check the rows and return them typed; faults are collected."""
    previous = 0
    found = []
    for line, cells in rows:
        row = dict(zip(header, map(plain_cell, map(str.strip, cells)), strict=False))
        where = f"{path}, line {line}"
        if len(cells) != len(header):
            faults.append(Fault("a row has not as many cells as the header", where, f"{len(cells)} cells",
                                f"{len(header)} cells"))
            continue
        _check_row(row, where, faults)
        if row["role"] not in _ROLES:
            faults.append(Fault("unknown role", f"{where}, column role", _shown(row["role"]), ", ".join(_ROLES)))
        if _COUNT.fullmatch(row["swap"]):
            if int(row["swap"]) <= previous:
                faults.append(Fault("swap numbers do not rise", f"{where}, column swap", row["swap"],
                                    f"above {previous}", "Swaps are numbered over the whole experiment."))
            previous = int(row["swap"])
        found.append(row)
    _check_reference(found, path, faults)
    table = pd.DataFrame(found, columns=list(COLUMNS))
    return table if faults else table.astype({"swap": int, "position": int, "minutes": float})


def _check_row(row: dict[str, str], where: str, faults: list[Fault]) -> None:
    """Check the numbers and names of one row."""
    for name in ("swap", "position"):
        if not _COUNT.fullmatch(row[name]):
            faults.append(Fault(f"{name} is not a number", f"{where}, column {name}", _shown(row[name]),
                                "a whole number from 0"))
    if not (_MINUTES.fullmatch(row["minutes"]) and float(row["minutes"]) <= _MOST_MINUTES):
        faults.append(Fault("minutes is not a number", f"{where}, column minutes", _shown(row["minutes"]),
                            "minutes from the start of the block"))
    for name in ("block", "candidate", "word"):
        if not row[name]:
            faults.append(Fault(f"{name} is blank", f"{where}, column {name}"))


def _check_reference(rows: list[dict[str, str]], path: str, faults: list[Fault]) -> None:
    """Check that one candidate, and it alone, is the reference."""
    references = list(dict.fromkeys(row["candidate"] for row in rows if row["role"] == "reference"))
    if rows and len(references) != 1:
        faults.append(Fault("the order needs one reference", f"{path}, column role",
                            ", ".join(map(_short, references[:10])) or "none",
                            "one candidate whose every swap has the role reference"))
    elif any(row["role"] == "candidate" and row["candidate"] == references[0] for row in rows):
        faults.append(Fault("the reference also hangs as a candidate", f"{path}, column role", _short(references[0])))
    if not rows and not faults:
        faults.append(Fault("the order file has no swaps", path))


def _short(text: str) -> str:
    """Return a cell for a message, not without end."""
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"


def _shown(text: str) -> str:
    """Return a cell for a message in quotes."""
    return repr(_short(text))
