"""Plans that no order can serve: one clear message each, with what to do."""

import pytest

from antexp.design.order import make_order
from antexp.errors import InputError, OrderError, PlanError
from antexp.plan.reader import plan_from_dict

NAMES = [f"w{i}" for i in range(8)]


def refused(kind, names=NAMES, **field):
    with pytest.raises(kind) as caught:
        make_order(plan_from_dict({"candidates": names, "matter_db": 1.0, "field": field}))
    return str(caught.value)


def test_capacity_of_one_swap():
    assert "fewer than two swaps" in refused(InputError, block_minutes=10, minutes_per_swap=7, blocks=5)


def test_more_blocks_than_minutes():
    text = refused(OrderError, blocks=4, hours=2, block_minutes=75, minutes_per_swap=7)
    assert "1 block(s) fit" in text and "4 block(s) of 10 swaps, 70 min in 2 h" in text
    assert "9 blocks do not fit 120 minutes" in refused(PlanError, blocks=9, hours=2, minutes_per_swap=7)


def test_hours_too_short_for_a_block_say_what_would_fit():
    text = refused(OrderError, hours=0.9, block_minutes=75, minutes_per_swap=7)
    assert "No block fits; 7 swaps fit at most, enough for 5 candidate(s) between two reference swaps" in text
    assert "1.17 h" in text


def test_reference_every_of_one():
    assert "reference_every" in refused(PlanError, blocks=5, reference_every=1)


@pytest.mark.parametrize("names", [["a", "a", "b"], ["Steel 2 mm", "steel 2mm", "b"]])
def test_names_that_are_the_same_or_nearly(names):
    assert "two candidates" in refused(PlanError, names, blocks=5)


def test_too_few_degrees_of_freedom_say_how_many_blocks_would_do():
    text = refused(OrderError, blocks=1)
    assert "10 swaps for 9 fixed terms leave 1; allowed: at least 4" in text
    assert "1 more block(s) of 10 swaps would do" in text
    made = make_order(plan_from_dict({"candidates": NAMES, "field": {"blocks": 2}}))
    assert made.gaps[0].degrees_of_freedom >= 4


def test_candidates_that_would_never_hang_are_named():
    text = refused(OrderError, blocks=2, block_minutes=35, minutes_per_swap=7)
    assert "too small or too few to hang every candidate" in text and "never hung: " in text


def test_a_block_without_any_candidate_is_named():
    names = ["w0", {"name": "w1", "available_in_blocks": [1, 2]}]
    assert "no candidate is available in a block: got block(s) 3, 4" in refused(OrderError, names, blocks=4)


def test_nothing_limits_the_day():
    with pytest.raises(OrderError, match="nothing says how long the day is"):
        make_order(plan_from_dict({"candidates": NAMES}))


def test_a_place_that_only_one_wire_sees_cannot_be_told_from_it():
    names = ["w0", *({"name": f"w{i}", "available_in_blocks": [i]} for i in (1, 2, 3))]
    text = refused(OrderError, names, blocks=3, places=3, drift="curved")
    assert "no order of these blocks tells the asked candidates apart" in text and "3 place(s)" in text


def test_no_hours_but_a_chance_finds_the_number_of_blocks():
    plan = plan_from_dict({"candidates": NAMES, "question": {"matter_db": 0.7, "chance": 0.8}})
    order = make_order(plan)
    fewer = make_order(plan, blocks=order.blocks - 1)
    assert max(gap.detectable_db for gap in order.gaps) <= 0.7 * 1.02  # the order is drawn after the number is found
    assert max(gap.detectable_db for gap in fewer.gaps) > 0.7


def test_a_plan_without_any_scatter_has_limits_of_no_width():
    plan = plan_from_dict({"candidates": NAMES, "meter": {"reading_sd_db": 0},
                           "field": {"blocks": 4, "rehang_sd_db": 0}})
    gap = make_order(plan).gaps[0]
    assert (gap.standard_error_db, gap.resolution_db, gap.detectable_db) == (0.0, 0.0, 0.0)


def test_wander_alone_is_scatter_enough():
    field = {"blocks": 4, "rehang_sd_db": 0, "wander_db_per_sqrt_hour": 1.0}
    for drift in ("steady", "wandering"):
        plan = plan_from_dict({"candidates": NAMES, "meter": {"reading_sd_db": 0}, "field": {**field, "drift": drift}})
        assert make_order(plan).gaps[0].standard_error_db > 0.05


def test_more_specimens_than_the_blocks_can_carry():
    names = [{"name": f"w{i}", "specimens": 9} for i in range(4)]
    assert "fewer specimens or places" in refused(OrderError, names, blocks=5)
