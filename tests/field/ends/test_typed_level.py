"""Levels as people type them."""

import pytest

from antexp.decibels import read_s_units
from antexp.field.typed_level import odd_question, parse_level, parse_range, plain_number, row_db, shown_level


@pytest.mark.parametrize(("text", "scale", "cell"), [
    ("67.2", "dBm", "-67.2"), ("67,2", "dBm", "-67.2"), ("-67.2", "dBm", "-67.2"), ("−67.2", "dBm", "-67.2"),
    ("+3", "dBm", "3"), ("0", "dBm", "0"), (" 67 ", "dBm", "-67"), ("67.20", "dBm", "-67.20"), ("067", "dBm", "-67"),
    (",5", "dBm", "-0.5"), ("67.", "dBm", "-67"),
    ("67", "minus dBm", "67"), ("12,5", "dB", "12.5"), ("-3", "dB", "-3"), ("31", "attenuator", "31"),
])
def test_a_level_is_understood_on_its_scale(text, scale, cell):
    level = parse_level(text, scale)
    assert level.cells == {"level_db": cell}
    assert level.db == float(cell)


@pytest.mark.parametrize(("text", "cell"), [("7", "S7"), ("s7", "S7"), ("S9+10", "S9+10"), ("9 + 20 dB", "S9+20"),
                                            ("9+0", "S9")])
def test_s_units_are_those_of_the_foundation(text, cell):
    level = parse_level(text, "S units")
    assert level.cells == {"level_s": cell}
    assert level.db == read_s_units(cell)


@pytest.mark.parametrize(("text", "scale", "message"), [
    ("", "dBm", "Nothing was typed"), ("67.2.1", "dBm", "Not a number"), ("6 dB", "dBm", "Not a number"),
    ("1,234.5", "dBm", "Not a number"), ("672", "dBm", "Was the decimal point left out"), ("1e3", "dB", "Not a number"),
    ("nan", "dB", "Not a number"), ("١٢", "dB", "Not a number"), ("S7+10", "S units", "Not an S reading"),
    ("S10", "S units", "Not an S reading"), ("S9+70", "S units", "Not an S reading"),
])
def test_what_is_no_level_is_refused_with_the_reason(text, scale, message):
    with pytest.raises(ValueError, match=message):
        parse_level(text, scale)


def test_a_range_may_be_typed_in_either_order_and_keeps_the_scale():
    assert parse_range("66,5", "68", "dBm").cells == {"level_low_db": "-68", "level_high_db": "-66.5"}
    assert parse_range("68", "66.5", "dBm").db == -67.25
    # on "minus dBm" the reader turns both ends round, so the file keeps what was displayed
    assert parse_range("68", "66.5", "minus dBm").cells == {"level_low_db": "66.5", "level_high_db": "68"}
    with pytest.raises(ValueError, match="ordinary reading"):
        parse_range("68", "68,0", "dBm")
    with pytest.raises(ValueError, match="not needed in S units"):
        parse_range("S6", "S7", "S units")


def test_levels_are_read_back_with_a_real_minus():
    assert shown_level({"level_db": "-67.2"}) == "−67.2"
    assert shown_level({"level_low_db": "-68", "level_high_db": "-66"}) == "−68 to −66"
    assert row_db({"level_db": "", "level_s": "", "level_low_db": "-68", "level_high_db": "-66"}) == -67


def test_it_asks_about_the_present_swap_and_slips_only():
    own = [{"level_db": "-67.2"}, {"level_db": "-67.4"}]
    # 15 dB off everything read so far, and no other reading of this swap: another wire may well be that bad
    assert odd_question(parse_level("82", "dBm"), [], own, 2.0) == ""
    assert "more than 20 dB" in odd_question(parse_level("6.72", "dBm"), [], own, 2.0)
    assert "−67.2, −67.4" in odd_question(parse_level("70", "dBm"), own, own, 2.0)
    assert odd_question(parse_level("69", "dBm"), own, own, 2.0) == ""
    assert odd_question(parse_level("6.72", "dBm"), [], [], 2.0) == ""  # nothing to compare with yet


def test_numbers_keep_the_digits_that_were_typed():
    assert plain_number("67,20") == "67.20" and plain_number("1 000") == "1000" and plain_number("abc") is None
