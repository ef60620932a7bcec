"""The order on disk: the order file, the reading end's file without names, and the recipe."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path
from typing import Any

import pandas as pd

import antexp
from antexp.design.order_document import Order
from antexp.design.precision import GapPrecision
from antexp.errors import Fault, OrderError
from antexp.files import read_text, write_all_whole
from antexp.notices import Notice

COLUMNS: tuple[str, ...] = ("swap", "block", "position", "minutes", "word", "candidate", "specimen", "place", "role")
READING_END_COLUMNS: tuple[str, ...] = COLUMNS[:5]
_ROLES = ("candidate", "reference")


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
        When the order file would be one of its own companions.
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
        When the order file would be one of its own companions.
    """
    target = Path(path)
    reading_end, recipe = companions(target)
    if target.suffix.lower() == ".json":
        raise OrderError(Fault("the order file is a table", str(path), target.name, "a name such as order.csv",
                               "The recipe goes to order.json beside it by itself."))
    return {
        target: _csv(order.table, COLUMNS),
        reading_end: _csv(order.table, READING_END_COLUMNS),
        recipe: json.dumps(_document(order), indent=1, ensure_ascii=False, allow_nan=False) + "\n",
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
    rows = list(csv.reader(io.StringIO(read_text(path, "order file"))))
    header = [name.strip() for name in rows[0]]
    missing = [name for name in COLUMNS if name not in header]
    if missing:
        raise OrderError(Fault("the order file lacks columns", f"{path}, line 1", ", ".join(header),
                               ", ".join(COLUMNS), f"Missing: {', '.join(missing)}."))
    faults: list[Fault] = []
    table = _table([dict(zip(header, row, strict=False)) for row in rows[1:] if any(row)], str(path), faults)
    if faults:
        raise OrderError(faults)
    _, recipe = companions(path)
    stored = _stored(recipe) if recipe.is_file() else {}
    return Order(
        table=table,
        seed=stored.get("seed"),
        recipe=stored.get("recipe", {}),
        precision_kept=stored.get("precision_kept"),
        gaps=tuple(GapPrecision(**gap) for gap in stored.get("gaps", ())),
        notices=tuple(Notice(**notice) for notice in stored.get("warnings", ())),
        minutes_per_swap=stored.get("minutes_per_swap"),
        block_starts=tuple(stored.get("block_starts", ())),
        hung=stored.get("hung", 0),
        plan_sha256=stored.get("plan_sha256"),
    )


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
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for row in table[list(columns)].itertuples(index=False):
        writer.writerow([f"{value:.10g}" if isinstance(value, float) else value for value in row])
    return text.getvalue()


def _table(rows: list[dict[str, str]], path: str, faults: list[Fault]) -> pd.DataFrame:
    """Check the rows and return them typed; faults are collected."""
    previous: int = 0
    for line, row in enumerate(rows, start=2):
        where = f"{path}, line {line}"
        for name, kind in (("swap", int), ("position", int), ("minutes", float)):
            try:
                kind(row.get(name, ""))
            except ValueError:
                faults.append(Fault(f"{name} is not a number", f"{where}, column {name}", repr(row.get(name, ""))))
        for name in ("block", "candidate", "word"):
            if not row.get(name, "").strip():
                faults.append(Fault(f"{name} is blank", f"{where}, column {name}"))
        if row.get("role") not in _ROLES:
            faults.append(Fault("unknown role", f"{where}, column role", repr(row.get("role", "")), ", ".join(_ROLES)))
        if row.get("swap", "").strip().isdecimal():
            if int(row["swap"]) <= previous:
                faults.append(Fault("swap numbers do not rise", f"{where}, column swap", row["swap"],
                                    f"above {previous}", "Swaps are numbered over the whole experiment."))
            previous = int(row["swap"])
    references = list(dict.fromkeys(row.get("candidate", "") for row in rows if row.get("role") == "reference"))
    if rows and len(references) != 1:
        faults.append(Fault("the order needs one reference", f"{path}, column role", ", ".join(references) or "none",
                            "one candidate whose every swap has the role reference"))
    elif any(row.get("role") == "candidate" and row.get("candidate") == references[0] for row in rows):
        faults.append(Fault("the reference also hangs as a candidate", f"{path}, column role", references[0]))
    if not rows:
        faults.append(Fault("the order file has no swaps", path))
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    if faults:
        return table
    return table.astype({"swap": int, "position": int, "minutes": float})


def _stored(path: Path) -> dict[str, Any]:
    """Read the recipe file."""
    try:
        found = json.loads(read_text(path, "recipe of the order"))
    except json.JSONDecodeError as error:
        raise OrderError(Fault("the recipe of the order is not JSON", f"{path}, line {error.lineno}",
                               do="Make the order again, or move the file away.")) from None
    if not isinstance(found, dict):
        raise OrderError(Fault("the recipe of the order is not a JSON object", str(path)))
    return found
