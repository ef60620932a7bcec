"""Specimens take turns over hangings, places and openings of blocks."""

from collections import Counter

import numpy as np
import pytest

from antexp.design.order import make_order
from antexp.design.randomisation import redraw
from antexp.design.swap_model import swap_model
from antexp.errors import OrderError
from antexp.plan.reader import plan_from_dict


def order(blocks=8, specimens=2, **field):
    return make_order(plan_from_dict({"candidates": [{"name": name, "specimens": specimens} for name in "RABC"],
                                      "field": {"blocks": blocks, **field}}))


def test_equally_often_and_taking_turns_at_opening_a_block():
    table = order().table
    for _, own in table.groupby("candidate"):
        assert set(Counter(own["specimen"]).values()) == {len(own) // 2}
    openings = table.loc[table["position"] == 1, "specimen"].tolist()
    assert openings == ["1", "2"] * 4


@pytest.mark.parametrize("specimens", [2, 3])
def test_every_specimen_of_the_reference_is_on_every_place(specimens):
    table = order(blocks=12, specimens=specimens, places=2).table
    reference = table[table["candidate"] == "R"]
    each = Counter(zip(reference["specimen"], reference["place"], strict=True))
    assert len(each) == 2 * specimens and max(each.values()) - min(each.values()) <= 1


def two_of_the_reference(seed):
    return make_order(plan_from_dict({"candidates": [{"name": "R", "specimens": 2}, "A", "B"],
                                      "field": {"blocks": 4, "seed": seed}}))


@pytest.mark.parametrize("seed", range(1, 6))
def test_turns_never_keep_step_with_the_order_of_the_others(seed):
    """R1 A B R2, R2 B A R1 …: the gap between the specimens of R would be the gap between A and B and the slope."""
    found = two_of_the_reference(seed)
    assert [gap.resolution_db for gap in found.gaps] == pytest.approx([0.73, 0.73], abs=0.01)  # regression
    drawn = redraw(found.recipe, 20, seed=1)
    table, names = found.table, np.array(["R", "A", "B"])
    for labels, specimens in zip(drawn.labels, drawn.specimens, strict=True):
        X = swap_model(names[labels], table["block"], table["minutes"], reference="R", specimens_fixed=True,
                       specimen=(specimens + 1).astype(str)).X
        assert np.linalg.matrix_rank(X) == X.shape[1]


def test_more_specimens_than_a_day_can_tell_apart_are_refused():
    with pytest.raises(OrderError, match="fewer specimens"):
        order(blocks=2, specimens=3)
