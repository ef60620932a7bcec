"""The rest of a day that went otherwise."""

from collections import Counter

import numpy as np
import pytest

from antexp.design.order import make_order
from antexp.design.order_facts import timetable
from antexp.design.randomisation import redraw
from antexp.errors import OrderError
from antexp.plan.reader import plan_from_dict

NAMES = [f"w{i}" for i in range(8)]


@pytest.fixture(scope="module")
def plan():
    return plan_from_dict({"candidates": NAMES, "field": {"blocks": 5, "reference_every": 5}})


@pytest.fixture(scope="module")
def order(plan):
    return make_order(plan)


def test_rain_stops_block_three(plan, order):
    hung = order.table.iloc[:24]
    rest = make_order(plan, done=hung)
    assert rest.hung == 24
    assert rest.table.iloc[:24].equals(hung)
    sizes = rest.table.groupby("block", sort=False).size()
    assert sizes.to_dict() == {"1": 10, "2": 10, "3": 4, "4": 10, "5": 10, "6": 6}
    counts = Counter(rest.table["candidate"])
    others = [counts[name] for name in NAMES[1:]]
    assert max(others) - min(others) <= 1  # the last block makes up for what block 3 missed
    assert rest.table.loc[24, "word"] not in set(hung["word"]) and rest.table["word"].is_unique


def test_words_of_swaps_done_are_those_of_the_first_order(plan, order):
    rest = make_order(plan, done=order.table.iloc[:24].drop(columns="word"))
    assert rest.table["word"].iloc[:24].tolist() == order.table["word"].iloc[:24].tolist()


def test_readings_rows_are_as_good_as_swaps(plan, order):
    hung = order.table.iloc[:13]
    readings = hung.loc[hung.index.repeat(3), ["swap", "block", "candidate"]].assign(
        minutes=np.repeat(hung["minutes"].to_numpy(), 3) + np.tile([1.0, 2, 3], 13))
    rest = make_order(plan, done=readings)
    assert rest.hung == 13 and rest.table["swap"].tolist() == list(range(1, len(rest.table) + 1))


def test_a_wrong_wire_was_up_and_the_block_goes_on(plan, order):
    hung = order.table.iloc[:14].copy()
    planned, wrong = hung.loc[12, "candidate"], order.table.loc[15, "candidate"]
    wrong = next(name for name in NAMES[1:] if name not in set(hung.loc[10:13, "candidate"]))
    hung.loc[12, "candidate"] = wrong
    rest = make_order(plan, done=hung, same_block=True)
    block = rest.table[rest.table["block"] == "2"]
    assert len(block) == 10 and block["position"].tolist() == list(range(1, 11))
    assert sorted(block.loc[block["role"] == "candidate", "candidate"]) == sorted(NAMES[1:])
    assert planned in set(block["candidate"].iloc[4:])
    assert block["role"].iloc[-1] == "reference" and block["minutes"].is_monotonic_increasing
    assert set(rest.table["block"]) == {"1", "2", "3", "4", "5"}


@pytest.mark.parametrize("done", [14, 20])
def test_a_block_that_goes_on_is_one_block_of_the_timetable(plan, order, done):
    rest = make_order(plan, done=order.table.iloc[:done], same_block=True)
    assert timetable(rest)["block"].tolist() == ["1", "2", "3", "4", "5"]
    assert timetable(rest)["swaps"].tolist() == [10] * 5


def test_a_wire_broke(plan, order):
    rest = make_order(plan, done=order.table.iloc[:20], without=["w3"])
    fresh = rest.table.iloc[20:]
    assert "w3" not in set(fresh["candidate"]) and "w3" in {gap.candidate for gap in rest.gaps}
    never = make_order(plan, without=["w3"])
    assert "w3" not in set(never.table["candidate"]) and "w3" not in {gap.candidate for gap in never.gaps}


def test_something_must_be_left_to_compare(plan):
    with pytest.raises(OrderError, match="nothing is left to compare with the reference"):
        make_order(plan, without=NAMES[1:])


def test_the_reference_cannot_be_left_out(plan):
    with pytest.raises(OrderError, match="the reference cannot be left out"):
        make_order(plan, without=["w0"])


def test_a_day_that_is_over(plan, order):
    with pytest.raises(OrderError, match="nothing is left to hang"):
        make_order(plan, done=order.table)


def test_a_candidate_the_plan_does_not_know(plan, order):
    hung = order.table.iloc[:12].copy()
    hung.loc[3, "candidate"] = "a friend's wire"
    with pytest.raises(OrderError, match=r"a candidate is not in the plan.*a friend's wire"):
        make_order(plan, done=hung)


def test_the_conditional_recipe_redraws_only_the_rest(plan, order):
    rest = make_order(plan, done=order.table.iloc[:24])
    labels = redraw(rest.recipe, 300, seed=5).labels
    codes = [rest.recipe["names"].index(name) for name in rest.table["candidate"]]
    assert (labels[:, :24] == codes[:24]).all()
    assert len({tuple(row) for row in labels[:, 24:].tolist()}) > 250
    for block in (3, 4, 5):
        own = np.array(rest.recipe["block"]) == block
        assert (np.sort(labels[:, own], axis=1) == np.sort(np.array(codes)[own])).all()


def test_swaps_done_that_lack_columns_are_refused(plan, order):
    with pytest.raises(OrderError, match=r"the swaps done lack columns: .*Missing: block"):
        make_order(plan, done=order.table.iloc[:13].drop(columns="block"))


def test_every_name_that_is_not_in_the_plan_is_said_at_once(plan, order):
    hung = order.table.iloc[:13].replace({"candidate": {order.table["candidate"].iloc[2]: "w99"}})
    with pytest.raises(OrderError) as caught:
        make_order(plan, done=hung, without=("w98",))
    said = str(caught.value)
    assert "a candidate is not in the plan" in said and "w99" in said
    assert "a candidate to be left out is not in the plan" in said and "w98" in said


def test_without_times_the_swaps_done_stand_in_their_order(plan, order):
    with_times = make_order(plan, done=order.table.iloc[:24])
    without = make_order(plan, done=order.table.iloc[:24].drop(columns=["minutes", "specimen", "place"]))
    assert without.hung == with_times.hung == 24
    assert len(without.table) == len(with_times.table)
