"""The cautions: complete, with the plan's own distances."""

from antexp.plan.cautions import cautions, exposure_m, fall_radius_m
from antexp.plan.reader import plan_from_dict


def plan_of(**radio):
    return plan_from_dict({"candidates": ["a", "b"], "frequency_mhz": 14.2, "radio": radio})


def test_every_danger_of_a_swap_day_is_named():
    text = " ".join(caution.text for caution in cautions(plan_of()))
    for words in ("Overhead lines", "network operator", "Never pull on a rope or wire that has snagged",
                  "30 minutes after the last", "wind limit", "flag the guys", "nobody stands under a mast",
                  "dummy load, confirmed by voice, before anyone lowers or touches", "eye protection and gloves",
                  "Never use a fence", "energisers", "licence", "listen first", "identify the station",
                  "exposure distance", "landowner", "animals", "fire", "airfields",
                  "Local codes and licensed practice"):
        assert words in text, words


def test_power_lines_come_first_with_the_fall_radius():
    first = cautions(plan_of(height_m=8))[0]
    # 8 m of mast, 8 m of halyard, 10.56 m of dipole
    assert first.about == "power lines" and first.distance_m == 27.0 and "at least 27 m" in first.text
    assert fall_radius_m(plan_of(height_m=8, element="quarter-wave vertical")) == 22.0


def test_without_heights_the_rule_is_said_in_words():
    first = cautions(plan_of())[0]
    assert first.distance_m is None and "mast, element and halyard together can reach" in first.text


def test_exposure_distance_above_a_few_watts():
    assert exposure_m(plan_of(source_power_dbm=30)) is None
    # 100 W: 3.0 m by the far-field formula (ICNIRP 2020), at least λ/2π = 3.4 m, rounded up
    assert exposure_m(plan_of(source_power_dbm=50)) == 4.0
    assert "at least 4 m" in next(c.text for c in cautions(plan_of(source_power_dbm=50)) if c.about == "transmitting")


def test_swaps_at_the_receiving_end_need_the_call_too():
    text = next(c.text for c in cautions(plan_of(swap_end="receiver")) if c.about == "dummy load")
    assert "receiving end" in text and "confirmed by voice" in text


def test_a_caution_is_data_with_its_distance():
    assert cautions(plan_of(height_m=8))[0].to_dict()["distance_m"] == 27.0
