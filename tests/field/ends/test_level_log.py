"""Cutting a continuous log: against numpy's own medians, with faults, and at bounded memory."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from antexp.errors import FileError, ReadingsError
from antexp.field.level_log import Part, cut_log
from antexp.field.log_faults import log_form

T0 = np.datetime64("2026-05-01T09:00:00", "ns")


def write_log(path, level_db, step_ms=100, form="wall", decimals=3):
    times = T0 + np.arange(len(level_db)) * np.timedelta64(step_ms, "ms")
    if form == "seconds":
        texts = [f"{t / 1e9:.3f}" for t in times.astype("datetime64[ns]").astype(np.int64)]
    else:
        texts = [f"{text}{'+02:00' if form == 'zone' else ''}" for text in np.datetime_as_string(times, unit="ms")]
    rows = [f"{time},{level:.{decimals}f}\n" for time, level in zip(texts, level_db, strict=True)]
    path.write_text("time,level_db\n" + "".join(rows))
    return path


def part(start_s, stop_s, zone_h=0):
    begin = int(T0.astype(np.int64)) - zone_h * 3_600_000_000_000
    return Part(begin + round(start_s * 1e9), begin + round(stop_s * 1e9))


@pytest.mark.parametrize("form", ["wall", "zone", "seconds"])
def test_medians_scatter_and_counts_are_numpys(tmp_path, form):
    rng = np.random.default_rng(1)
    level = np.round(-67 + rng.normal(0, 0.3, 6001), 3)
    path = write_log(tmp_path / "log.csv", level, form=form)
    zone = 2 if form == "zone" else 0
    parts = [part(0, 100, zone), part(100, 150.05, zone), part(400, 600.1, zone)]
    cuts = [level[0:1000], level[1000:1501], level[4000:6001]]
    for found, samples in zip(cut_log(path, parts), cuts, strict=True):
        assert found.samples == len(samples)
        assert found.level_db == pytest.approx(np.median(samples), abs=1e-9 + 5e-4 * (len(samples) % 2 == 0))
        mad = np.median(np.abs(samples - np.median(samples)))
        # scipy.stats.median_abs_deviation(scale="normal") divides by 0.6744897501960817; half a step of 0.001 dB
        assert found.scatter_db == pytest.approx(mad / 0.6744897501960817, abs=0.0015)
        assert not found.has_bursts


def test_bursts_are_flagged_and_the_median_bears_them(tmp_path):
    rng = np.random.default_rng(2)
    level = -67 + rng.normal(0, 0.2, 4000)
    level[100:140] += 15.0
    found, quiet = cut_log(write_log(tmp_path / "log.csv", level), [part(0, 200), part(200, 400)])
    assert found.has_bursts and found.burst_share == pytest.approx(0.02) and 14 < found.burst_db < 16
    assert found.level_db == pytest.approx(-67, abs=0.05)
    assert not quiet.has_bursts


def test_samples_without_a_level_are_passed_over_and_an_empty_part_says_so(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("device,time,level_db\nx,2026-05-01T09:00:00,-67\nx,2026-05-01T09:00:01,\n"
                    "x,2026-05-01T09:00:02,nan\nx,2026-05-01T09:00:03,-69\n")
    found, empty = cut_log(path, [part(0, 10), part(10, 20)])
    assert (found.samples, found.level_db) == (2, -68.0)
    assert empty.samples == 0 and np.isnan(empty.level_db)


@pytest.mark.parametrize(("text", "message"), [
    ("", "has not the columns"), ("time;level_db\n", "has not the columns"), ("time,level_db\nlater,-67\n", "line 2"),
    ("time,level_db\n2026-05-01T09:00:00,-67\n2026-05-01T09:00:01,loud\n", "line 3, column level_db.*\"?loud"),
    ("time,level_db\n2026-05-01T09:00:00,-67\n2026-05-01T09:00:01,-6700\n", "line 3.*not possible"),
    ("time,level_db\n2026-05-01T09:00:00,-67\n09:00:01,-67\n", "line 3, column time"),
    ("time,level_db\n2026-05-01T09:00:00,-67\n2026-05-01T09:00:01+02:00,-67\n", "line 3.*not written like the first"),
    ("time,level_db\n2026-05-01T09:00:01,-67\n2026-05-01T09:00:00,-67\n", "times fall.*|line 3"),
    ("time,level_db\n2026-05-01T09:00:00,-67\n\n2026-05-01T09:00:01,-67\n", "line 3"),
])
def test_a_log_at_fault_is_refused_with_its_line(tmp_path, text, message):
    path = tmp_path / "log.csv"
    path.write_text(text)
    with pytest.raises(ReadingsError, match=message):
        cut_log(path, [part(0, 10)])


@pytest.mark.parametrize("tail", ["2026-05-01T09:0", "2026-05-01T09:00:02,-", "2026-05-01T09:00:02,-6"])
def test_a_last_row_that_was_cut_off_is_not_read(tmp_path, tail):
    path = tmp_path / "log.csv"
    path.write_text(f"time,level_db\n2026-05-01T09:00:00,-67\n2026-05-01T09:00:01,-67\n{tail}")
    assert cut_log(path, [part(0, 10)])[0].samples == 2


def test_times_that_fall_between_two_chunks_are_found(tmp_path, monkeypatch):
    monkeypatch.setattr("antexp.field.level_log.CHUNK_ROWS", 2)
    path = tmp_path / "log.csv"
    path.write_text("time,level_db\n" + "".join(f"2026-05-01T09:00:0{s},-67\n" for s in (1, 2, 1, 3)))
    with pytest.raises(ReadingsError, match="line 4"):
        cut_log(path, [part(0, 10)])


def test_a_part_that_spans_chunks_is_one_reading(tmp_path, monkeypatch):
    level = np.round(np.linspace(-70, -60, 1000), 3)
    path = write_log(tmp_path / "log.csv", level)
    whole = cut_log(path, [part(5, 95)])
    monkeypatch.setattr("antexp.field.level_log.CHUNK_ROWS", 37)
    assert cut_log(path, [part(5, 95)]) == whole


def test_a_missing_log_is_a_file_fault(tmp_path):
    with pytest.raises(FileError, match="no such log"):
        log_form(tmp_path / "none.csv")


def test_memory_does_not_grow_with_the_log(tmp_path):
    """Four times the samples may not take more than a few megabytes more (a table of them would take 50 more)."""
    peaks = []
    for count in (300_000, 1_200_000):
        path = tmp_path / f"{count}.csv"
        rows = "".join(f"{1_777_626_000 + n / 100:.2f},{-67 - n % 7 / 10:.1f}\n" for n in range(30_000))
        with open(path, "w") as stream:
            stream.write("time,level_db\n")
            for block in range(count // 30_000):
                stream.write(rows if not block else "".join(
                    f"{1_777_626_000 + (block * 30_000 + n) / 100:.2f},-67.{n % 7}\n" for n in range(30_000)))
        code = ("import resource, sys; from antexp.field.level_log import Part, cut_log; t = 1_777_626_000 * 10**9; "
                f"found = cut_log({str(path)!r}, [Part(t, t + 10**15)]); "
                "sys.stdout.write(f'{found[0].samples} {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss}')")
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                              cwd=Path(__file__).parents[3])
        samples, peak = (int(part) for part in done.stdout.split())
        assert samples == count
        peaks.append(peak)
    assert peaks[1] - peaks[0] < 25_000  # kilobytes


def test_a_monstrous_row_is_refused_before_every_row_is_given_as_much_room(tmp_path):
    """The quick reader makes all rows as wide as the widest: 400 kB of this once took 690 MiB."""
    path = write_log(tmp_path / "log.csv", np.full(50_000, -67.0), form="seconds")
    whole = path.read_text().splitlines(keepends=True)
    path.write_text("".join([*whole[:9], "," * 20_000 + "\n", *whole[9:]]))
    with pytest.raises(ReadingsError, match="line 10: the row has more cells than the head: got 20,001 cells"):
        cut_log(path, [part(0, 100)])
    path.write_text("".join([*whole[:9], "7" * 3_000_000 + "\n", *whole[9:]]))
    with pytest.raises(ReadingsError, match="line 10: a row is longer than any of a log"):
        cut_log(path, [part(0, 100)])


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_trailing_commas_commas_in_quotes_and_any_line_end_are_fine(tmp_path, end):
    path = tmp_path / "log.csv"
    second = int(T0.astype(np.int64)) // 10**9
    rows = [f'{second + n},-67.{n % 10},"{"," * 40}",,,' for n in range(200)]
    path.write_bytes((end.join(["time,level_db,note", *rows]) + end).encode())
    found, = cut_log(path, [part(0, 100)])
    assert found.samples == 100 and found.level_db == pytest.approx(-67.45)
