"""Ctrl-C and kills at random moments: `python -m tests.benchmarks.interruptions [COMMAND …] [--times N] [--seed N]`.

Every command that writes is started over the files of an earlier run, and gets SIGINT or SIGKILL at a moment drawn
evenly from when antexp begins to how long the command takes undisturbed. Afterwards every file must be the old or the
new one, byte for byte (points of time in it aside), and nothing else may stand there. After SIGINT all files must be of
the same age, the exit status must be 130, and no traceback may be said; after SIGKILL files of both ages may stand
there, and hidden ``.part`` files. Prints one row a command. (While Python itself starts, before antexp begins, it
answers Ctrl-C in its own way, which is not tried. While it ends, after the command, the signal itself ends it, which a
shell shows as 130 too.)
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shlex
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.writing_commands import WRITING, Writing, files_in, mark, prepare

ROOT = Path(__file__).parents[2]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}
OUTCOMES = ("ended before", "old kept", "new complete", "both ages", "broke")
_TIME = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:[+-]\d\d:\d\d|Z)?")


@dataclass(frozen=True)
class Course:
    """What a command does undisturbed.

    Attributes
    ----------
    seconds : float
    old, new : dict of str to bytes
        The folder's files before and after.
    """

    seconds: float
    old: dict[str, bytes]
    new: dict[str, bytes]

    @property
    def changed(self) -> list[str]:
        """Names of the files that the command makes or replaces."""
        return [name for name, content in self.new.items() if self.old.get(name) != content]


def start(folder: Path, words: list[str]) -> subprocess.Popen[str]:
    """Start Python in the folder, with Ctrl-C as in a terminal of its own."""
    return subprocess.Popen(
        [sys.executable, *words], cwd=folder, env=ENVIRONMENT, text=True, stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))


def run(folder: Path, command: str, typed: str = "") -> float:
    """Run an antexp command to its end; return the seconds it took."""
    began = time.monotonic()
    process = start(folder, ["-m", "antexp", *shlex.split(command)])
    _, said = process.communicate(typed, timeout=120)
    if process.returncode:
        raise RuntimeError(f"antexp {command}: {said}")
    return time.monotonic() - began


def begins_after() -> float:
    """Return the seconds until Python has started and antexp can answer."""
    began = time.monotonic()
    start(ROOT, ["-c", "import antexp.__main__"]).communicate(timeout=60)
    return time.monotonic() - began


def settled(files: dict[str, bytes]) -> dict[str, bytes]:
    """Return files with every point of time in them replaced: it differs from run to run."""
    return {name: content if name.endswith((".png", ".zip")) else _TIME.sub(b"TIME", content)
            for name, content in files.items()}


def undisturbed(folder: Path, command: Writing) -> Course:
    """Run a command twice to its end over the same old files; both times must give the same."""
    before = files_in(folder)
    if command.first:
        run(folder, command.first, command.typed_first)
    if command.marked:
        mark(folder, before)
    old, found = settled(files_in(folder)), []
    kept = files_in(folder)
    for _ in range(2):
        put(folder, kept)
        seconds = run(folder, command.again, command.typed)
        found.append(settled(files_in(folder)))
    put(folder, kept)
    if found[0] != found[1]:
        raise RuntimeError(f"antexp {command.again} does not write the same twice")
    course = Course(seconds, old, found[1])
    if not course.changed:
        raise RuntimeError(f"antexp {command.again} changes nothing: no test of what an interruption leaves")
    return course


def put(folder: Path, files: dict[str, bytes]) -> None:
    """Make the folder hold these files and no others; of folders those that are needed."""
    for name in set(files_in(folder)) - set(files):
        (folder / name).unlink()
    for path in folder.iterdir():
        if path.is_dir() and not any(path.iterdir()):
            path.rmdir()
    for name, content in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)


def interrupt(folder: Path, command: Writing, course: Course, number: signal.Signals, moment_s: float) -> list[str]:
    """Disturb a command once; return how it came out, and what is wrong."""
    process = start(folder, ["-m", "antexp", *shlex.split(command.again)])
    try:
        _, said = process.communicate(command.typed, timeout=moment_s)
        late = True
    except subprocess.TimeoutExpired:
        process.send_signal(number)
        _, said = process.communicate(timeout=60)
        late = False
    outcome, faults = judged(settled(files_in(folder)), course, number)
    ended = process.returncode
    if late or ended == 0:
        outcome, faults = "ended before", faults if outcome == "new complete" else [*faults, "ended with old files"]
    elif ended not in ((130, -number) if number == signal.SIGINT else (-number,)):
        faults.append(f"exit status {ended}")
    if "Traceback" in said and "__main__.py" in said:  # else Python was still starting
        faults.append(f"traceback: {said[-300:]}")
    return ["broke", *faults] if faults else [outcome]


def judged(found: dict[str, bytes], course: Course, number: signal.Signals) -> tuple[str, list[str]]:
    """Tell of what age the files are, and what stands there that should not."""
    ages, faults = set(), []
    for name in sorted({*found, *course.old, *course.new}):
        content = found.get(name)
        was, becomes = course.old.get(name), course.new.get(name)
        if content == was != becomes:
            ages.add("old")
        elif content == becomes != was:
            ages.add("new")
        elif content != was and not (number == signal.SIGKILL and was is None and is_passing(name)):
            faults.append(f"{name} is neither old nor new")
    if len(ages) == 2 and number == signal.SIGINT:
        faults.append("files of both ages")
    return "both ages" if len(ages) == 2 else {"old": "old kept", "new": "new complete"}[ages.pop()], faults


def is_passing(name: str) -> bool:
    """Tell whether a file is one that a kill may leave beside."""
    bare = name.rpartition("/")[2]
    return bare.startswith(".") and bare.endswith(".part")


def trials(folder: Path, name: str, times: int, chance: random.Random) -> tuple[Course, Counter[str]]:
    """Disturb one command so many times with each signal; what broke is told on standard error."""
    command, begin = WRITING[name], begins_after()
    course = undisturbed(folder, command)
    kept, counted = files_in(folder), Counter[str]()
    for number in (signal.SIGINT, signal.SIGKILL):
        for _ in range(times):
            put(folder, kept)
            moment = chance.uniform(begin, max(course.seconds, begin))
            outcome, *faults = interrupt(folder, command, course, number, moment)
            counted[outcome] += 1
            counted["part"] += any(map(is_passing, files_in(folder)))
            if faults:
                print(f"{name}, {number.name} after {moment:.2f} s: {'; '.join(faults)}", file=sys.stderr)
    put(folder, kept)
    return course, counted


def main() -> int:
    """Disturb the commands that were asked for; return 1 when something broke."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("commands", nargs="*", metavar="COMMAND", help=f"of {', '.join(WRITING)}; left out: all")
    parser.add_argument("--times", type=int, default=6, help="interruptions with each of the two signals")
    parser.add_argument("--seed", type=int, default=1, help="of the moments")
    asked = parser.parse_args()
    if unknown := set(asked.commands) - set(WRITING):
        parser.error(f"no such command: {', '.join(sorted(unknown))}; there are {', '.join(WRITING)}")
    broke = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prepare(folder, lambda command, typed: run(folder, command, typed))
        print(f"| command | files | seconds | interruptions | {' | '.join(OUTCOMES)} | .part left |")
        print(f"|---{'|---:' * (4 + len(OUTCOMES))}|")
        for each in asked.commands or WRITING:
            chance = random.Random(f"{asked.seed} {each}")  # a command alone is disturbed as it is among all
            course, counted = trials(folder, each, asked.times, chance)
            cells = [len(course.changed), f"{course.seconds:.1f}", 2 * asked.times, *(counted[of] for of in OUTCOMES)]
            print(f"| {each} | {' | '.join(map(str, cells))} | {counted['part']} |", flush=True)
            broke += counted["broke"]
    return 1 if broke else 0


if __name__ == "__main__":
    sys.exit(main())
