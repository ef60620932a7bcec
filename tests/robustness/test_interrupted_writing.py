"""Ctrl-C or a kill before any line of the writing of three files, and Ctrl-C that cannot wait for ever."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from antexp.interrupts import interrupts_wait

ROOT = Path(__file__).parents[2]
ALL_OLD, ALL_NEW = {"old"}, {"new"}


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
