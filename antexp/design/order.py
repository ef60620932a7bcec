"""Which antenna hangs when: from a plan to a fair, reproducible swap order."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Protocol

import numpy as np
import pandas as pd

from antexp.design.allocation import allocate
from antexp.design.check_words import check_words
from antexp.design.day import lay_out_day
from antexp.design.demand import Demand, demand_of
from antexp.design.enough_blocks import enough_blocks
from antexp.design.layout import Hung, recipe_of, shrink_to_contents
from antexp.design.order_document import Order
from antexp.design.order_notices import order_notices
from antexp.design.precision import gap_precisions, precision_kept
from antexp.design.randomisation import Drawn, Progress, select
from antexp.design.recipe import Recipe
from antexp.design.replanning import hung_swaps, rest_of_day
from antexp.design.streams import WORDS
from antexp.errors import Fault, OrderError, seed_faults
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan


class Recorded(Protocol):
    """A record of readings, as far as the order has to know it."""

    @property
    def table(self) -> pd.DataFrame:
        """Return one row a reading."""


def make_order(
    plan: str | os.PathLike[str] | Plan,
    *,
    blocks: int | None = None,
    seed: int | None = None,
    done: pd.DataFrame | Recorded | None = None,
    without: Sequence[str] = (),
    same_block: bool = False,
    progress: Progress | None = None,
) -> Order:
    """Make the swap order of a plan, or lay out the rest of a day that went otherwise.

    Parameters
    ----------
    plan : path or Plan
        The plan file, or what `antexp.read_plan` returns.
    blocks, seed : int, optional
        In place of the plan's own.
    done : DataFrame or Record, optional
        What has been hung: ``swap, block, candidate`` and, where known, ``specimen, place, minutes``. It is kept as
        it is; the swaps after it are laid out anew.
    without : sequence of str
        Candidates that can no longer be hung.
    same_block : bool
        True: the last block of `done` goes on, nothing happened that could make the level jump. False: a new block.
    progress : callable, optional
        Called with the share done, 0 … 1, and what is being done.

    Returns
    -------
    Order
        The same plan and seed give the same order, byte for byte.

    Raises
    ------
    FileError, PlanError
        When the plan's file is at fault.
    OrderError
        When the plan leaves no order that can be judged; the message says what would fit.
    """
    _check(blocks, seed)
    the_plan = as_plan(plan)
    demand = demand_of(the_plan, blocks=blocks, seed=seed)
    if demand.blocks is None and demand.hours is None and not demand.sittings:
        demand = enough_blocks(demand, the_plan.question.matter_db)
    report = progress or (lambda share, what: None)
    if done is None and not without:
        frames = lay_out_day(demand)
        contents = allocate(demand, frames, report=lambda share: report(share / 2, "choosing blocks"))
        frames, hung = shrink_to_contents(frames, contents), Hung()
    else:
        demand, hung = hung_swaps(demand, done, without)
        frames, contents, hung = rest_of_day(demand, hung, same_block)
    recipe, drawn = select(recipe_of(demand, frames, contents, hung), lambda share, what: report((1 + share) / 2, what))
    table = _table(demand, recipe, drawn, hung)
    gaps = gap_precisions(table, demand)
    opened = len(hung.blocks) + len(frames) - table["block"].nunique()  # 1 where a block that hangs already goes on
    return Order(
        table=table,
        seed=demand.seed,
        recipe=recipe.to_dict(),
        precision_kept=precision_kept(table, demand),
        gaps=gaps,
        warnings=order_notices(the_plan, demand, table, gaps),
        minutes_per_swap=demand.minutes_per_swap,
        block_starts=(None,) * len(hung.blocks) + tuple(frame.start_minute for frame in frames[opened:]),
        hung=len(hung),
        plan_sha256=the_plan.sha256,
    )


def _check(blocks: int | None, seed: int | None) -> None:
    """Refuse blocks or a seed, given in place of the plan's own, that are none."""
    faults = [] if seed is None else [*seed_faults(seed)]
    if blocks is not None and not (isinstance(blocks, int | np.integer) and blocks >= 1):
        faults.append(Fault("blocks is not a number of blocks", got=repr(blocks), allowed="a whole number, 1 or more"))
    if faults:
        raise OrderError(faults)


def _table(demand: Demand, recipe: Recipe, drawn: Drawn, hung: Hung) -> pd.DataFrame:
    """Write the order as the order file's columns, one row a swap; what hung already keeps the record's labels."""
    block, codes, fresh = np.array(recipe.block), drawn.labels[0], len(recipe.block) - len(hung)
    swap = [*hung.swap, *range(hung.last_swap + 1, hung.last_swap + fresh + 1)]
    words = check_words(max(swap), np.random.default_rng([demand.seed, WORDS]))
    return pd.DataFrame(
        {
            "swap": swap,
            "block": _block_labels(block, hung),
            "position": [int((block[:slot] == b).sum()) + 1 for slot, b in enumerate(block)],
            "minutes": np.array(recipe.minutes, float),
            "word": [words[number - 1] for number in swap],
            "candidate": [recipe.names[code] for code in codes],
            "specimen": [*hung.specimen, *(str(s + 1) for s in drawn.specimens[0][len(hung) :])],
            "place": [*hung.place, *(str(p + 1) for p in recipe.place[len(hung) :])],
            "role": ["reference" if code == 0 else "candidate" for code in codes],
        }
    )


def _block_labels(block: np.ndarray, hung: Hung) -> list[str]:
    """Name the blocks 1, 2 …; those of a record keep its labels, and no new one takes a label in use."""
    labels = list(hung.blocks)
    number = len(labels)
    while len(labels) <= block.max():
        number += 1
        if str(number) not in labels:
            labels.append(str(number))
    return [labels[b] for b in block]
