"""Orders and recipes that cannot be: each refused with what is wrong and what would do."""

from __future__ import annotations

import json

import pytest

from antexp.design.order import make_order
from antexp.design.order_file import read_order, write_order
from antexp.design.recipe import Recipe
from antexp.design.swap_model import swap_model
from antexp.errors import OrderError
from antexp.plan.reader import plan_from_dict


def _plan(**field):
    return plan_from_dict({"candidates": ["a", "b", "c"], "field": {"blocks": 3, **field}})


def test_a_gap_that_no_number_of_blocks_notices_is_refused_with_what_would_help():
    plan = plan_from_dict({"candidates": ["a", "b", "c"], "question": {"matter_db": 0.005}})
    with pytest.raises(OrderError, match=r"no number of blocks reaches the wanted chance.*got 0.005 dB"):
        make_order(plan)


@pytest.mark.parametrize(("damage", "message"), [
    (lambda recipe: json.dumps([recipe]), "is not a JSON object"),
    (lambda recipe: json.dumps(recipe)[:-5], "is not JSON"),
])
def test_a_damaged_recipe_is_refused(tmp_path, damage, message):
    path = tmp_path / "order.csv"
    write_order(make_order(_plan()), path)
    companion = path.with_suffix(".json")
    companion.write_text(damage(json.loads(companion.read_text(encoding="utf-8"))), encoding="utf-8")
    with pytest.raises(OrderError, match=message):
        read_order(path)


def test_an_order_file_with_a_head_alone_has_no_swaps(tmp_path):
    path = tmp_path / "order.csv"
    write_order(make_order(_plan()), path)
    path.write_text(path.read_text(encoding="utf-8").splitlines()[0] + "\n", encoding="utf-8")
    with pytest.raises(OrderError, match="the order file has no swaps"):
        read_order(path)


def test_a_recipe_without_all_its_parts_says_which_are_missing():
    with pytest.raises(OrderError, match=r"the recipe is not complete\. Missing: best, block, .*, threshold"):
        Recipe.from_dict({})


def test_an_unknown_form_of_drift_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="drift form unknown: got 'wild'; allowed: none, steady, curved, wandering"):
        swap_model(["a"], ["1"], [0.0], drift="wild")
