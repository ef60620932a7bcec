"""Specimens take turns over hangings, places and openings of blocks."""

from collections import Counter

import pytest

from antexp.design.order import make_order
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
