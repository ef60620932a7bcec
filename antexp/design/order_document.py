"""A finished swap order: the table, how it was drawn, and what it can tell."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from antexp.design.precision import GapPrecision
from antexp.json_text import JsonText
from antexp.notices import Notice
from antexp.views import Viewable


@dataclass(frozen=True, eq=False)
class Order(JsonText, Viewable):
    """A swap order.

    Attributes
    ----------
    table : DataFrame
        One row a swap, the columns of the order file: ``swap, block, position, minutes, word, candidate, specimen,
        place, role``; ``block``, ``specimen`` and ``place`` are text.
    seed : int
    recipe : dict
        How to draw another order from the same set (`antexp.design.recipe.Recipe`); empty for an order file without
        its companion.
    precision_kept : float or None
        Share of the precision that drift leaves, 0 … 1.
    gaps : tuple of GapPrecision
        What the order can tell about each asked gap.
    warnings : tuple of Notice
        What should be known of the order.
    minutes_per_swap : float or None, minutes
    block_starts : tuple of (float or None)
        Clock time of each block's first swap, minutes after midnight, where the plan has sittings.
    hung : int
        Swaps at the head of the table that hung before the rest was laid out anew.
    plan_sha256 : str or None
        Of the plan file.
    sha256 : str or None
        Of the order file; None of an order that was not read from one.
    """

    table: pd.DataFrame
    seed: int | None
    recipe: dict[str, Any]
    precision_kept: float | None
    gaps: tuple[GapPrecision, ...]
    warnings: tuple[Notice, ...] = ()
    minutes_per_swap: float | None = None
    block_starts: tuple[float | None, ...] = field(default=())
    hung: int = 0
    plan_sha256: str | None = None
    sha256: str | None = None

    @property
    def swaps(self) -> int:
        """Return the number of swaps."""
        return len(self.table)

    @property
    def blocks(self) -> int:
        """Return the number of blocks."""
        return int(self.table["block"].nunique())

    @property
    def reference(self) -> str:
        """Return the reference's name: the candidate of the swaps with that role."""
        return str(self.table.loc[self.table["role"] == "reference", "candidate"].iloc[0])

    @property
    def hours(self) -> float | None:
        """Return the hours of swapping, breaks not counted."""
        return None if self.minutes_per_swap is None else self.swaps * self.minutes_per_swap / 60

    def to_dict(self) -> dict[str, Any]:
        """Return what the order can tell, as ``antexp order --json`` prints it beside facts of the layout."""
        return {
            "swaps": self.swaps,
            "blocks": self.blocks,
            "hours": self.hours,
            "precision_kept": self.precision_kept,
            "gaps": [gap.to_dict() for gap in self.gaps],
            "seed": self.seed,
            "warnings": [notice.to_dict() for notice in self.warnings],
        }
