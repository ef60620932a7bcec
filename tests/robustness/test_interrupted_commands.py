"""A command stopped at a chosen moment: it waits there, is sent the signal, and is let go on.

What of `tests/benchmarks/interruptions.py` runs with the tests: its moments are events, not times.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks.writing_commands import FIELD, files_in

ROOT = Path(__file__).parents[2]

# a command whose n-th call of a function says that it has begun, and goes on when it is told to
WAITING = """
import os, sys
name, number = sys.argv[1], int(sys.argv[2])
real, calls = getattr(os, name), []

def waiting(*arguments, **named):
    calls.append(arguments)
    if len(calls) == number:
        sys.__stderr__.write("waiting\\n")
        sys.__stderr__.flush()
        os.read(0, 1)
    return real(*arguments, **named)

sys.argv[1:] = sys.argv[3:]
from antexp.cli.main import run
setattr(os, name, waiting)
run()
"""
SHEET = ("sheet", "field.csv", "-o", "paper")


def started(folder, function, number):
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}
    return subprocess.Popen(
        [sys.executable, "-c", WAITING, function, str(number), *SHEET], cwd=folder, env=environment,
        stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))  # runs in the background ignore it


@pytest.fixture(scope="module")
def new(tmp_path_factory):
    """Return what the command writes."""
    from antexp.field.companions import write_companions

    place = tmp_path_factory.mktemp("new")
    (place / "field.csv").write_text(FIELD, encoding="utf-8")
    write_companions(place / "field.csv", folder=place / "paper")
    return files_in(place / "paper")


@pytest.fixture
def old(tmp_path, new):
    """Return what stands there before the command."""
    (tmp_path / "field.csv").write_text(FIELD, encoding="utf-8")
    (tmp_path / "paper").mkdir()
    files = {name: f"old {name}\n".encode() for name in new}
    for name, content in files.items():
        (tmp_path / "paper" / name).write_bytes(content)
    return files


@pytest.mark.parametrize(("function", "number", "left"), [("mkdir", 1, "old"), ("replace", 3, "new")])
def test_ctrl_c_leaves_the_old_files_or_all_the_new_ones(old, new, tmp_path, function, number, left):
    process = started(tmp_path, function, number)
    assert process.stderr.readline() == "waiting\n"
    process.send_signal(signal.SIGINT)
    _, said = process.communicate("go on\n", timeout=60)
    assert process.returncode == 130 and said == "antexp: stopped; nothing half-written was left behind.\n"
    assert files_in(tmp_path / "paper") == {"old": old, "new": new}[left]


def test_a_kill_halfway_leaves_whole_files_and_the_same_command_mends_it(old, new, tmp_path):
    process = started(tmp_path, "replace", 3)
    assert process.stderr.readline() == "waiting\n"
    process.kill()
    process.communicate(timeout=60)
    found = files_in(tmp_path / "paper")
    ages = [found[name] == new[name] for name in new]
    assert sum(ages) == 2 and all(found[name] in (old[name], new[name]) for name in new)
    hidden = set(found) - set(new)
    assert hidden and all(name.startswith(".") and name.endswith(".part") for name in hidden)
    process = started(tmp_path, "replace", -1)
    process.communicate(timeout=60)
    assert process.returncode == 0
    assert {name: content for name, content in files_in(tmp_path / "paper").items() if name in new} == new
