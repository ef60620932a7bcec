"""What a plan notices stands beside what physics expects, without being asked for."""

from __future__ import annotations

import json

import pytest

PLAN = """\
candidates = [
  {name = "copper", material = "copper", diameter_mm = 1.5},
  {name = "aluminium", material = "aluminium", diameter_mm = 2.0},
  {name = "clad", material = "steel", diameter_mm = 1.5, coating = {material = "copper", thickness_um = 60}},
  {name = "steel", material = "steel", diameter_mm = 0.5},
]
frequency_mhz = 14.2
matter_db = 1
[field]
blocks = 5
"""


@pytest.fixture
def plan(written):
    return written("plan.toml", PLAN)


@pytest.mark.parametrize(
    ("command", "key"), [("expect", "sentences"), ("check", "sentences"), ("order", "expectation")]
)
def test_the_sentence_comes_by_itself(antexp, plan, command, key):
    ran = antexp(command, plan, "--json")
    assert ran.status == 0, ran.err
    document = json.loads(ran.out)
    sentence = next(each for each in document[key] if each.startswith("This plan notices"))
    assert "between “copper”, “aluminium” and “clad”" in sentence
    assert sentence.endswith("they will not separate, and need not.")
    assert any("“steel”" in each for each in document[key] if not each.startswith("This plan"))
    if command != "order":
        assert f"{document['detectable_db']:.2f} dB" in sentence
    assert "they will not separate" in " ".join(antexp(command, plan).out.split())


def test_a_number_of_ones_own_goes_first(antexp, plan):
    assert "This plan notices 0.90 dB" in " ".join(antexp("expect", plan, "--detectable", 0.9).out.split())


def test_a_candidate_that_no_longer_hangs_is_not_spoken_of(antexp, plan):
    expectation = json.loads(antexp("order", plan, "--without", "clad", "--json").out)["expectation"]
    assert "between “copper” and “aluminium”" in expectation[0]
    assert not any("“clad”" in each for each in expectation)


def test_candidates_of_one_metal_that_are_matched_differently(antexp, plan):
    text = PLAN.replace('"copper", diameter_mm = 1.5}', '"copper", diameter_mm = 1.5, swr = 1.0}')
    plan.write_text(text.replace("diameter_mm = 2.0}", "diameter_mm = 2.0, swr = 2.0}"))
    document = json.loads(antexp("expect", plan, "--json").out)
    # SWR 2 is 0.512 dB (SWR and mismatch table)
    assert any("their mismatch differs by 0.51 dB" in each for each in document["sentences"])
