"""The hours in the field, and how the level moves in them."""

from __future__ import annotations

from typing import Annotated

from antexp.plan.frozen import Frozen
from antexp.plan.quantities import number, sitting_list, whole, whole_list, word, yes_or_no
from antexp.plan.sittings import Sitting
from antexp.plan.words import DRIFTS, MOST_BLOCKS, Drift

_SPREAD = number(0, 30, "dB")


class Field(Frozen):
    """The hours in the field and how the level moves in them.

    Attributes
    ----------
    blocks : int or None
        How many; None where antexp is to find how many fit the hours or reach the chance.
    hours : float or None
        Of swapping, breaks not counted.
    sittings : tuple of Sitting or None
        Clock times instead of hours.
    block_minutes : float
        How long a block may last.
    minutes_per_swap : float
        From one lowering to the next.
    rehang_sd_db : float
        Scatter between hangings of the same specimen, standard deviation, dB.
    specimen_sd_db : float
        Scatter between specimens of one candidate, standard deviation, dB.
    drift_db_per_hour : float
        Standard deviation of the slope over blocks.
    wander_db_per_sqrt_hour : float
        Random walk of the path.
    drift : str
        The form analysed inside each block: ``"none"``, ``"steady"``, ``"curved"`` or ``"wandering"``.
    reference_every : int or None
        At least one reference swap among so many in a row; None: ends, and inside where the square-root rule asks.
    places : int
        Supports or positions in use.
    place_spacing_m : float or None
        Between neighbouring places, metres.
    tension_n : float or None
        The pull at a wire's end, newtons, where sag is to be known.
    may_stop_after : tuple of int
        Blocks after which a look is planned.
    blind : bool
        Whether the reading end learns no names.
    seed : int
        Of the draw of the order.
    """

    blocks: Annotated[int | None, whole(1, MOST_BLOCKS)] = None
    hours: Annotated[float | None, number(0, 1000, "hours", above=True)] = None
    sittings: Annotated[tuple[Sitting, ...] | None, sitting_list()] = None
    block_minutes: Annotated[float, number(0, 1440, "minutes", above=True)] = 75.0
    minutes_per_swap: Annotated[float, number(0, 600, "minutes", above=True)] = 7.0
    rehang_sd_db: Annotated[float, _SPREAD] = 0.35
    specimen_sd_db: Annotated[float, _SPREAD] = 0.1
    drift_db_per_hour: Annotated[float, _SPREAD] = 0.5
    wander_db_per_sqrt_hour: Annotated[float, _SPREAD] = 0.0
    drift: Annotated[Drift, word(DRIFTS)] = "steady"
    reference_every: Annotated[
        int | None, whole(2, 1000, "Every swap would be a reference with 1; leave the key out for antexp's own rule.")
    ] = None
    places: Annotated[int, whole(1, 20)] = 1
    place_spacing_m: Annotated[float | None, number(0, 10_000, "metres", above=True)] = None
    tension_n: Annotated[float | None, number(0, 1e5, "newtons", above=True)] = None
    may_stop_after: Annotated[tuple[int, ...], whole_list(1, MOST_BLOCKS)] = ()
    blind: Annotated[bool, yes_or_no()] = True
    seed: Annotated[int, whole(0, 2**63 - 1)] = 1

    @property
    def stretches(self) -> tuple[float, ...]:
        """Return the minutes of each unbroken stretch of swapping: the sittings, else all hours, else none."""
        if self.sittings:
            return tuple(float(sitting.minutes) for sitting in self.sittings)
        return () if self.hours is None else (self.hours * 60,)

    @property
    def minutes_available(self) -> float | None:
        """Return the minutes of swapping that the hours or the sittings give; None where neither is stated."""
        return sum(self.stretches) if self.stretches else None
