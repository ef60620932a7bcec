"""Times: minutes, ISO 8601 stamps, the order's minutes, swap numbers."""

import pytest

from antexp.errors import ReadingsError
from antexp.field.readings import read_readings


def refusal(source, *args, **kwargs) -> str:
    with pytest.raises(ReadingsError) as caught:
        read_readings(source, *args, **kwargs)
    return str(caught.value)


def stamped(*times: str, column: str = "time") -> str:
    rows = [f"{i},{'ab'[i % 2]},{(i - 1) // 2 + 1},-45,{time}" for i, time in enumerate(times, 1)]
    return "\n".join([f"swap,candidate,block,level_db,{column}", *rows])


@pytest.mark.parametrize("times", [
    ("2026-05-01T10:00", "2026-05-01T10:07:30", "2026-05-01T12:00:00.5", "2026-05-01 12:10:00.5"),
    ("2026-05-01T10:00Z", "2026-05-01T12:07:30+02:00", "2026-05-01T12:00:00Z", "2026-05-01T12:10:00+00:00"),
    ("20260501T100000", "20260501T100730", "20260501T120000", "20260501T121000"),
    ("10:00", "10:07:30", "12:00:00.5", "12:10:00.5"),
])
def test_times_count_from_the_blocks_first_reading(write, times):
    record = read_readings(write(stamped(*times)))
    assert record.table["minutes"].tolist() == [0.0, 7.5, 0.0, 10.0]
    assert record.times_from == "time"
    assert record.table["time"].tolist() == list(times)


def test_the_first_reading_is_the_earliest_whatever_the_row(write):
    assert read_readings(write(stamped("10:07", "10:00"))).table["minutes"].tolist() == [7.0, 0.0]


def test_minutes_go_before_times(write):
    text = "swap,candidate,level_db,minutes,time\n1,a,-45,3,10:00\n2,b,-46,9,10:07\n"
    assert read_readings(write(text)).table["minutes"].tolist() == [3.0, 9.0]


@pytest.mark.parametrize(("times", "words"), [
    (("10:00", "25:00"), 'time is not a time: got "25:00"; allowed: ISO 8601'),
    (("10:00", "10.07"), "time is not a time"), (("2026-05-01", "2026-05-02"), "time is not a time"),
    (("01/05/2026 10:00", "10:00"), "time is not a time"), (("10:00Z", "10:07Z"), "time is not a time"),
    (("10:00", ""), "line 3, column time: time is blank"),
    (("2026-05-01T10:00", "10:07"), 'times are written in different ways: got "10:07" and "2026-05-01T10:00"'),
    (("2026-05-01T10:00Z", "2026-05-01T10:07"), "times are written in different ways"),
    (("23:58", "00:05"), "Clock times that pass midnight need the date"),
    (("2026-05-01T10:00", "2026-07-01T10:00"), "time is too long after its block's first reading"),
])
def test_times_that_are_none_are_refused(write, times, words):
    assert words in refusal(write(stamped(*times)))


@pytest.mark.parametrize(("minutes", "words"), [
    (("0", ""), "line 3, column minutes: minutes is blank"), (("0", "-3"), "minutes is not possible"),
    (("0", "1e9"), "minutes is not possible"), (("0", "7 min"), "minutes is not a number"),
])
def test_minutes_that_are_none_are_refused(write, minutes, words):
    assert words in refusal(write(stamped(*minutes, column="minutes")))


def test_a_blank_column_is_no_column(write, order):
    text = "swap,level_db,minutes,time\n1,-45,,\n2,-46,,\n"
    record = read_readings(write(text), order=order)
    assert (record.times_from, record.table["minutes"].tolist()) == ("order", [0.0, 7.0])


def test_without_any_times_the_swap_number_gives_the_place_and_a_warning(write, make_plan):
    text = "swap,candidate,block,level_db\n1,a,1,-45\n2,b,1,-46\n4,a,1,-45\n11,b,2,-46\n12,a,2,-45\n"
    record = read_readings(write(text))
    assert record.table["minutes"].tolist() == [0.0, 1.0, 3.0, 0.0, 1.0]
    assert [(n.code, n.text) for n in record.notices] == [(
        "times-from-swap-numbers", "The readings have no times: the swaps are taken as 1 min apart by their numbers, "
        "so that drift per hour means drift per 60 swaps.")]
    planned = read_readings(write(text), make_plan(("a", "b")))
    assert planned.table["minutes"].tolist() == [0.0, 7.0, 21.0, 0.0, 7.0]
