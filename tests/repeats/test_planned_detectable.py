"""The gap that a plan's day notices: that of the day which `how_many_repeats` chooses."""

from __future__ import annotations

import pytest

from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.repeats.planned_detectable import planned_detectable_db

NAMES = ["bare", "covered", "clad"]


@pytest.mark.parametrize("more", [{"field": {"blocks": 5}}, {"field": {"hours": 4}}, {"question": {"matter_db": 1.0}}])
def test_it_is_that_of_the_chosen_day(more):
    plan = plan_from_dict({"candidates": NAMES, "question": {"matter_db": 1.0}, **more})
    assert planned_detectable_db(plan) == how_many_repeats(plan, records=0).detectable_db


def test_more_blocks_notice_less():
    few, many = (planned_detectable_db(plan_from_dict({"candidates": NAMES, "field": {"blocks": n}})) for n in (3, 9))
    assert many < few


def test_no_day_no_number():
    still = {"rehang_sd_db": 0.0}
    assert planned_detectable_db(plan_from_dict({"candidates": NAMES, "field": {"blocks": 4, **still},
                                                 "meter": {"reading_sd_db": 0.0}})) is None
    assert planned_detectable_db(plan_from_dict({"candidates": NAMES, "field": {"blocks": 1}})) is None
