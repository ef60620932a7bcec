"""The swaps to be done, as the field needs them: from the order file, or from the reading end's file without names."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from antexp.design.order_file import COLUMNS, READING_END_COLUMNS, read_order
from antexp.errors import Fault, OrderError
from antexp.field.cells import CellTable
from antexp.field.csv_table import read_csv_table
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList

_COUNT = Allowed(1, 1e9, "a whole number from 1", whole=True)
_MINUTES = Allowed(0, 1e6, "minutes from the start of the block, 0 or more")


@dataclass(frozen=True)
class PlannedSwap:
    """One swap to be done.

    Attributes
    ----------
    swap : int
        Counted over the whole experiment.
    block : str
    position : int
        Within the block, from 1.
    minutes : float, minutes
        Planned start within the block.
    word : str
        Check word.
    candidate, specimen, place, role : str
        What hangs; all "" in the reading end's list.
    """

    swap: int
    block: str
    position: int
    minutes: float
    word: str
    candidate: str = ""
    specimen: str = ""
    place: str = ""
    role: str = ""


@dataclass(frozen=True)
class SwapList:
    """All swaps of a day, in order.

    Attributes
    ----------
    swaps : tuple of PlannedSwap
        At least one; swap numbers rise, the swaps of a block stand together.
    path : str
        The file.
    block_starts : tuple of (float or None)
        Clock time of each block's first swap, minutes after midnight; None where nobody planned it.
    minutes_per_swap : float or None, minutes
    plan_sha256 : str or None
        Of the plan the order was made from.
    """

    swaps: tuple[PlannedSwap, ...]
    path: str
    block_starts: tuple[float | None, ...] = ()
    minutes_per_swap: float | None = None
    plan_sha256: str | None = None

    @property
    def has_names(self) -> bool:
        """Tell whether the list says what hangs."""
        return bool(self.swaps[0].candidate)

    @property
    def blocks(self) -> tuple[str, ...]:
        """Return the blocks' labels in order."""
        return tuple(dict.fromkeys(swap.block for swap in self.swaps))

    @property
    def fingerprint(self) -> str:
        """Return a digest of swaps, blocks and words: the same for the order and its reading end's file."""
        rows = "\n".join(f"{swap.swap}\t{swap.block}\t{swap.word}" for swap in self.swaps)
        return hashlib.sha256(rows.encode()).hexdigest()

    def of_block(self, block: str) -> tuple[PlannedSwap, ...]:
        """Return the swaps of one block."""
        return tuple(swap for swap in self.swaps if swap.block == block)

    def without_names(self) -> SwapList:
        """Return what the reading end may know."""
        bare = tuple(PlannedSwap(s.swap, s.block, s.position, s.minutes, s.word) for s in self.swaps)
        return SwapList(bare, self.path, self.block_starts, self.minutes_per_swap, self.plan_sha256)


def read_swap_list(path: str | os.PathLike[str]) -> SwapList:
    """Read the swaps from an order file or from the reading end's file.

    Parameters
    ----------
    path : path-like
        ``order.csv`` or ``order.reading-end.csv``.

    Raises
    ------
    FileError, ReadingsError, OrderError
        When the file cannot be read or is neither of the two, with all faults.
    """
    cells = read_csv_table(path, "order file", COLUMNS)
    if "candidate" in cells:
        order = read_order(path)
        swaps = tuple(PlannedSwap(*(_plain(value) for value in row))
                      for row in order.table[list(COLUMNS)].itertuples(index=False))
        found = SwapList(swaps, str(path), order.block_starts, order.minutes_per_swap, order.plan_sha256)
    else:
        found = SwapList(_bare_swaps(cells), str(path))
    _check(found)
    return found


def _plain(value: Any) -> Any:
    """Return a cell of the order's table as a plain Python value."""
    return value.item() if isinstance(value, np.generic) else value


def _bare_swaps(cells: CellTable) -> tuple[PlannedSwap, ...]:
    """Read the rows of the reading end's file."""
    missing = [name for name in READING_END_COLUMNS if name not in cells]
    if missing:
        raise OrderError(Fault("this is not an order file", f"{cells.name}, line 1",
                               ", ".join(list(cells.columns)[:15])[:300], ", ".join(READING_END_COLUMNS),
                               f"Missing: {', '.join(missing)}."))
    faults = FaultList(cells.name, faults=cells.faults)
    swap = numbers(cells, "swap", faults, _COUNT, blank_is_fault=True)
    position = numbers(cells, "position", faults, _COUNT, blank_is_fault=True)
    minutes = numbers(cells, "minutes", faults, _MINUTES, blank_is_fault=True)
    block, word = cells.texts("block"), cells.texts("word")
    for name, texts in (("block", block), ("word", word)):
        faults.add_rows(f"{name} is blank", cells.lines[texts == ""], column=name)
    faults.raise_if_any()
    return tuple(PlannedSwap(int(s), b, int(p), float(m), w)
                 for s, b, p, m, w in zip(swap, block, position, minutes, word, strict=True))


def _check(found: SwapList) -> None:
    """Raise when swap numbers or words repeat, or a block is torn apart."""
    faults = []
    numbers_seen = [swap.swap for swap in found.swaps]
    if any(later <= earlier for earlier, later in pairwise(numbers_seen)):
        faults.append(Fault("swap numbers do not rise", f"{found.path}, column swap",
                            do="Swaps are numbered over the whole experiment."))
    words = [swap.word for swap in found.swaps]
    doubles = sorted({word for word in words if words.count(word) > 1}) if len(set(words)) < len(words) else []
    if doubles:
        faults.append(Fault("a check word stands twice", f"{found.path}, column word", ", ".join(doubles[:5])[:300],
                            do="Make the order again: a word that comes back cannot catch a slipped swap."))
    runs = [swap.block for place, swap in enumerate(found.swaps)
            if place == 0 or found.swaps[place - 1].block != swap.block]
    if len(set(runs)) < len(runs):
        faults.append(Fault("the swaps of a block do not stand together", f"{found.path}, column block",
                            ", ".join(runs[:10])[:300]))
    if faults:
        raise OrderError(faults)


def companion_path(path: str | os.PathLike[str], suffix: str) -> Path:
    """Return the path of a companion beside an order file: ``order.csv`` and ``card.html`` give ``order.card.html``."""
    order = Path(path)
    stem = order.stem.removesuffix(".reading-end")
    return order.with_name(f"{stem}.{suffix}")
