"""Ctrl-C or a kill before any line of the writing of three files, and Ctrl-C that cannot wait for ever."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from antexp.interrupts import interrupts_wait
from tests.benchmarks.writing_commands import FIELD

ROOT = Path(__file__).parents[2]
ALL_OLD, ALL_NEW = {"old"}, {"new"}


@pytest.fixture(autouse=True)
def heard():
    """Let Ctrl-C be heard: where the tests run in the background it is ignored from the start."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def _trials(folder, way):
    done = subprocess.run([sys.executable, str(Path(__file__).with_name("one_write.py")), str(ROOT), str(folder), way],
                          capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stderr[-500:]
    trials = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(trials) > 50 and trials[-1]["how"] == "written"  # every line up to the end was tried
    return [(trial, {text.split()[0] if text else "missing" for text in trial["files"].values()}) for trial in trials]


def test_an_interruption_at_any_line_leaves_all_old_or_all_new_files(tmp_path):
    for trial, ages in _trials(tmp_path / "day", "interrupt"):
        assert ages in (ALL_OLD, ALL_NEW) and not trial["hidden"], trial


def test_a_kill_at_any_line_leaves_whole_files(tmp_path):
    """Each file is the old or the new one to the last byte; besides, hidden .part files may stay."""
    found = _trials(tmp_path / "day", "kill")
    for trial, ages in found:
        assert ages <= {"old", "new"}, trial
        assert all(text == f"{text.split()[0]} {name}" for name, text in trial["files"].items()), trial
        assert all(name.startswith(".") and name.endswith(".part") for name in trial["hidden"]), trial
    assert [ages for _, ages in found].count(ALL_OLD) and [ages for _, ages in found].count(ALL_NEW)


# ---- what the writing relies on ----

def test_an_interruption_waits_for_the_end_of_the_block():
    done = []
    with pytest.raises(KeyboardInterrupt), interrupts_wait():
        signal.raise_signal(signal.SIGINT)
        done.append("all of it")
    assert done == ["all of it"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_second_interruption_does_not_wait():
    done = []
    with pytest.raises(KeyboardInterrupt), interrupts_wait():
        signal.raise_signal(signal.SIGINT)
        done.append("first")
        signal.raise_signal(signal.SIGINT)
        done.append("second")
    assert done == ["first"] and signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_blocks_in_blocks_wait_for_the_outermost_and_a_second_interruption_for_none():
    done = []
    with pytest.raises(KeyboardInterrupt), interrupts_wait():
        with interrupts_wait():
            signal.raise_signal(signal.SIGINT)
            done.append("inner")
        done.append("outer")
    assert done == ["inner", "outer"]
    with pytest.raises(KeyboardInterrupt), interrupts_wait():
        with interrupts_wait():
            signal.raise_signal(signal.SIGINT)
            signal.raise_signal(signal.SIGINT)
        done.append("not reached")
    assert done == ["inner", "outer"] and signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_the_recorder_counts_a_reading_that_an_interruption_met_on_its_way_to_the_disk(antexp, tmp_path, monkeypatch):
    (tmp_path / "field.csv").write_text(FIELD, encoding="utf-8")
    monkeypatch.setattr("sys.stdin", io.StringIO("-60\n-60.1\n-60.2\n"))
    real, saved = os.replace, []

    def replace(*names):
        saved.append(names)
        if len(saved) == 2:
            signal.raise_signal(signal.SIGINT)
        real(*names)

    monkeypatch.setattr("os.replace", replace)
    ran = antexp("record", tmp_path / "field.csv", "-o", tmp_path / "typed.csv")
    assert ran.status == 130 and "2 readings of 1 swap on the disk" in " ".join(ran.out.split())
    assert len((tmp_path / "typed.csv").read_text(encoding="utf-8").splitlines()) == 1 + 2


def test_an_interruption_is_not_lost_in_a_fault():
    with pytest.raises(KeyboardInterrupt) as stopped, interrupts_wait():
        signal.raise_signal(signal.SIGINT)
        raise OSError("the disk is full")
    assert isinstance(stopped.value.__context__, OSError)


def test_interruptions_that_are_ignored_stay_ignored_and_threads_are_left_alone():
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with interrupts_wait():
            assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
            signal.raise_signal(signal.SIGINT)
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    seen = []

    def work():
        with interrupts_wait():
            seen.append(signal.getsignal(signal.SIGINT))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join(20)
    assert seen == [signal.default_int_handler]
