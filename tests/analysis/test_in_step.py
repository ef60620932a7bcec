"""A record whose ends were a swap out of step is refused, naming the first swap that slipped."""

from __future__ import annotations

import pytest

import antexp
from antexp.demo.scenario import demo_plan
from antexp.errors import ReadingsError


@pytest.fixture(scope="module")
def day():
    plan = demo_plan()
    order = antexp.make_order(plan)
    readings = antexp.simulate(plan, order, gaps_db={}, seed=2)
    words = dict(zip(order.table["swap"], order.table["word"], strict=True))
    return plan, order, readings, words


def test_in_step_is_judged(day):
    plan, order, readings, words = day
    assert antexp.judge(readings.assign(word=readings["swap"].map(words)), plan, order).swaps == 50


def test_a_slip_is_refused_and_its_first_swap_named(day):
    plan, order, readings, words = day
    behind = readings["swap"].map(lambda swap: words[swap] if swap < 14 or swap == 50 else words[swap + 1])
    with pytest.raises(ReadingsError, match=r"out of step.*from swap 14 on") as refused:
        antexp.judge(readings.assign(word=behind), plan, order)
    assert words[15] in str(refused.value)


def test_a_misheard_word_is_no_slip(day):
    plan, order, readings, words = day
    misheard = readings["swap"].map(lambda swap: "xylophone" if swap == 7 else words[swap])
    assert antexp.judge(readings.assign(word=misheard), plan, order).swaps == 50


def test_without_an_order_there_is_nothing_to_compare(day):
    plan, _, readings, _ = day
    assert antexp.judge(readings.assign(word="same"), plan).swaps == 50
