"""The `trim` document."""

import json

import pandas as pd
import pytest

from antexp.columns import TRIM
from antexp.errors import ReadingsError
from antexp.field.bench_book import read_bench_book
from antexp.field.trim import trim_sheet
from antexp.plan.reader import plan_from_dict


def plan_of(**radio):
    return plan_from_dict({
        "candidates": [{"name": "copper", "material": "copper", "diameter_mm": 1.5, "specimens": 2},
                       {"name": "covered", "diameter_mm": 1.5, "insulation_mm": 0.8}, {"name": "bare"}],
        "frequency_mhz": 14.2, "matter_db": 1.0, "radio": radio})


def book_of(*rows):
    columns = ["candidate", "specimen", "leg_m", "resonance_mhz", "height_m", "where"]
    return read_bench_book(pd.DataFrame(rows, columns=columns))


def test_keys_of_the_contract_and_one_measurement():
    sheet = trim_sheet(plan_of(), book_of(("copper", "1", 5.10, 13.9, None, "feed")))
    document = sheet.to_dict()
    assert json.loads(json.dumps(document)) == document
    row = document["candidates"][0]
    assert tuple(row)[: len(TRIM.names)] == TRIM.names
    assert row["new_leg_m"] == pytest.approx(5.10 * 13.9 / 14.2)
    assert row["cut_m"] == pytest.approx(5.10 - 5.10 * 13.9 / 14.2)
    assert row["khz_per_cm"] == pytest.approx(13_900 / 510)
    # 300 kHz low at 14.2 MHz costs between a tenth and half a dB on thin wire (judgement from the SWR curve of a
    # dipole: about 2:1 at 2 % off)
    assert 0.1 < row["mistuning_cost_db"] < 0.6


def test_two_lengths_make_a_line():
    def resonance(leg):
        return 71.0 / (leg + 0.12)

    sheet = trim_sheet(plan_of(), book_of(*(("copper", "1", leg, resonance(leg), 8.0, "") for leg in (5.3, 5.2, 5.1))))
    row = sheet.candidates[0]
    assert resonance(row.new_leg_m) == pytest.approx(14.2)
    assert row.measurements == 3 and row.cut_m == pytest.approx(5.1 - row.new_leg_m)


def test_measurements_at_another_height_do_not_join_the_line():
    row = trim_sheet(plan_of(), book_of(("copper", "1", 5.3, 13.0, 2.0, ""), ("copper", "1", 5.2, 13.7, 8.0, "")))
    assert row.candidates[0].measurements == 1


def test_the_last_measurement_of_a_length_counts():
    row = trim_sheet(plan_of(), book_of(("copper", "1", 5.2, 13.0, 8.0, ""), ("copper", "1", 5.2, 13.7, 8.0, "")))
    assert row.candidates[0].resonance_mhz == 13.7 and row.candidates[0].measurements == 1


def test_nothing_measured_gives_a_length_to_begin_with():
    sheet = trim_sheet(plan_of())
    assert [trim.cut_m for trim in sheet.candidates] == [None] * 4
    # common practice, no source: 143/f tip to tip, a covered wire 1.5 to 3.5 % shorter
    assert sheet.candidates[0].new_leg_m == pytest.approx(143 / 14.2 / 2)
    assert sheet.candidates[2].new_leg_m == pytest.approx(143 / 14.2 / 2 * 0.975)
    assert any("begin with" in step for step in sheet.bench_list)
    assert sheet.warnings == ()


def test_bench_list_cuts_in_two_steps_and_keeps_people_safe():
    steps = trim_sheet(plan_of(), book_of(("copper", "1", 5.10, 13.9, 8, ""), ("copper", "2", 4.95, 14.4, 8, ""),
                                          ("bare", "1", 5.001, 14.2, 8, ""))).bench_list
    text = "\n".join(steps)
    assert "eye protection and gloves" in text and "offcuts out and in" in text and "Fold the end back" in text
    assert "“copper”, specimen 1: fold back 0.108 m of each leg; when it measures right cut 0.075 m" in text
    assert "“copper”, specimen 2: too short by 0.070 m" in text
    assert "“bare”, specimen 1: leave it" in text


def test_every_doubt_about_a_measurement_is_a_warning_of_its_antenna():
    sheet = trim_sheet(plan_of(height_m=8), book_of(
        ("copper", "1", 5.10, 13.9, 2.0, "behind 20 m of coax"), ("copper", "2", 5.05, 14.19, None, "at the feed")))
    assert [notice.code for notice in sheet.warnings] == [
        "bench-height", "bench-height", "analyser-behind-line", "not-measured", "mistuned"]
    assert "“copper” (1)" in sheet.warnings[0].text and "“copper” (2)" in sheet.warnings[1].text


def test_cost_needs_a_diameter():
    assert trim_sheet(plan_of(), book_of(("bare", "1", 5.1, 13.9, None, ""))).candidates[-1].mistuning_cost_db is None


def test_far_off_the_target_is_asked_about_and_not_costed():
    sheet = trim_sheet(plan_of(), book_of(("copper", "1", 10.1, 7.05, None, "")))
    assert sheet.candidates[0].mistuning_cost_db is None
    assert [notice.code for notice in sheet.warnings] == ["far-from-target", "not-measured"]
    step = next(step for step in sheet.bench_list if "cut nothing yet" in step)
    assert "fold back" not in step, "nobody is sent to the cutters by the wrong dip of a curve"


def test_contradicting_measurements_are_refused():
    with pytest.raises(ReadingsError, match="copper, specimen 1: a longer wire resonated higher"):
        trim_sheet(plan_of(), book_of(("copper", "1", 5.2, 14.3, 8, ""), ("copper", "1", 5.1, 14.1, 8, "")))


def test_a_line_through_noise_is_refused():
    with pytest.raises(ReadingsError, match=r"the line through its 2 lengths leads to .* measure again with lengths"):
        trim_sheet(plan_of(), book_of(("copper", "1", 5.20, 13.7000, 8, ""), ("copper", "1", 5.19, 13.70001, 8, "")))


def test_a_plan_without_frequency_is_refused():
    with pytest.raises(ReadingsError, match="the plan has no frequency to trim to"):
        trim_sheet(plan_from_dict({"candidates": ["a", "b"]}))


def test_a_vertical_is_trimmed_by_its_height():
    sheet = trim_sheet(plan_of(element="quarter-wave vertical"), book_of(("copper", "1", 5.10, 13.9, None, "")))
    assert any("of the wire" in step for step in sheet.bench_list)
    assert "Cut both legs alike." not in sheet.bench_list
