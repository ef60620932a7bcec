"""How long orders take, and what the search gains over a plain random order. Prints; asserts nothing.

Run: python tests/benchmarks/swap_order.py
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from antexp.design.day import lay_out_day
from antexp.design.demand import Demand, demand_of
from antexp.design.information import contrast_rows, drift_filter, information, mean_variance
from antexp.design.order import make_order
from antexp.design.randomisation import redraw
from antexp.design.recipe import Recipe
from antexp.plan.reader import plan_from_dict

CASES: dict[str, dict[str, Any]] = {
    "10 candidates, 6 complete blocks": {"count": 10, "field": {"blocks": 6, "block_minutes": 120}},
    "30 candidates, 20 incomplete blocks of 12": {"count": 30, "field": {"blocks": 20, "block_minutes": 85}},
    "7 candidates, 7 balanced blocks of 5": {"count": 7, "field": {"blocks": 7, "block_minutes": 36}},
    "9 candidates, 8 incomplete blocks of 6": {"count": 9, "field": {"blocks": 8, "block_minutes": 43}},
    "9 candidates, 8 incomplete blocks of 6, each other": {"count": 9, "compare": "each-other",
                                                           "field": {"blocks": 8, "block_minutes": 43}},
    "7 candidates, 6 complete blocks, parabola": {"count": 7, "field": {"blocks": 6, "drift": "curved"}},
    "6 candidates, 6 blocks, 2 places": {"count": 6, "field": {"blocks": 6, "places": 2}},
    "two wires, 4 hours": {"count": 1, "field": {"hours": 4}},
}


def main() -> None:
    """Print one line a case."""
    print(f"{'case':52s} {'seconds':>8s} {'9,999 redraws':>14s} {'variance':>9s} {'random':>8s} {'gain':>7s}")
    for name, case in CASES.items():
        plan = plan_from_dict({"candidates": [f"wire {i}" for i in range(case["count"] + 1)],
                               "question": {"compare": case.get("compare", "reference"), "matter_db": 1.0},
                               "field": case["field"]})
        make_order(plan, seed=99)  # imports and caches warm
        begin = time.perf_counter()
        order = make_order(plan)
        seconds = time.perf_counter() - begin
        recipe = Recipe.from_dict(order.recipe)
        begin = time.perf_counter()
        redraws = redraw(recipe, 9999, seed=1)
        redrawing = time.perf_counter() - begin
        random = plain_random(demand_of(plan), recipe)
        ours = float(redraws.variances.mean())
        print(f"{name:52s} {seconds:8.2f} {redrawing:12.2f} s {ours:9.4f} {random:8.4f} {1 - ours / random:7.1%}")


def plain_random(demand: Demand, recipe: Recipe, draws: int = 400) -> float:
    """Return the mean variance of plain random orders of the same slots: reference slots kept, everything else
    dealt out at random, no candidate twice in a block where that can be had; orders that lose a gap left out.
    """
    rng = np.random.default_rng(5)
    frames = lay_out_day(demand)
    slots, L = recipe.slots, contrast_rows(recipe.asked, len(recipe.names), recipe.places)
    sweep = drift_filter(slots, recipe.drift, recipe.walk_variance)
    fixed = np.array(recipe.fixed)
    found = []
    for _ in range(draws):
        labels = fixed.copy()
        for block, frame in enumerate(frames):
            own = np.flatnonzero((slots.block == block) & (fixed < 0))
            codes = rng.permutation(np.arange(1, len(recipe.names)))[: frame.candidate_swaps]
            deal = np.resize(codes, len(own)) if demand.candidates > 1 else np.r_[
                np.ones(frame.candidate_swaps, int), np.zeros(frame.free_references, int)]
            labels[own] = rng.permutation(deal)
        found.append(mean_variance(information(labels[None], len(recipe.names), slots, sweep, recipe.places), L)[0])
    values = np.array(found)
    return float(values[np.isfinite(values)].mean())


if __name__ == "__main__":
    main()
