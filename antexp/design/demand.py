"""What a plan asks of an order, as bare numbers and names."""

from __future__ import annotations

from dataclasses import dataclass

from antexp.decibels import reading_variance_db2
from antexp.design.information import asked_codes
from antexp.plan.model import Plan
from antexp.plan.sittings import Sitting


@dataclass(frozen=True)
class Demand:
    """What an order has to satisfy.

    Attributes
    ----------
    names : tuple of str, length k + 1
        The reference first, then the candidates in the order of the plan.
    repeats : tuple of int, length k + 1
        Hangings in a complete block, relative to each other; the reference's own is not used.
    specimens : tuple of int, length k + 1
        How many specimens each has.
    available : tuple of (frozenset of int or None), length k + 1
        The blocks, counted from 1, in which each can be hung; None means all.
    compare : str
        ``"reference"``, ``"each-other"`` or ``"best"``.
    drift : str
        Declared form of drift.
    swap_sd_db : float, dB
        Scatter of a swap's mean: re-hanging and, over the planned readings, reading scatter and the display's step.
    wander_db_per_sqrt_hour : float
        Planned random walk of the path.
    minutes_per_swap : float, minutes
    block_minutes, hours : float or None
        Longest block in minutes; hours of swapping.
    blocks : int or None
        Number of blocks, where the plan fixes it.
    sittings : tuple of Sitting
        The plan's; empty when it has none.
    reference_every : int or None
    places : int
    confidence, chance : float
    may_stop_after : tuple of int
        Blocks after which the plan names a look.
    seed : int
    """

    names: tuple[str, ...]
    repeats: tuple[int, ...]
    specimens: tuple[int, ...]
    available: tuple[frozenset[int] | None, ...]
    compare: str
    drift: str
    swap_sd_db: float
    wander_db_per_sqrt_hour: float
    minutes_per_swap: float
    block_minutes: float | None
    hours: float | None
    blocks: int | None
    sittings: tuple[Sitting, ...]
    reference_every: int | None
    places: int
    confidence: float
    chance: float
    may_stop_after: tuple[int, ...]
    seed: int

    @property
    def candidates(self) -> int:
        """Return how many candidates there are beside the reference."""
        return len(self.names) - 1

    @property
    def hangings(self) -> int:
        """Return the candidate swaps of a complete block."""
        return sum(self.repeats[1:])

    def is_available(self, code: int, block: int) -> bool:
        """Tell whether a candidate can be hung in a block, counted from 1."""
        blocks = self.available[code]
        return blocks is None or block in blocks

    @property
    def asked(self) -> tuple[tuple[int, int], ...]:
        """Return the asked comparisons as pairs of codes, the first named against the second."""
        return asked_codes(len(self.names), self.compare)


def demand_of(plan: Plan, *, blocks: int | None = None, seed: int | None = None) -> Demand:
    """Read a plan's demand; `blocks` and `seed` take the place of the plan's own.

    Parameters
    ----------
    plan : Plan
        As `antexp.plan.reader.read_plan` returns it.
    blocks, seed : int, optional
    """
    field, meter, question = plan.field, plan.meter, plan.question
    chosen = [plan.candidate(name) for name in (plan.reference, *plan.others)]
    scatter = field.rehang_sd_db**2 + reading_variance_db2(meter.reading_sd_db, meter.readings, meter.step_db)
    return Demand(
        names=tuple(c.name for c in chosen),
        repeats=tuple(c.repeats for c in chosen),
        specimens=tuple(c.specimens for c in chosen),
        available=tuple(None if c.available_in_blocks is None else frozenset(c.available_in_blocks) for c in chosen),
        compare=question.compare,
        drift=field.drift,
        swap_sd_db=float(scatter**0.5),
        wander_db_per_sqrt_hour=field.wander_db_per_sqrt_hour,
        minutes_per_swap=field.minutes_per_swap,
        block_minutes=field.block_minutes,
        hours=field.hours,
        blocks=blocks if blocks is not None else field.blocks,
        sittings=field.sittings or (),
        reference_every=field.reference_every,
        places=field.places,
        confidence=question.confidence,
        chance=question.chance,
        may_stop_after=field.may_stop_after,
        seed=field.seed if seed is None else seed,
    )
