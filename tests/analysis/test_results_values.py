"""What a number, a count, a text of a results file may be."""

from __future__ import annotations

import math

import pytest

from antexp.analysis import results_values as values


def test_numbers_up_to_what_a_judgement_can_hold():
    assert values.number(1e12) == 1e12 and values.number(-1e12) == -1e12 and math.isnan(values.number(None))
    assert values.spread(0.0) == 0.0 and values.spread(1e4) == 1e4 and values.spread(None) is None
    assert values.count(0) == 0 and values.count(3.0) == 3 and isinstance(values.count(3.0), int)
    assert values.count(10**12) == 10**12
    assert values.truth(False) is False and values.truth(True) is True
    assert values.text("") == "" and values.text("a", ("a", "b")) == "a"
    assert values.slopes({"1": 2, "2": -3.5}) == {"1": 2.0, "2": -3.5}
    low, high = values.ends([None, 2])
    assert math.isnan(low) and high == 2.0


@pytest.mark.parametrize(("kind", "value"), [
    ("number", 1.1e12), ("number", -1.1e12), ("number", True), ("number", "1"), ("number", math.inf),
    ("number", math.nan), ("spread", -0.1), ("spread", 1.2e4), ("count", -1), ("count", 1.5), ("count", True),
    ("count", "3"), ("count", None), ("truth", 1), ("truth", None), ("text", 1), ("text", None), ("ends", [1.0]),
    ("ends", [1.0, 2.0, 3.0]),
])  # fmt: skip
def test_whatever_else_it_is_raises(kind, value):
    with pytest.raises((TypeError, ValueError)):
        getattr(values, kind)(value)


def test_a_text_that_is_none_of_those_allowed_is_named_and_cut_short():
    with pytest.raises(TypeError, match=r"^c is not a or b$"):
        values.text("c", ("a", "b"))
    with pytest.raises(TypeError, match=r"^x{40} is not true or false$"):
        values.truth("x" * 90)
