"""Kills the recorder with SIGKILL, at random moments or inside a write, and looks at what is left on the disk.

Run by a test (some dozens of trials) and by tests/benchmarks/recorder_kills.py (hundreds). A child process records
through pipes; it confirms a reading by its next prompt, and the parent kills it. What counts as confirmed must stand
in the file, the file must be valid, and the recorder must go on from it.
"""

import csv
import os
import random
import signal
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from antexp.field.facts import FieldFacts
from antexp.field.recorder import Recorder, Settings, record
from antexp.field.swap_list import read_swap_list

# Where inside a write a child kills itself, counted in system calls of one save.
INSIDE = ("before anything", "half written", "written, not synced", "synced, not in place",
          "in place, folder not synced")


@dataclass(frozen=True)
class Outcome:
    """What one trial left.

    Attributes
    ----------
    confirmed : int
        Levels whose next prompt came before the kill.
    found : int
        Readings in the file afterwards.
    leftovers : int
        Half-written files beside it before the recorder went on.
    """

    confirmed: int
    found: int
    leftovers: int


class _Piped:
    """The child's terminal: prompts and lines through pipes."""

    def __init__(self, reader, writer):
        self._reader, self._writer = reader, writer

    def say(self, text):
        pass

    def ask(self, prompt):
        os.write(self._writer, b".")
        line = self._reader.readline()
        if not line:
            raise EOFError
        return line


def _kill_inside(where, at_save):
    """Make this process kill itself inside its ``at_save``-th write."""
    saves = [0]
    fsync, replace, fdopen = os.fsync, os.replace, os.fdopen

    def die():
        os.kill(os.getpid(), signal.SIGKILL)

    def counted_fdopen(*args, **kwargs):
        saves[0] += 1
        stream = fdopen(*args, **kwargs)
        if saves[0] == at_save and where == "before anything":
            die()
        if saves[0] == at_save and where == "half written":
            write = stream.write

            def half(data):
                write(data[: len(data) // 2])
                stream.flush()
                die()

            stream = type("Half", (), {"write": staticmethod(half), "__enter__": lambda s: s,
                                       "__exit__": lambda s, *a: None, "flush": stream.flush,
                                       "fileno": stream.fileno})()
        return stream

    def counted_fsync(handle):
        if saves[0] == at_save and where == "written, not synced":
            die()
        fsync(handle)

    def counted_replace(*names):
        if saves[0] == at_save and where == "synced, not in place":
            die()
        replace(*names)
        if saves[0] == at_save and where == "in place, folder not synced":
            die()

    os.fsync, os.replace, os.fdopen = counted_fsync, counted_replace, counted_fdopen


def one_trial(order, path, rng, where=None):
    """Run one child, kill it, and return what it left.

    Parameters
    ----------
    order : Path
        Order file.
    path : Path
        Readings file; what is in it already is gone on with.
    rng : random.Random
        When to kill.
    where : str, optional
        One of `INSIDE`; left out: at a random moment.
    """
    swaps, facts = read_swap_list(order), FieldFacts()
    at_save = rng.randint(1, 8)
    before = len(Recorder(Settings(path, swaps, facts)).book.rows)
    to_child, from_parent = os.pipe()
    to_parent, from_child = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(from_parent)
        os.close(to_parent)
        try:
            with os.fdopen(to_child, "r") as reader:
                if where is not None:
                    _kill_inside(where, at_save)
                record(Settings(path, swaps, facts), _Piped(reader, from_child))
        finally:
            os._exit(0)
    os.close(to_child)
    os.close(from_child)
    confirmed = _type_until_killed(child, from_parent, to_parent, rng, at_random=where is None)
    leftovers = len(list(path.parent.glob(".*.part")))
    book = Recorder(Settings(path, swaps, facts)).book  # raises where the file is not valid
    _check_by_hand(path, len(book.rows))
    return Outcome(confirmed, len(book.rows) - before, leftovers)


def _type_until_killed(child, from_parent, to_parent, rng, at_random):
    """Type levels, kill at a random moment, and return how many were confirmed by a prompt."""
    prompts = 0
    deadline = None
    try:
        while True:
            if deadline is not None and time.monotonic() >= deadline and prompts:
                os.kill(child, signal.SIGKILL)
                deadline = None
            got = os.read(to_parent, 1)
            if not got:
                break
            prompts += 1
            if prompts == 1 and at_random:
                deadline = time.monotonic() + rng.uniform(0.0, 0.04)
            os.write(from_parent, f"67.{prompts % 10}\n".encode())
            if deadline is not None:
                time.sleep(rng.uniform(0.0, 0.002))
    except BrokenPipeError:
        pass
    prompts += len(os.read(to_parent, 100))  # what it confirmed in its last moment
    os.close(from_parent)
    os.close(to_parent)
    os.waitpid(child, 0)
    return max(prompts - 1, 0)


def _check_by_hand(path, rows):
    """Read the file with the standard library alone."""
    if not path.exists():
        assert rows == 0
        return
    with open(path, encoding="utf-8", newline="") as stream:
        table = list(csv.reader(stream))
    assert len(table) == rows + 1 and all(len(row) == len(table[0]) for row in table)


def long_order():
    """Return an invented order so long that no trial comes to its end."""
    rows = [f"{n},1,{n},{7 * n},word{n},{'cedar' if n % 2 else 'birch'} wire,1,1,"
            f"{'reference' if n % 2 else 'candidate'}\n" for n in range(1, 401)]
    return "swap,block,position,minutes,word,candidate,specimen,place,role\n" + "".join(rows)


def run_trials(folder, count, seed=1, inside=False):
    """Run trials, each from a fresh file or on the one the trial before left, and return their outcomes."""
    rng = random.Random(seed)
    outcomes = []
    path, order = Path(folder) / "readings.csv", Path(folder) / "order.csv"
    order.write_text(long_order())
    for trial in range(count):
        if trial % 4 == 0:
            path.unlink(missing_ok=True)
        where = INSIDE[trial % len(INSIDE)] if inside else None
        outcomes.append(one_trial(order, path, rng, where))
    return outcomes


if __name__ == "__main__":
    work_folder, trials, kind = sys.argv[1:4]
    for outcome in run_trials(work_folder, int(trials), inside=kind == "inside"):
        sys.stdout.write(f"{outcome.confirmed} {outcome.found} {outcome.leftovers}\n")
