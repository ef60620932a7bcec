"""The grid: days from tiny to large, what is lost of them, and how much hangings scatter beside readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
import pandas as pd

from antexp.design.order import make_order
from antexp.plan.model import Plan
from antexp.plan.reader import plan_from_dict
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.what_if import Days, with_changes

READING_SD_DB = 0.25
SCATTERS = (0.0, 0.5, 1.0, 3.0)
"""Re-hanging scatter over reading scatter."""

EQUAL, SMALL, MATTER, TWO_BEST = "all equal", "small gaps", "gaps that matter", "two best"

# By so much a gap falls short of mattering, as a share of `matter_db`: "matters" is wrong of it.
HAIR = 0.001


@dataclass(frozen=True)
class Design:
    """A day, the scatter of its hangings and what is lost of it.

    Attributes
    ----------
    name : str
    scatter : float
        Re-hanging scatter over reading scatter.
    plan : Plan
        Its `matter_db` is the gap that the whole day notices with the planned chance, 80 %.
    lost : {"nothing", "swaps", "readings", "second references"}
        What is lost: at random; or the second hanging of the reference in every block, so that all hang equally often.
    share : float
        Chance of each to be lost.
    """

    name: str
    scatter: float
    plan: Plan
    lost: str
    share: float

    @cached_property
    def table(self) -> pd.DataFrame:
        """Return the order, one row a swap; without the second reference of a block where those are lost."""
        table = make_order(self.plan).table
        if self.lost != "second references":
            return table
        again = (table["candidate"] == self.plan.reference) & table.duplicated(["block", "candidate"])
        return table[~again].reset_index(drop=True)

    @property
    def truths(self) -> tuple[str, ...]:
        """Return the truths that this question is tried with."""
        return (EQUAL, SMALL, MATTER, TWO_BEST) if self.plan.question.compare == "best" else (EQUAL, SMALL, MATTER)

    def gaps_db(self, truth: str) -> dict[str, float]:
        """Return the true levels above the reference.

        Small gaps are a quarter of `matter_db` to either side in turn. Gaps that matter: against the reference all
        at `matter_db`; with each other one such step from candidate to candidate; with ``best`` the last candidate
        that much above the others, of which every other one is a hair nearer. Two best: the last two candidates
        `matter_db` above all others.
        """
        others, matter = self.plan.others, float(self.plan.question.matter_db or 0.0)
        if truth == EQUAL:
            return dict.fromkeys(others, 0.0)
        if truth == SMALL:
            return {name: matter / 4 * (-1) ** place for place, name in enumerate(others)}
        if truth == TWO_BEST:
            return {name: matter * (name in others[-2:]) for name in others}
        if self.plan.question.compare == "best":
            return {name: matter if name == others[-1] else HAIR * matter * (place % 2)
                    for place, name in enumerate(others, start=1)}
        step = matter if self.plan.question.compare == "each-other" else 0.0
        return {name: matter + step * place for place, name in enumerate(others)}


def designs(only: str = "") -> Iterator[tuple[int, Design]]:
    """Give the designs of the grid whose name holds these words, each with its place in the whole grid."""
    for place, (layout, scatter) in enumerate(product(LAYOUTS, SCATTERS)):
        if only in layout[0]:
            yield place, design_of(*layout, scatter)


def order_of_cells() -> dict[tuple[str, float, str], int]:
    """Return the place of each cell, by the design's name, its scatter and the truth."""
    names = product((layout[0] for layout in LAYOUTS), SCATTERS, (EQUAL, SMALL, MATTER, TWO_BEST))
    return {name: place for place, name in enumerate(names)}


def design_of(
    name: str, wires: tuple[int, int], compare: str, field: dict, meter: dict, lost: tuple[str, float], scatter: float
) -> Design:
    """Build one design.

    Parameters
    ----------
    name : str
    wires : (int, int)
        Candidates, and specimens of each.
    compare, field, meter
        For the plan.
    lost : (str, float)
        What is lost and with which chance.
    scatter : float
    """
    count, specimens = wires
    plan = plan_from_dict({
        "candidates": [{"name": f"wire {i}", "specimens": specimens} for i in range(count)],
        "question": {"matter_db": 1.0, "compare": compare},
        "meter": {"scale": "dBm", "step_db": 0.1, "reading_sd_db": READING_SD_DB, "readings": 3, **meter},
        "field": {"rehang_sd_db": scatter * READING_SD_DB, **field},
    })
    days = Days(plan)
    found = days.chances(days.modelled(make_order(plan).table), spreads_of(plan)).detectable_db
    return Design(name, scatter, with_changes(plan, question={"matter_db": float(np.round(found, 2))}), *lost)


REFERENCE, PAIRS, BEST = "reference", "each-other", "best"
WHOLE, FIFTH, THIRD = ("nothing", 0.0), ("swaps", 0.2), ("readings", 0.35)
ENDS = ("second references", 1.0)

# name, (candidates, specimens), question, field, meter, what is lost
LAYOUTS: tuple[tuple, ...] = (
    ("2 wires, 3 blocks of 4", (2, 1), REFERENCE, {"blocks": 3, "block_minutes": 28}, {}, WHOLE),
    ("2 wires, 8 blocks", (2, 1), REFERENCE, {"blocks": 8}, {}, WHOLE),
    ("3 wires, 4 blocks, path still", (3, 1), REFERENCE,
     {"blocks": 4, "drift": "none", "drift_db_per_hour": 0.0}, {}, WHOLE),
    ("4 wires, 4 blocks, 1 reading", (4, 1), REFERENCE, {"blocks": 4}, {"readings": 1}, WHOLE),
    ("4 wires, 4 blocks, 10 readings", (4, 1), REFERENCE, {"blocks": 4}, {"readings": 10, "step_db": 0.01}, WHOLE),
    ("5 wires, 3 blocks", (5, 1), REFERENCE, {"blocks": 3}, {}, WHOLE),
    ("5 wires, 4 blocks, parabolas", (5, 1), REFERENCE, {"blocks": 4, "drift": "curved"}, {}, WHOLE),
    ("5 wires, 5 blocks, 1 swap in 5 lost", (5, 1), REFERENCE, {"blocks": 5}, {}, FIFTH),
    ("5 wires, 4 blocks, 1 reading in 3 lost", (5, 1), REFERENCE, {"blocks": 4}, {}, THIRD),
    ("4 wires, 2 specimens each, 6 blocks", (4, 2), REFERENCE, {"blocks": 6, "specimen_sd_db": 0.3}, {}, WHOLE),
    ("4 wires, 2 specimens each, 6 blocks, 1 swap in 5 lost", (4, 2), REFERENCE,
     {"blocks": 6, "specimen_sd_db": 0.3}, {}, FIFTH),
    ("5 wires, 6 blocks, 2 places", (5, 1), REFERENCE, {"blocks": 6, "places": 2}, {}, WHOLE),
    ("8 wires, 10 incomplete blocks", (8, 1), REFERENCE, {"blocks": 10, "block_minutes": 42}, {}, WHOLE),
    ("10 wires, 5 blocks", (10, 1), REFERENCE, {"blocks": 5}, {}, WHOLE),
    ("12 wires, 12 blocks", (12, 1), REFERENCE, {"blocks": 12}, {}, WHOLE),
    ("5 wires, all pairs, 5 blocks", (5, 1), PAIRS, {"blocks": 5}, {}, WHOLE),
    ("5 wires, all pairs, 6 blocks, 1 swap in 5 lost", (5, 1), PAIRS, {"blocks": 6}, {}, FIFTH),
    ("3 wires, the best, 4 blocks", (3, 1), BEST, {"blocks": 4}, {}, WHOLE),
    ("5 wires, the best, 5 blocks", (5, 1), BEST, {"blocks": 5}, {}, WHOLE),
    ("5 wires, the best, 6 blocks, 1 swap in 5 lost", (5, 1), BEST, {"blocks": 6}, {}, FIFTH),
    ("4 wires, 2 specimens each, 6 blocks, hung equally often", (4, 2), REFERENCE,
     {"blocks": 6, "specimen_sd_db": 0.3}, {}, ENDS),
)
