"""Readings cut from a log by the hanging end's times."""

import numpy as np
import pytest

from antexp.design.order_file import read_order
from antexp.errors import ReadingsError
from antexp.field.book_file import to_csv
from antexp.field.log_record import record_from_log
from antexp.field.readings import read_readings

STEP_S = 0.5
SECONDS = 75 * 60


def log_of(path, *, kind="zone", ahead_s=0.0):
    """Write a log from 09:30 on whose level tells the swap: -60.n between one and six minutes of each seven."""
    seconds = np.arange(0, SECONDS, STEP_S)
    swap = (seconds // 420).astype(int) + 1
    within = seconds % 420
    up = (within >= 60) & (within <= 360)
    settling = up & (within < 70)  # ten seconds of swinging
    level = np.where(settling, -50.0, np.where(up, -60 - swap / 10, -120.0))
    # 09:30:00+02:00 is 07:30 UTC
    start = np.datetime64("2026-05-01T07:30:00", "ms") + np.timedelta64(int(ahead_s * 1000), "ms")
    times = start + (seconds * 1000).astype("timedelta64[ms]")
    if kind == "seconds":
        texts = [f"{value / 1000:.3f}" for value in times.astype(np.int64)]
    elif kind == "wall":
        texts = np.datetime_as_string(times + np.timedelta64(2, "h"))
    else:
        texts = [f"{text}+00:00" for text in np.datetime_as_string(times)]
    path.write_text("time,level_db\n" + "".join(f"{t},{v:.1f}\n" for t, v in zip(texts, level, strict=True)))
    return path


@pytest.fixture
def times(tmp_path, hanging_day):
    return hanging_day.hang_all().write(tmp_path / "hanging.csv")


@pytest.mark.parametrize("kind", ["zone", "wall", "seconds"])
def test_each_swap_gets_its_level_whatever_way_the_log_writes_time(tmp_path, swaps, times, plan, order_csv, kind):
    found = record_from_log(log_of(tmp_path / "log.csv", kind=kind), times, swaps, readings=3)
    assert not found.notices
    out = tmp_path / "readings.csv"
    out.write_text(to_csv(found.columns, found.rows))
    record = read_readings(out, plan, read_order(order_csv))
    assert len(record.table) == 30 and not record.notices
    assert record.table["level_db"].tolist() == pytest.approx([-60 - s / 10 for s in range(1, 11) for _ in range(3)])
    # 280 s between the guards, in three parts; the middle of the first is 61.67 s after the swap went up
    assert found.rows[0]["time"] == "2026-05-01T09:32:01+02:00"
    assert int(found.rows[0]["samples"]) == pytest.approx(280 / 3 / STEP_S, abs=1)


def test_the_logs_clock_may_be_ahead(tmp_path, swaps, times, hanging_day):
    log = log_of(tmp_path / "log.csv", ahead_s=200)
    straight = record_from_log(log_of(tmp_path / "straight.csv"), times, swaps, readings=2)
    assert record_from_log(log, times, swaps, readings=2, log_ahead_s=200).rows == straight.rows
    hanging_day.add(1, "clock", 0, other_time="2026-05-01T09:33:20+02:00").write(times)
    assert record_from_log(log, times, swaps, readings=2).rows == straight.rows


def test_without_the_settling_guard_the_swinging_is_seen_as_bursts(tmp_path, swaps, times):
    log = log_of(tmp_path / "log.csv")
    bare = record_from_log(log, times, swaps, readings=1, settle_s=0, guard_s=0)
    assert [notice.code for notice in bare.notices] == ["log-bursts"]
    assert "bursts: 3.3 % of the samples" in bare.rows[0]["note"]
    assert not record_from_log(log, times, swaps, readings=1, settle_s=12).notices


def test_what_the_log_does_not_hold_is_left_out_and_said(tmp_path, swaps, times, hanging_day):
    log = log_of(tmp_path / "log.csv")
    lines = log.read_text().splitlines(keepends=True)
    log.write_text("".join(lines[: 1 + int(5 * 420 / STEP_S)]))  # it stopped after swap 5
    found = record_from_log(log, times, swaps, readings=2)
    assert [notice.code for notice in found.notices] == ["log-without-samples"]
    assert [row["keep"] for row in found.rows] == ["1"] * 10 + ["0"] * 10
    assert found.rows[-1]["level_db"] == "" and found.rows[-1]["note"] == "no samples in the log"


def test_a_swap_shorter_than_the_guards_is_left_out_and_said(tmp_path, swaps, hanging_day):
    hanging_day.hang(1).add(2, "up", 8).add(2, "down", 8.2)
    times = hanging_day.write(tmp_path / "hanging.csv")
    found = record_from_log(log_of(tmp_path / "log.csv"), times, swaps, readings=2)
    assert [notice.code for notice in found.notices] == ["log-swap-too-short"] and "swaps 2." in found.notices[0].text
    assert {row["swap"] for row in found.rows} == {"1"}


def test_what_really_hung_comes_with_its_reason(tmp_path, swaps, hanging_day):
    hanging_day.hang_all(swr="1.4").add(2, "wrong", 80, candidate="cedar wire", specimen="1", note="tags swapped")
    hanging_day.add(3, "wrong", 80, note="nobody knows")
    found = record_from_log(log_of(tmp_path / "log.csv"), hanging_day.write(tmp_path / "h.csv"), swaps, readings=1)
    assert (found.rows[1]["candidate"], found.rows[1]["correction"], found.rows[1]["keep"]) == (
        "cedar wire", "tags swapped", "1")
    assert found.rows[2]["keep"] == "0" and found.rows[0]["swr"] == "1.4"


def test_times_that_cannot_be_cut_by_are_refused(tmp_path, swaps, hanging_day):
    log = log_of(tmp_path / "log.csv")
    hanging_day.hang(1).add(2, "up", 5)
    with pytest.raises(ReadingsError) as caught:
        record_from_log(log, hanging_day.write(tmp_path / "h.csv"), swaps, readings=1)
    assert "the swap has no end: got swap 2" in str(caught.value) and "two swaps overlap" in str(caught.value)
    assert "swap 1 ends at 09:36:00, swap 2 begins at 09:35:00" in str(caught.value)


def test_the_log_of_another_day_is_refused_with_both_times(tmp_path, swaps, times):
    log = tmp_path / "log.csv"
    log.write_text("time,level_db\n2026-05-02T09:30:00Z,-67\n2026-05-02T09:31:00Z,-67\n")
    with pytest.raises(ReadingsError, match="nothing of the log falls into any swap") as caught:
        record_from_log(log, times, swaps, readings=1)
    assert "2026-05-02T09:30:00Z" in str(caught.value) and "2026-05-01T09:31:00+02:00" in str(caught.value)
