"""Damaged files for every reader: `python -m tests.benchmarks.fuzzing [READER …] [--files N] [--guided SECONDS]`.

Each reader gets N files (slow ones a part of them) made from sound ones by mutation (bytes, cells, JSON values, lines,
sizes, encodings, what is inside an archive), in a process of its own. A file must be read or refused with an
`antexp.errors.InputError`; every other exception is a defect, and so is a file that takes longer than `SLOWEST_S`.
Printed for each reader: files, how many were read, seconds, the worst file's seconds, and by how much the process's
memory grew beyond reading the sound files.

With ``--guided`` the same is done led by coverage (needs atheris: ``pip install atheris``), for so many seconds a
reader; printed besides are the branches that were reached and the files kept for reaching them. A process that ends in
another way than by itself (a crash, more than 4 GiB, a minute without an answer) counts as broken. What broke is
written to the folder ``--keep``, if given, one file each.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.file_damage import TOKENS, mutated
from tests.benchmarks.fuzzed_readers import ROOT, Reader, ready

SLOWEST_S = 20.0
"""Longer than this is a hang: the largest file here takes less than a second when it is sound."""
LONGEST_MESSAGE = 100_000


class TooLong(BaseException):
    """A reader did not come back; no reader catches it."""


@contextmanager
def time_limit(seconds: float) -> Iterator[None]:
    """Raise `TooLong` in what runs inside when it takes longer."""
    def stop(*_: object) -> None:
        raise TooLong

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


@dataclass
class Tally:
    """What became of the files of one reader; `broken` maps where it broke to (what it said, the file)."""

    files: int = 0
    read: int = 0
    seconds: float = 0.0
    worst_s: float = 0.0
    grown_mib: float = 0.0
    broken: dict[str, tuple[str, bytes]] = field(default_factory=dict)

    def one(self, reader: Reader, path: Path, content: bytes) -> None:
        """Give the reader one file."""
        from antexp.errors import InputError

        path.write_bytes(content)
        begin = time.perf_counter()
        try:
            with time_limit(SLOWEST_S):
                reader.read(path)
            self.read += 1
        except InputError as error:
            if not error.faults or len(str(error)) > LONGEST_MESSAGE:
                self.broken.setdefault("message", (f"{len(str(error))} characters", content))
        except (Exception, TooLong) as error:
            frame = traceback.extract_tb(error.__traceback__)
            own = [f for f in frame if "antexp" in f.filename and "benchmarks" not in f.filename] or frame
            self.broken.setdefault(f"{type(error).__name__} at {Path(own[-1].filename).name}:{own[-1].lineno}",
                                   (str(error)[:200], content))
        took = time.perf_counter() - begin
        self.files += 1
        self.seconds += took
        self.worst_s = max(self.worst_s, took)


def _memory_mib() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def fresh_readers() -> dict[str, Reader]:
    """Return the readers; what they import of antexp is imported here and not before."""
    from tests.benchmarks.fuzzed_readers import readers

    return readers()


def fuzz(name: str, files: int, seed: int) -> Tally:
    """Give a reader so many damaged files; the same seed gives the same files."""
    reader, rng, tally = fresh_readers()[name], random.Random(f"{name} {seed}"), Tally()
    with tempfile.TemporaryDirectory() as folder:
        path = ready(reader, Path(folder))
        for content in reader.seeds:
            path.write_bytes(content)
            reader.read(path)  # a sound file that is refused would make the rest mean nothing
        before = _memory_mib()
        for _ in range(max(1, files // reader.slow)):
            tally.one(reader, path, mutated(rng.choice(reader.seeds), rng, rng.choice(reader.seeds)))
        tally.grown_mib = _memory_mib() - before
    return tally


def guided(name: str, seconds: int, out: Path) -> None:
    """Let libFuzzer choose the files by coverage; it ends the process, so the tally is written as it goes."""
    import atheris

    tally = Tally()
    with atheris.instrument_imports(include=["antexp"]):
        for module in [module for module in sys.modules if module.split(".")[0] == "antexp"]:
            del sys.modules[module]
        reader = fresh_readers()[name]
    folder = Path(tempfile.mkdtemp(prefix="antexp-guided-", dir=out.parent))
    corpus = folder / "corpus"
    corpus.mkdir()
    for content in reader.seeds:
        (corpus / hashlib.sha256(content).hexdigest()[:16]).write_bytes(content)
    (folder / "tokens").write_text("".join('"' + "".join(f"\\x{byte:02x}" for byte in token) + '"\n'
                                           for token in TOKENS if 0 < len(token) < 60))
    path = ready(reader, folder)
    before, said = _memory_mib(), time.monotonic()
    last_second = said + seconds - 1.0  # the end comes without a word, so from here on every file is told

    def one(data: bytes) -> None:
        nonlocal said
        known = len(tally.broken)
        tally.one(reader, path, data)
        now = time.monotonic()
        if now - said > 1.0 or now > last_second or len(tally.broken) > known:
            said, tally.grown_mib = now, _memory_mib() - before
            _write(tally, out)

    with suppress(SystemExit):
        atheris.Setup([sys.argv[0], str(corpus), f"-max_total_time={seconds}", f"-dict={folder / 'tokens'}",
                       "-max_len=16384", "-rss_limit_mb=4096", "-timeout=60"], one)
        atheris.Fuzz()


def _write(tally: Tally, out: Path) -> None:
    """Write a tally where the parent process finds it."""
    document = {**tally.__dict__, "broken": {where: [text, content.hex()] for where, (text, content)
                                             in tally.broken.items()}}
    out.with_suffix(".part").write_text(json.dumps(document))
    out.with_suffix(".part").replace(out)


def _read(out: Path) -> Tally:
    """Read a tally that a process left."""
    document = json.loads(out.read_text())
    broken = {where: (text, bytes.fromhex(content)) for where, (text, content) in document.pop("broken").items()}
    return Tally(**document, broken=broken)


def in_own_process(name: str, asked: argparse.Namespace) -> tuple[Tally, str]:
    """Run one reader in a process of its own; return its tally and what libFuzzer said last."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "tally.json"
        words = [sys.executable, "-m", "tests.benchmarks.fuzzing", name, "--one", str(out), "--files",
                 str(asked.files), "--seed", str(asked.seed), "--guided", str(asked.guided)]
        done = subprocess.run(words, capture_output=True, text=True, errors="replace", cwd=ROOT)
        tally = _read(out) if out.exists() else Tally()
    if done.returncode or not tally.files:
        tally.broken[f"the process ended with {done.returncode}"] = (done.stderr[-3000:], b"")
    return tally, done.stderr


def row(name: str, tally: Tally, said: str) -> str:
    """Return a line of the table."""
    reached = re.findall(r"cov: (\d+) .*?corp: (\d+)/", said)
    led = "".join(f"{int(number):,} | " for number in reached[-1]) if reached else ""
    return (f"| {name} | {tally.files:,} | {tally.read:,} | {led}{tally.seconds:.0f} | {tally.worst_s:.2f} | "
            f"{tally.grown_mib:.0f} | {len(tally.broken)} |")


def main() -> int:
    """Run what was asked for, each reader in a process of its own, and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("reader", nargs="*")
    parser.add_argument("--files", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--guided", type=int, default=0, metavar="SECONDS")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--one", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        if asked.guided:
            guided(asked.reader[0], asked.guided, asked.one)
        else:
            _write(fuzz(asked.reader[0], asked.files, asked.seed), asked.one)
        return 0
    led = ["branches reached", "files kept"] if asked.guided else []
    heads = ["files led by coverage" if asked.guided else "mutated files", "read", *led, "seconds in the reader",
             "worst file s", "memory grew MiB", "broke"]
    print("| reader | " + " | ".join(heads) + " |\n|---|" + "---:|" * len(heads), flush=True)
    total: Counter[str] = Counter()
    for name in asked.reader or fresh_readers():
        found, said = in_own_process(name, asked)
        print(row(name, found, said), flush=True)
        total.update(files=found.files, broken=len(found.broken))
        for where, (text, content) in found.broken.items():
            print(f"  broke: {where}: {text!r}", flush=True)
            if asked.keep and content:
                asked.keep.mkdir(parents=True, exist_ok=True)
                digest = hashlib.sha256(content).hexdigest()[:12]
                (asked.keep / f"{name.replace(' ', '-')}-{digest}").write_bytes(content)
    print(f"\n{total['files']:,} files in all, {total['broken']} ways to break.")
    return 1 if total["broken"] else 0


if __name__ == "__main__":
    sys.exit(main())
