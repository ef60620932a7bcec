"""Sittings: clock times read, and put in order."""

from datetime import date

import pytest

from antexp.plan.sittings import Sitting, clash, parse_sitting


@pytest.mark.parametrize("text", ["09:30-12:15", "9:30-12:15", " 09:30 - 12:15 ", "09.30–12.15"])
def test_clock_times_are_read(text):
    sitting = parse_sitting(text)
    assert (sitting.start, sitting.end, sitting.minutes, sitting.start_minute) == ("09:30", "12:15", 165, 570)
    assert str(sitting) == "09:30-12:15"


def test_a_date_may_stand_before():
    sitting = parse_sitting("2026-05-02 09:30-24:00")
    assert (sitting.day, sitting.minutes) == (date(2026, 5, 2), 870)
    assert parse_sitting(str(sitting)) == sitting


@pytest.mark.parametrize(("text", "problem"), [
    ("morning", "not of the form"),
    ("09:30", "not of the form"),
    ("09:30-12:15 and on", "not of the form"),
    ("٠٩:30-12:15", "not of the form"),
    ("09:61-12:15", "no clock shows"),
    ("09:30-24:01", "no clock shows"),
    ("25:00-26:00", "no clock shows"),
    ("12:15-09:30", "ends before it begins"),
    ("12:15-12:15", "ends before it begins"),
    ("2026-02-30 09:30-12:15", "no calendar shows"),
])
def test_what_is_no_sitting_is_said(text, problem):
    assert problem in parse_sitting(text)


def sittings(*texts):
    return [parse_sitting(text) for text in texts]


def test_sittings_may_touch_and_may_be_on_another_day():
    assert clash(sittings("09:00-10:00", "10:00-11:00")) is None
    assert clash(sittings("2026-05-02 14:00-15:00", "2026-05-03 09:00-10:00")) is None


@pytest.mark.parametrize(("texts", "problem"), [
    (("09:00-10:00", "09:59-11:00"), "overlaps"),
    (("09:00-10:00", "08:00-08:30"), "comes before"),
    (("2026-05-03 09:00-10:00", "2026-05-02 14:00-15:00"), "comes before"),
    (("2026-05-03 09:00-10:00", "14:00-15:00"), "has a date where another has none"),
])
def test_sittings_out_of_order_clash(texts, problem):
    place, text = clash(sittings(*texts))
    assert place == 1
    assert problem in text


def test_a_sitting_is_frozen():
    with pytest.raises(AttributeError):
        Sitting("09:00", "10:00", 60).minutes = 61
