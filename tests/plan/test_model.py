"""The plan's models: frozen, the contract's keys, what can be derived from them."""

import pytest
from pydantic import ValidationError

from antexp.plan.model import Candidate, Coating, Field, Meter, Question, Radio
from antexp.plan.reader import plan_from_dict
from antexp.plan.words import GROUNDS, MATERIALS, NOISES


def test_words_include_the_promised_ones():
    assert set(MATERIALS) >= {"copper", "hard-drawn copper", "aluminium", "zinc", "tin", "iron", "steel",
                              "welding steel", "stainless", "brass", "silver", "phosphor bronze"}
    assert "wet" in GROUNDS
    assert "rural" in NOISES


@pytest.mark.parametrize(("model", "promised"), [
    (Question, "compare matter_db confidence chance"),
    (Radio, "frequency_mhz element ground_loss_ohm source_impedance_ohm swap_end distance_m height_m receive_height_m "
            "polarisation ground permittivity conductivity_s_per_m source_power_dbm noise"),
    (Meter, "scale step_db bandwidth_hz reading_sd_db readings"),
    (Field, "blocks hours sittings block_minutes minutes_per_swap rehang_sd_db specimen_sd_db drift_db_per_hour "
            "wander_db_per_sqrt_hour drift reference_every places may_stop_after blind seed"),
    (Candidate, "name material diameter_mm coating strands insulation_mm insulation_permittivity specimens feed_ohm "
                "swr resistivity_ohm_m relative_permeability price_per_m mass_g_per_m breaking_load_n lives_where"),
    (Coating, "material thickness_um"),
])
def test_tables_have_the_promised_keys(model, promised):
    assert set(promised.split()) <= set(model.model_fields)


def test_a_plan_cannot_be_changed():
    plan = plan_from_dict({"candidates": ["a", "b"]})
    with pytest.raises(ValidationError, match="frozen"):
        plan.title = "other"
    with pytest.raises(ValidationError, match="frozen"):
        plan.field.blocks = 3


def test_names_specimens_and_the_others():
    plan = plan_from_dict({"candidates": ["a", {"name": "b", "specimens": 3}, "c"], "reference": "b"})
    assert plan.candidate_names == ("a", "b", "c")
    assert plan.others == ("a", "c")
    assert plan.specimens == {"a": ("1",), "b": ("1", "2", "3"), "c": ("1",)}
    assert plan.candidate("b").specimens == 3
    with pytest.raises(KeyError):
        plan.candidate("d")


def test_minutes_come_from_hours_or_sittings():
    assert Field().minutes_available is None
    assert Field(hours=2.5).minutes_available == 150
    assert Field(sittings=["09:30-12:15", "13:15-16:00"]).minutes_available == 330


def test_polarisation_and_ground_loss_follow_the_element():
    vertical, dipole = Radio(element="quarter-wave vertical"), Radio()
    assert (vertical.polarisation, vertical.ground_loss_ohm) == ("vertical", 12.0)
    assert (dipole.polarisation, dipole.ground_loss_ohm) == ("horizontal", 0.0)
    assert Radio(element="quarter-wave vertical", polarisation="horizontal").polarisation == "horizontal"


def test_step_and_scatter_follow_the_scale():
    assert (Meter(scale="S units").step_db, Meter(scale="attenuator").step_db) == (6.0, 1.0)
    assert Meter(scale="S units", step_db=3).step_db == 3.0
    assert Meter().step_db is None


@pytest.mark.parametrize("text", ["62+9j", "62+j9", " 62 + 9 J ", "62+9i", "6.2e1+9j"])
def test_impedances_are_read_in_every_usual_form(text):
    assert Candidate(name="a", feed_ohm=text).feed_ohm == 62 + 9j


@pytest.mark.parametrize(("given", "ohms"), [(50, 50), ("50", 50), ("50-j12.5", 50 - 12.5j), ("50−12j", 50 - 12j),
                                            (50 - 1j, 50 - 1j)])
def test_resistances_and_complex_numbers_are_impedances(given, ohms):
    assert Candidate(name="a", feed_ohm=given).feed_ohm == ohms


@pytest.mark.parametrize("text", ["62+9", "62j9", "62++9j", "62+9j5", "62,5+9j", "j", "", "ohm", "+-5", "1e999",
                                  "-5+3j", "9j", "0", "nan", "62+9jj", "inf+1j", True, float("nan"), 1e7, [62, 9]])
def test_what_is_no_impedance_is_refused(text):
    with pytest.raises(ValidationError):
        Candidate(name="a", feed_ohm=text)
