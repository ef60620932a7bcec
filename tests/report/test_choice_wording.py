"""What is said where nothing can be named, one wire stands alone, or loads are asked in other ways."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.choice import choose
from antexp.plan.reader import plan_from_dict
from antexp.report.choice_wording import choice_answer, choice_sentences, span_sentence, weak_sentences


def chosen(levels, scatter_db=0.15, blocks=5, plan=None, **asked):
    """An invented day and the choice after it."""
    random = np.random.default_rng(5)
    first, *others = levels
    hung = [(block, i, str(name)) for block in range(blocks)
            for i, name in enumerate([first, *random.permutation(others), first])]
    rows = [(swap + 1, block, name, 7.0 * i, -50 + levels[name] + random.normal(0, scatter_db))
            for swap, (block, i, name) in enumerate(hung)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    if plan is None:
        plan = plan_from_dict({"candidates": list(levels), "frequency_mhz": 14.2, "matter_db": 1})
    return choose(table, plan, **asked)


def test_without_a_gap_that_matters_no_group_is_named():
    plan = plan_from_dict({"candidates": ["bare", "clad"], "frequency_mhz": 14.2})
    said = choice_answer(chosen({"bare": 0.0, "clad": -0.1}, plan=plan))
    assert said.startswith("No gap that matters was stated") and "“bare”" in said


def test_a_rough_day_names_none():
    choice = chosen({"bare": 0.0, "clad": -0.1, "steel": -0.2}, scatter_db=2.0, blocks=3)
    assert choice.group == ()
    assert choice_answer(choice).startswith("No wire is sure to lie within 1 dB of the best")
    assert not any("Cheapest" in text for text in choice_sentences(choice))


def test_a_clear_winner_stands_alone():
    choice = chosen({"bare": 0.0, "clad": -4.0, "steel": -6.0})
    assert choice.group == ("bare",)
    assert choice_answer(choice) == "One wire is sure to lie within 1 dB of the best, whichever that is: “bare”."


def test_small_real_gaps_inside_the_group_are_owned_up_to():
    choice = chosen({"bare": 0.0, "clad": -0.5, "steel": -6.0}, scatter_db=0.05)
    assert set(choice.group) == {"bare", "clad"} and choice.judgement.could_be_best == ("bare",)
    assert "some of the small gaps between them are real" in choice_answer(choice)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"span_m": 12.0, "tension_n": 40.0}, "Loads over 12 m, pulled with 40 N."),
        ({"span_m": 12.0, "sag_m": 0.3}, "Loads over 12 m, pulled to 0.3 m of sag."),
        ({"span_m": 12.0}, "no pull given (--tension, --sag)"),
        ({"span_m": 12.0, "tension_n": 40.0, "gust_m_per_s": 20.0}, "in a gust of 20 m/s between fast ends"),
    ],
)
def test_how_the_wire_is_to_hang(asked, words):
    known = {"diameter_mm": 1.5, "mass_g_per_m": 15.7, "breaking_load_n": 400}
    wires = [{"name": name, **known} for name in ("bare", "clad")]
    plan = plan_from_dict({"candidates": wires, "frequency_mhz": 14.2, "matter_db": 1})
    assert words in span_sentence(chosen({"bare": 0.0, "clad": -0.1}, plan=plan, **asked))


def test_without_masses_it_asks_for_them():
    assert "give mass_g_per_m" in span_sentence(chosen({"bare": 0.0, "clad": -0.1}, span_m=12.0, tension_n=40.0))


def test_without_a_span_it_says_what_to_give():
    choice = replace(chosen({"bare": 0.0, "clad": -0.1}), span=None)
    assert span_sentence(choice).startswith("For sag, pull and wind say how the wire is to hang: --span")


def test_wires_that_are_too_weak_are_named():
    choice = chosen({"bare": 0.0, "clad": -0.1})
    bare, clad = choice.wires
    weak = replace(bare, load=replace(bare.load, safety_factor=2.9, safety_factor_in_wind=0.9))
    strong = replace(clad, load=replace(clad.load, safety_factor=3.0, safety_factor_in_wind=1.0))
    said = weak_sentences(replace(choice, wires=(weak, strong)))
    assert len(said) == 2
    assert f"“{bare.name}”" in said[0] and "under 3" in said[0] and f"“{clad.name}”" not in " ".join(said)
    assert weak_sentences(replace(choice, wires=(strong,))) == []
