"""kill -9 of the recorder, between writes and inside them, loses nothing that was confirmed.

Some dozens of trials here; hundreds in tests/benchmarks/recorder_kills.py.
"""

import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent


def trials(tmp_path, count, kind):
    """Run trials in a process of their own, so that no thread of the tests is forked."""
    work = tmp_path / kind
    work.mkdir()
    root = HERE.parents[2]
    command = [sys.executable, str(HERE / "recorder_kill_trials.py"), str(work), str(count), kind]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, cwd=root, check=False,
                          env={"PYTHONPATH": str(root), "PATH": "/usr/bin:/bin", "OPENBLAS_NUM_THREADS": "1"})
    assert done.returncode == 0, done.stderr
    return [tuple(int(part) for part in line.split()) for line in done.stdout.splitlines()]


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL and fork are not of this system")
def test_killed_at_any_moment(tmp_path):
    outcomes = trials(tmp_path, 60, "random")
    assert len(outcomes) == 60
    for confirmed, found, _ in outcomes:
        assert confirmed <= found <= confirmed + 1  # one more where the kill came between the write and the prompt
    assert sum(found for _, found, _ in outcomes) > 60  # the trials did record something


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL and fork are not of this system")
def test_killed_inside_a_write(tmp_path):
    outcomes = trials(tmp_path, 40, "inside")
    assert len(outcomes) == 40
    for confirmed, found, _ in outcomes:
        assert confirmed <= found <= confirmed + 1
    assert sum(confirmed for confirmed, *_ in outcomes) > 60
    assert sum(leftovers for *_, leftovers in outcomes) > 10  # it was killed inside, not between
