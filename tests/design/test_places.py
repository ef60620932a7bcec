"""Several supports: every candidate on every place equally often, level against time, warnings."""

from collections import Counter
from itertools import pairwise

import pytest

from antexp.design.order import make_order
from antexp.plan.reader import plan_from_dict

NAMES = [f"w{i}" for i in range(7)]


def order(blocks, places, names=NAMES, **field):
    return make_order(plan_from_dict({"candidates": names, "frequency_mhz": 14.0,
                                      "field": {"blocks": blocks, "places": places, **field}}))


@pytest.mark.parametrize(("blocks", "places"), [(4, 2), (6, 2), (6, 3), (3, 3)])
def test_every_candidate_on_every_place_equally_often(blocks, places):
    table = order(blocks, places).table
    for name in NAMES[1:]:
        each = Counter(table.loc[table["candidate"] == name, "place"])
        assert set(each.values()) == {blocks // places} and len(each) == places


def test_places_take_turns_within_a_block_and_begin_in_turn():
    table = order(4, 2).table
    for _, block in table.groupby("block"):
        places = block["place"].tolist()
        assert all(one != next_ for one, next_ in pairwise(places))
    assert table.loc[table["position"] == 1, "place"].tolist() == ["1", "2", "1", "2"]


def test_incomplete_blocks_stay_level_within_one():
    table = order(8, 2, [f"w{i}" for i in range(10)], block_minutes=45).table
    for name in [f"w{i}" for i in range(1, 10)]:
        each = Counter(table.loc[table["candidate"] == name, "place"])
        assert max(each.values()) - min(each.values()) <= 1


def test_an_idle_antenna_within_a_wavelength_is_warned_of():
    near = [notice.code for notice in order(4, 2, place_spacing_m=10).warnings]
    far = [notice.code for notice in order(4, 2, place_spacing_m=30).warnings]
    assert "idle-antenna-near" in near and "idle-antenna-near" not in far  # a wavelength is 21.4 m
    assert "idle-antenna-near" not in [notice.code for notice in order(4, 1).warnings]


def test_a_wire_that_hung_in_one_place_only_is_named():
    names = ["w0", {"name": "late", "available_in_blocks": [1]}, *NAMES[1:4]]
    notices = {notice.code: notice.text for notice in order(3, 3, names, drift="none").warnings}
    assert "late" in notices["tied-to-place"]
    assert "tied-to-place" not in [notice.code for notice in order(4, 2).warnings]
