"""Two names and a number of hours: fair, still random, robust to steady and curved drift."""

import numpy as np
import pytest

from antexp.design.order import make_order
from antexp.design.randomisation import redraw
from antexp.design.swap_model import swap_model
from antexp.errors import OrderError
from antexp.plan.reader import plan_from_dict


def two(**more):
    return make_order(plan_from_dict({"candidates": ["old wire", "new wire"], "hours": 4, **more}))


def sequences(order):
    return ["".join("AB"[c != "old wire"] for c in block["candidate"]) for _, block in order.table.groupby("block")]


def variance_ratio(sequence, drift):
    """Variance of the gap under drift over that without; equally spaced swaps."""
    found = []
    for form in (drift, "none"):
        model = swap_model(list(sequence), np.zeros(len(sequence)), np.arange(len(sequence)), drift=form)
        row = model.gap("B", "A")
        found.append(row @ np.linalg.solve(model.X.T @ model.X, row))
    return found[0] / found[1]


def test_both_wires_equally_often_with_the_reference_at_both_ends():
    for sequence in sequences(two()):
        assert sequence.count("A") == sequence.count("B") == 4
        assert sequence[0] == sequence[-1] == "A"


@pytest.mark.parametrize("seed", range(6))
def test_neither_a_line_nor_a_parabola_costs_much(seed):
    """A A B B loses four fifths to a line, A B B A everything to a parabola (C11)."""
    for sequence in sequences(two(field={"seed": seed})):
        assert variance_ratio(sequence, "steady") < 1.1
        assert variance_ratio(sequence, "curved") < 1.3
    assert two(field={"seed": seed}).precision_kept > 0.95


def test_still_random():
    orders = {tuple(sequences(two(field={"seed": seed}))) for seed in range(8)}
    assert len(orders) >= 6
    recipe = two().recipe
    assert recipe["drift"] == "curved" and len({tuple(row) for row in redraw(recipe, 200, 1).labels.tolist()}) > 20


def test_a_planned_distance_of_the_reference_holds_here_too():
    for sequence in sequences(two(field={"reference_every": 3})):
        assert "BBB" not in sequence


def test_a_short_hour_makes_one_shorter_block():
    order = make_order(plan_from_dict({"candidates": ["A", "B"], "hours": 0.9, "field": {"minutes_per_swap": 7}}))
    assert order.blocks == 1 and order.swaps == 7


def test_blocks_that_can_only_be_a_b_b_a_cannot_carry_a_parabola():
    plan = plan_from_dict({"candidates": ["A", "B"], "field": {"blocks": 4, "block_minutes": 28, "drift": "curved"}})
    with pytest.raises(OrderError, match="no order of these blocks tells the asked candidates apart"):
        make_order(plan)
    assert sequences(make_order(plan_from_dict({"candidates": ["old wire", "B"],
                                                "field": {"blocks": 4, "block_minutes": 28}}))) == ["ABBA"] * 4
