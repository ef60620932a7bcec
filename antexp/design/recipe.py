"""The recipe of an order: all that is needed to draw another one from the same set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter, ValidationError

from antexp.design.information import Slots, asked_codes
from antexp.design.stored_order import stored_faults
from antexp.errors import Fault, OrderError


@dataclass(frozen=True)
class Recipe:
    """Restricted randomisation in numbers; everything is plain so that it goes into a file and comes back.

    Attributes
    ----------
    names : tuple of str
        The reference first; a code is a place in this tuple.
    compare : str
    drift : str
        Form of drift in the variance that selects.
    walk_variance : float
        Random walk per hour in units of the swap variance (``wandering`` alone).
    specimens : tuple of int
        Specimens of each name.
    places : int
    block, place : tuple of int, length n
        Of each slot, zero-based, in time order.
    minutes : tuple of float, length n, minutes
    fixed : tuple of int, length n
        Code in the slots that never change (the reference's, and what was hung before a replan); −1 where it is drawn.
    fixed_specimens : tuple of int, length n
        Specimen already hung in a slot, zero-based; −1 where the rotation decides.
    labels : tuple of int
        Codes to be drawn, one for each drawn slot in time order; they are shuffled within block and place.
    classes : tuple of tuple of int
        Codes that trade names with each other at random in every draw: equal repeats, specimens and availability.
    rules : tuple of str
        Rules in force (`antexp.design.order_rules`).
    reference_every : int or None
    seed : int
        Of the order.
    stream_a_draws : int
        Orders that set the threshold.
    best : float
        The smallest mean variance of the asked gaps among them, in units of the swap variance.
    kept_share : float
        The share of them at or below the threshold.
    threshold : float
        Largest mean variance an order of the set may have.
    chosen_draw : int
        The draw of stream B that became the order, counted from 1.
    """

    names: tuple[str, ...]
    compare: str
    drift: str
    walk_variance: float
    specimens: tuple[int, ...]
    places: int
    block: tuple[int, ...]
    place: tuple[int, ...]
    minutes: tuple[float, ...]
    fixed: tuple[int, ...]
    fixed_specimens: tuple[int, ...]
    labels: tuple[int, ...]
    classes: tuple[tuple[int, ...], ...]
    rules: tuple[str, ...]
    reference_every: int | None
    seed: int
    stream_a_draws: int = 0
    best: float = float("inf")
    kept_share: float = 1.0
    threshold: float = float("inf")
    chosen_draw: int = 0

    @property
    def slots(self) -> Slots:
        """Return the slots as arrays."""
        return Slots(np.array(self.block, np.intp), np.array(self.minutes, float), np.array(self.place, np.intp))

    @property
    def drawn(self) -> NDArray[np.intp]:
        """Return the slots whose candidate is drawn."""
        return np.flatnonzero(np.array(self.fixed) < 0)

    @property
    def cells(self) -> NDArray[np.intp]:
        """Return block and place of each drawn slot as one number; labels are shuffled within it."""
        own = self.drawn
        return np.array(self.block)[own] * self.places + np.array(self.place)[own]

    @property
    def reference_drawn(self) -> bool:
        """Tell whether some reference swaps are drawn too, which two wires alone allow."""
        return 0 in self.labels

    @property
    def asked(self) -> tuple[tuple[int, int], ...]:
        """Return the asked comparisons as pairs of codes."""
        return asked_codes(len(self.names), self.compare)

    def with_selection(self, **found: Any) -> Recipe:
        """Return the recipe with what the two streams found."""
        return replace(self, **found)

    def to_dict(self) -> dict[str, Any]:
        """Return the recipe as the order's JSON file holds it."""
        return {"kind": "restricted randomisation", **asdict(self)}

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> Recipe:
        """Read a recipe back.

        Raises
        ------
        OrderError
            When it is not a recipe, or not of this version.
        """
        wanted = set(cls.__dataclass_fields__)
        missing = wanted - set(stored)
        if missing:
            raise OrderError(Fault("the recipe is not complete", "recipe of the order", "", "",
                                   f"Missing: {', '.join(sorted(missing))}. Make the order again."))
        try:
            recipe = TypeAdapter(cls).validate_python({key: stored[key] for key in wanted})
        except ValidationError as error:
            raise OrderError(stored_faults(error, "recipe of the order")) from None
        wrong = recipe.contradiction()
        if wrong:
            raise OrderError(Fault("the recipe contradicts itself", "recipe of the order", wrong,
                                   do="Make the order again."))
        return recipe

    def contradiction(self) -> str:
        """Return what in the recipe does not fit together; empty where all does."""
        slots, names = len(self.block), len(self.names)
        columns = {name: getattr(self, name) for name in ("place", "minutes", "fixed", "fixed_specimens")}
        wrong = [name for name, column in columns.items() if len(column) != slots]
        if wrong or not slots:
            return f"{slots} slots, and {', '.join(wrong)} of another length" if slots else "no slots"
        ranges = (
            ("names", (names,), 2, 10_000), ("places", (self.places,), 1, 1000), ("seed", (self.seed,), 0, 2**128),
            ("block", self.block, 0, slots - 1), ("place", self.place, 0, self.places - 1),
            ("fixed", self.fixed, -1, names - 1), ("labels", self.labels, 0, names - 1),
            ("classes", tuple(code for each in self.classes for code in each), 0, names - 1),
            ("specimens", self.specimens, 1, 10_000),
            ("fixed_specimens", self.fixed_specimens, -1, max(self.specimens, default=1) - 1))
        outside = [f"{name} {value}, allowed {low} to {high}" for name, values, low, high in ranges
                   for value in {min(values, default=low), max(values, default=low)} if not low <= value <= high]
        if len(self.labels) != sum(code < 0 for code in self.fixed) or len(self.specimens) != names:
            outside.append("labels or specimens that do not belong to its slots and names")
        return "; ".join(outside)
