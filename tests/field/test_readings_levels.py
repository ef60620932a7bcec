"""Levels: scale and sign, ranges, S units, step."""

import numpy as np
import pytest

from antexp.errors import ReadingsError
from antexp.field.readings import read_readings


def refusal(source, *args, **kwargs) -> str:
    with pytest.raises(ReadingsError) as caught:
        read_readings(source, *args, **kwargs)
    return str(caught.value)


def two(first: str, second: str, columns: str = "level_db") -> str:
    return f"swap,candidate,{columns}\n1,bare copper,{first}\n2,steel wire,{second}\n"


def test_positive_levels_without_a_scale_are_asked_about(write):
    message = refusal(write(two("67", "68.5")))
    assert "every level is positive and no scale is stated: got 67, 68.5" in message
    assert 'Does 67 mean -67 dBm? If so, write the minus signs, or put scale = "minus dBm"' in message


@pytest.mark.parametrize("scale", ["dBm", "dB"])
def test_a_scale_that_the_plan_only_assumed_does_not_answer_the_question(write, make_plan, scale):
    assert "every level is positive and no scale is stated" in refusal(
        write(two("67", "68")), make_plan(scale=scale, stated=False))


def test_no_receiver_reads_67_dbm_even_when_the_scale_is_stated(write, make_plan):
    assert "every level is positive though the scale is dBm" in refusal(write(two("67", "68")), make_plan(scale="dBm"))
    assert read_readings(write(two("3", "4")), make_plan(scale="dBm")).table["level_db"].tolist() == [3.0, 4.0]


def test_minus_dbm_turns_the_sign(write, make_plan):
    record = read_readings(write(two("67", "68.5")), make_plan(scale="minus dBm", step_db=0.5))
    assert record.table["level_db"].tolist() == [-67.0, -68.5]
    assert record.table["level_low_db"].tolist() == [-67.25, -68.75]
    assert record.scale == "minus dBm"


def test_minus_dbm_turns_a_range_and_its_ends(write, make_plan):
    text = two("67,70", "68,69", "level_low_db,level_high_db")
    record = read_readings(write(text), make_plan(scale="minus dBm"))
    assert record.table[["level_low_db", "level_high_db"]].values.tolist() == [[-70.0, -67.0], [-69.0, -68.0]]
    assert record.table["level_db"].isna().all() and record.level_form == "range"


@pytest.mark.parametrize("levels", [("-67", "-68"), ("67", "-68")])
def test_minus_signs_on_a_minus_dbm_scale_are_asked_about(write, make_plan, levels):
    assert 'levels are negative though the scale is "minus dBm"' in refusal(
        write(two(*levels)), make_plan(scale="minus dBm"))


@pytest.mark.parametrize("scale", ["dB", "attenuator"])
def test_scales_where_more_is_stronger_are_taken_as_they_are(write, make_plan, scale):
    assert read_readings(write(two("12", "9")), make_plan(scale=scale)).table["level_db"].tolist() == [12.0, 9.0]


def test_an_attenuator_that_the_meter_word_names_is_no_question(write, make_plan):
    record = read_readings(write(two("12", "9")), make_plan(scale="attenuator", stated=False))
    assert record.table["level_db"].tolist() == [12.0, 9.0]


def test_numbers_of_s_units_in_the_db_column_are_asked_about(write, make_plan):
    assert "If it is an S-meter's reading, write S7 in a column level_s." in refusal(
        write(two("7", "8")), make_plan(scale="S units"))


def test_s_units_become_dbm(write):
    # S9 = -73 dBm below 30 MHz and 6 dB a unit: IARU Region 1 Technical Recommendation R.1
    record = read_readings(write(two("S9", "s7", "level_s")))
    assert record.table["level_db"].tolist() == [-73.0, -85.0]
    assert (record.step_db, record.level_form) == (6.0, "S units")
    assert record.table[["level_low_db", "level_high_db"]].values.tolist() == [[-76.0, -68.0], [-88.0, -82.0]]


def test_s_units_above_30_mhz_start_at_minus_93(write, make_plan):
    # S9 = -93 dBm above 144 MHz: IARU Region 1 Technical Recommendation R.1
    record = read_readings(write(two("S9", "S9+10", "level_s")), make_plan(scale="S units", frequency_mhz=144.3))
    assert record.table["level_db"].tolist() == [-93.0, -83.0]


@pytest.mark.parametrize(("over", "half"), [("10", 5.0), ("5", 2.5), ("20dB", 5.0), ("3", 0.5)])
def test_above_s9_the_marks_are_10_db_apart_or_as_fine_as_the_record_shows(write, over, half):
    table = read_readings(write(two("S9+" + over, "S9", "level_s"))).table
    assert table["level_high_db"][0] - table["level_db"][0] == half
    assert table["level_db"][0] == -73 + float(over.removesuffix("dB"))
    assert table["level_high_db"][1] == -73 + half


@pytest.mark.parametrize("cell", ["S10", "S7+10", "S9+70", "S7.5", "nine", "S9 10", "+10"])
def test_what_is_no_s_meter_reading_is_refused(write, cell):
    message = refusal(write(two(cell, "S8", "level_s")))
    assert "line 2, column level_s: level_s is not an S-meter reading" in message
    assert f'got "{cell}"; allowed: S0 to S9, S9+1 to S9+60' in message


def test_levels_and_ranges_may_stand_in_one_file(write):
    text = two("-45,,", ",-50,-46", "level_db,level_low_db,level_high_db")
    record = read_readings(write(text), step_db=2.0)
    assert record.level_form == "level and range"
    np.testing.assert_array_equal(record.table["level_db"], [-45.0, np.nan])
    assert record.table[["level_low_db", "level_high_db"]].values.tolist() == [[-46.0, -44.0], [-50.0, -46.0]]


@pytest.mark.parametrize(("cells", "words"), [
    (("-45,-50,-40,", "-46,,,"), "the level is given twice"), (("-45,,,S7", "-46,,,"), "the level is given twice"),
    ((",-50,,", "-46,,,"), "a range has one end only"), ((",-46,-50,", "-46,,,"), "got -46 to -50"),
    ((",,,S7", "-46,,,"), "some levels are in S units and some in dB"),
    ((",,,", "-46,,,"), "column level_db or level_low_db or level_high_db or level_s: the level is blank"),
    ((",-400,-50,", "-46,,,"), "level_low_db is not possible"),
])
def test_levels_that_contradict_themselves_are_refused(write, cells, words):
    assert words in refusal(write(two(*cells, "level_db,level_low_db,level_high_db,level_s")))


@pytest.mark.parametrize("cell", ["300", "-300", "1e2", "+5", "-.5", "5."])
def test_plain_numbers_are_numbers(write, cell):
    record = read_readings(write(two(cell, "-46")), scale="dB")
    assert record.table["level_db"][0] == float(cell)


@pytest.mark.parametrize("cell", ["1_0", "0x1F", "٣", "-45 dBm", "--5", "1e", "O.5", "5-", "=-45"])
def test_what_only_looks_like_a_number_is_refused(write, cell):
    message = refusal(write(two(cell, "-46")), scale="dB")
    assert "level_db is not a number" in message and f'got "{cell}"' in message


@pytest.mark.parametrize("cell", ["NaN", "inf", "-Infinity", "1e400"])
def test_endless_numbers_are_refused(write, cell):
    assert "level_db is not a finite number" in refusal(write(two(cell, "-46")))


@pytest.mark.parametrize("cell", ["300.01", "-1e9"])
def test_impossible_levels_are_refused(write, cell):
    assert "level_db is not possible" in refusal(write(two(cell, "-46")))


def test_without_a_step_the_ends_are_not_known(write):
    table = read_readings(write(two("-45", "-46"))).table
    assert table[["level_low_db", "level_high_db"]].isna().all(axis=None)


@pytest.mark.parametrize(("given", "words"), [
    ({"scale": "dbm"}, 'argument scale: the meter\'s scale is not known: got "dbm"; allowed: "dBm", "minus dBm"'),
    ({"step_db": 0}, "argument step_db: the meter's step is not possible: got 0; allowed: above 0, in dB"),
    ({"step_db": float("nan")}, "the meter's step is not possible"),
])
def test_a_scale_or_step_that_is_none_is_refused(write, given, words):
    assert words in refusal(write(two("-45", "-46")), **given)
