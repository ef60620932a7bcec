"""Every default is read back with the key that changes it."""

import pytest

from antexp.plan.model import Field, Meter, Question, Radio
from antexp.plan.reader import plan_from_dict
from antexp.plan.words import METER_WORDS

NOT_KNOWN = {  # no value is filled in for these: what rests on them stays unsaid
    "radio.distance_m", "radio.height_m", "radio.receive_height_m", "radio.ground", "radio.permittivity",
    "radio.conductivity_s_per_m", "radio.source_power_dbm", "radio.noise", "field.place_spacing_m", "field.tension_n",
    "field.sittings",  # instead of hours
    "meter.bandwidth_hz", "radio.frequency_mhz",
}


def keys_of(plan):
    return {sentence.split("(plan key ")[1].rstrip(").").split(",")[0] for sentence in plan.assumptions}


def test_each_key_of_the_tables_is_stated_assumed_or_not_known():
    plan = plan_from_dict({"candidates": ["a", "b"], "frequency_mhz": 7, "radio": {"element": "quarter-wave vertical"}})
    tables = {"question": Question, "radio": Radio, "meter": Meter, "field": Field}
    every = {f"{table}.{key}" for table, model in tables.items() for key in model.model_fields}
    assert every == ({key for key in keys_of(plan) if key.split(".")[0] in tables}
                     | {key for key in plan.stated if "." in key and not key.startswith("candidates.")} | NOT_KNOWN)
    assert not keys_of(plan) & plan.stated


def test_what_is_stated_is_not_assumed(read, long_form):
    assert read(long_form).assumptions == ()


def test_sentences_show_the_values(read, five_lines):
    said = read(five_lines).assumptions
    assert "I assume 7 minutes a swap (plan key field.minutes_per_swap)." in said
    assert 'I assume that "bare copper 1.5 mm", the first named, is the reference (plan key reference).' in said
    assert "I assume as many blocks as fit 5 hours (plan key field.blocks)." in said
    assert ('I assume a display step of 0.1 dB (plan key meter.step_db, from the word "spectrum analyser", '
            "common practice).") in said
    assert all(sentence.startswith("I assume ") and sentence.endswith(").") for sentence in said)


@pytest.mark.parametrize("word", METER_WORDS)
def test_a_meters_word_implies_scale_step_and_scatter_and_says_so(word):
    plan = plan_from_dict({"candidates": ["a", "b"], "meter": word})
    assert {"meter.scale", "meter.step_db", "meter.reading_sd_db", "meter.readings"} <= keys_of(plan)
    assert plan.states("meter")
    assert not plan.states("meter.scale")


def test_meter_words_mean_their_scales():
    scales = {word: plan_from_dict({"candidates": ["a", "b"], "meter": word}).meter for word in METER_WORDS}
    assert {word: (meter.scale, meter.step_db) for word, meter in scales.items()} == {
        "spectrum analyser": ("dBm", 0.1), "SDR": ("dB", 0.1), "S-meter": ("S units", 6.0),
        "S-meter and attenuator": ("attenuator", 1.0),
    }


def test_no_gap_that_matters_is_said_and_stays_none():
    plan = plan_from_dict({"candidates": ["a", "b"]})
    assert plan.question.matter_db is None
    assert any(sentence.startswith("I assume no gap that matters") for sentence in plan.assumptions)


def test_blocks_are_as_many_as_fit_or_as_the_chance_takes():
    sentences = {
        "fit the sittings": {"sittings": ["09:00-12:00"]},
        "fit 5 hours": {"hours": 5},
        "the wanted chance takes": {},
    }
    for end, field in sentences.items():
        said = plan_from_dict({"candidates": ["a", "b"], "field": field}).assumptions
        assert f"I assume as many blocks as {end} (plan key field.blocks)." in said
    assert "I assume no limit of hours (plan key field.hours)." in said


def test_blocks_share_the_hours_where_their_length_is_left_out():
    plan = plan_from_dict({"candidates": ["a", "b"], "hours": 5, "field": {"blocks": 6}})
    assert plan.field.block_minutes == 50
    assert "I assume blocks of at most 50 minutes (plan key field.block_minutes)." in plan.assumptions
    sittings = {"blocks": 5, "sittings": ["09:30-12:15", "13:15-16:00"]}
    assert plan_from_dict({"candidates": ["a", "b"], "field": sittings}).field.block_minutes == 55


def test_defaults_of_some_candidates_name_them():
    plan = plan_from_dict({"candidates": ["a", {"name": "b", "specimens": 2}, {"name": "c", "diameter_mm": 1,
                                                                              "resistivity_ohm_m": 1e-7}]})
    assert 'I assume one specimen of "a", "c" (plan key candidates.specimens).' in plan.assumptions
    assert 'I assume solid wire in "c" (plan key candidates.strands).' in plan.assumptions
    assert any('not magnetic in "c"' in sentence for sentence in plan.assumptions)


def test_without_a_frequency_nothing_is_assumed_of_the_radio():
    assert not any("radio." in sentence for sentence in plan_from_dict({"candidates": ["a", "b"]}).assumptions)
