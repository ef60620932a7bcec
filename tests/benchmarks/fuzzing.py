"""Damaged files for every reader: `python tests/benchmarks/fuzzing.py [READER …] [--files N] [--guided SECONDS]`.

Each reader gets N files made from sound ones by mutation (bytes, cells, JSON values, lines, sizes, encodings), in a
process of its own. A file must be read or refused with an `antexp.errors.InputError`; every other exception is a
defect, and so is a file that takes longer than `SLOWEST_S`. Printed for each reader: files, how many were read,
seconds, the worst file's seconds, and by how much the process's memory grew beyond reading the sound files.

With ``--guided`` the same is done led by coverage (needs atheris: ``pip install atheris``), for so many seconds a
reader. What broke is written to the folder ``--keep``, if given, one file each.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import io
import json
import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from copy import deepcopy
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
SLOWEST_S = 20.0
"""Longer than this is a hang: the largest file here takes less than a second when it is sound."""
LONGEST_MESSAGE = 100_000

TOKENS = [token.encode("utf-8", "surrogatepass") for token in (
    "", " ", "\n", "\r", "\r\n", "\0", "\t", '"', '""', "'", ",", ";", "|", "#", "=", "[", "]", "{", "}", "[[", "]]",
    '"""', "'''", "\\", "\\u0000", "\\ud800", "\ud800", "\ufeff", "\u202e", "\u2028", "−", "½", "٣", "²", "nan", "inf",
    "-inf", "1e308", "-1e308", "1e999", "9" * 400, "9" * 5000, "0x10", "1_000", "0", "-0", "-1", "1.5", "true", "null",
    "1979-05-27T07:32:00Z", "24:00", "9999-12-31T23:59:59", "0001-01-01T00:00+14:00", "S9+10", "S99", "62+9j", "j",
    "../../etc/passwd", "/dev/zero", "C:\\con", "=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>", "{{7*7}}", "$x^$", "%s%n", "\x1b]0;x\x07", "reference", "candidate", "off",
    "swap", "level_db", "level_s", "candidates", "inf,nan", "a" * 70_000, "," * 5000)]
VALUES: tuple[Any, ...] = (None, True, False, 0, 1, -1, 2**63, 10**400, 0.5, -1e308, 1e308, "", "x", "nan", "9" * 5000,
                           "\ud800", "=1+1", [], [[]], {}, {"": None}, [None] * 50, [[1, 2]] * 3, "<script>", 3.7)


# ---- sound files, and who reads them ----

@dataclass
class Reader:
    """A reader under test: sound files of its kind, the name a file gets, and the call."""

    seeds: list[bytes]
    name: str
    read: Callable[[Path], object]
    beside: dict[str, bytes] = field(default_factory=dict)


def readers() -> dict[str, Reader]:
    """Return the readers by name; the sound files are the examples and what antexp itself writes."""
    import antexp
    from antexp.analysis.judge import judge
    from antexp.analysis.judged_folder import find_judged
    from antexp.analysis.results_file import read_results
    from antexp.design.order_file import order_files, read_order
    from antexp.field.bench_book import read_bench_book
    from antexp.field.book_columns import HANGING_COLUMNS, READING_COLUMNS
    from antexp.field.book_file import read_end_file, to_csv
    from antexp.field.readings import read_readings
    from antexp.field.swap_list import read_swap_list
    from antexp.plan.reader import read_plan
    from antexp.repeats.single_hangings_file import read_single_hangings
    from antexp.report.paragraphs import methods, newsletter
    from antexp.report.statements import statements

    folders = [ROOT / "examples" / name for name in ("clear-differences", "coarse-meter", "old-copper", "s-meter")]
    plans = [(folder / "plan.toml").read_bytes() for folder in folders]
    plan, order = read_plan(folders[0] / "plan.toml"), read_order(folders[0] / "order.csv")
    orders = [(folder / "order.csv").read_bytes() for folder in folders[:2]]
    recipe = next(text for path, text in order_files(antexp.make_order(plan), "o.csv").items() if str(path) == "o.json")
    readings = [_few_swaps((folder / "readings.csv").read_bytes(), 9) for folder in folders]
    first, second = plan.candidate_names[:2]
    bench = (f'candidate,specimen,leg_m,resonance_mhz,swr,feed_ohm,height_m,where,note\n"{first}",1,5.08,14.2,1.3,,9,'
             f'post,"fine, dry"\n"{second}",1,5.1,14.1,1.4,62+9j,9,,\n"{second}",1,,,,48-3j,,,again\n').encode()
    hangings = [b"name,level_db,swr\nred wire,-67,1.2\nblue wire,-69.5,1.4\ngrey wire,-70,1.3\n",
                b"candidate;level_s\nred wire;S7\nblue wire;S9+10\n",
                b"name,level_low_db,level_high_db\n\"red, wire\",-68,-66\nblue,-70,-68\n"]
    row = dict.fromkeys({*READING_COLUMNS, *HANGING_COLUMNS}, "") | {
        "swap": "1", "block": "1", "word": "banner", "what": "reading", "entry": "1", "keep": "1", "level_db": "-67.1",
        "time": "2026-05-01T09:30:00+02:00", "note": "=1+1"}
    ends = [to_csv(columns, [row, {**row, "entry": "2", "what": "up"}]).encode()
            for columns in (READING_COLUMNS, HANGING_COLUMNS)]
    results = [judge(folder / "readings.csv", read_plan(folder / "plan.toml")).to_json().encode()
               for folder in folders[:2]]

    def tell(path: Path) -> object:
        """Read a results file, and say of it what antexp says to others."""
        found = read_results(path)
        return find_judged(path), statements(found), newsletter(found), methods(found)

    return {
        "plan": Reader(plans, "plan.toml", read_plan),
        "order": Reader(orders, "order.csv", read_order),
        "recipe": Reader([recipe.encode() if isinstance(recipe, str) else recipe], "order.json",
                         lambda path: read_order(path.with_name("order.csv")), {"order.csv": orders[0]}),
        "swap list": Reader([*orders, _first_columns(orders[0], 5)], "order.csv", read_swap_list),
        "bench book": Reader([bench], "bench.csv", lambda path: read_bench_book(path, plan)),
        "readings": Reader(readings, "readings.csv", lambda path: read_readings(path, scale="dB")),
        "readings, planned": Reader(readings[:1], "readings.csv", lambda path: read_readings(path, plan, order)),
        "single hangings": Reader(hangings, "table.csv", read_single_hangings),
        "results.json": Reader(results, "results.json", read_results),
        "results.json, told on": Reader(results, "results.json", tell),
        "entry page's file": Reader(ends, "end.csv", lambda path: read_end_file(path, ("swap", "entry"), "record")),
    }


def _few_swaps(content: bytes, swaps: int) -> bytes:
    """Return the rows of the first swaps: small files break the same ways and many more of them are tried."""
    lines = content.decode().splitlines(keepends=True)
    return "".join([lines[0], *(line for line in lines[1:] if line.split(",")[0].isdigit()
                                and int(line.split(",")[0]) <= swaps)]).encode()


def _first_columns(content: bytes, count: int) -> bytes:
    rows = [row[:count] for row in csv.reader(io.StringIO(content.decode()))]
    return "".join(",".join(row) + "\n" for row in rows).encode()


# ---- damage ----

def mutated(seed: bytes, rng: random.Random, other: bytes = b"") -> bytes:
    """Return a damaged copy of a sound file: one to four kinds of damage, now and then one that is very large."""
    content = bytearray(seed)
    if seed[:1] == b"{" and rng.random() < 0.6:
        content = bytearray(_json_damage(seed, rng))
        if rng.random() < 0.8:
            return bytes(content)
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4))):
        rng.choice(_DAMAGE)(content, rng, other)
    return _large(content, rng) if rng.random() < 0.003 else bytes(content)


def _at(content: bytearray, rng: random.Random) -> int:
    return rng.randrange(len(content) + 1)


def _put_token(content: bytearray, rng: random.Random, other: bytes) -> None:
    at = _at(content, rng)
    content[at : at + rng.choice((0, 0, 1, 3, 8))] = rng.choice(TOKENS)


def _flip(content: bytearray, rng: random.Random, other: bytes) -> None:
    for _ in range(rng.choice((1, 1, 2, 8))):
        if content:
            content[rng.randrange(len(content))] = rng.randrange(256)


def _cut(content: bytearray, rng: random.Random, other: bytes) -> None:
    at = _at(content, rng)
    del content[at : at + rng.choice((1, 5, 40, 10**9))]


def _repeat(content: bytearray, rng: random.Random, other: bytes) -> None:
    at, length = _at(content, rng), rng.choice((1, 4, 30, 200))
    content[at:at] = content[at : at + length] * rng.choice((1, 2, 30))


def _splice(content: bytearray, rng: random.Random, other: bytes) -> None:
    at, start = _at(content, rng), rng.randrange(len(other) + 1)
    content[at : at + rng.choice((0, 20, 10**9))] = other[start : start + rng.choice((10, 60, 10**9))]


def _cell(content: bytearray, rng: random.Random, other: bytes) -> None:
    """Put another value in place of a cell, a key's value or a list's entry."""
    ends = [place for place, byte in enumerate(content) if byte in b",\n=[]"]
    if len(ends) > 1:
        place = rng.randrange(len(ends) - 1)
        content[ends[place] + 1 : ends[place + 1]] = rng.choice(TOKENS)


def _lines(content: bytearray, rng: random.Random, other: bytes) -> None:
    lines = content.split(b"\n")
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(3)
    if kind == 0:
        lines[one], lines[two] = lines[two], lines[one]
    elif kind == 1:
        lines.insert(two, lines[one])
    else:
        del lines[one]
    content[:] = b"\n".join(lines)


def _encoding(content: bytearray, rng: random.Random, other: bytes) -> None:
    text = bytes(content).decode("utf-8", "replace")
    kind = rng.randrange(4)
    content[:] = (text.encode("utf-16") if kind == 0 else b"\xef\xbb\xbf" + bytes(content) if kind == 1
                  else text.encode("latin-1", "replace") if kind == 2 else text.replace("\n", "\r").encode("utf-8"))


_DAMAGE = (_put_token, _put_token, _flip, _cut, _repeat, _splice, _cell, _cell, _lines, _encoding)


def _large(content: bytearray, rng: random.Random) -> bytes:
    """Return a file that is far larger than it should be."""
    head, _, rest = bytes(content).partition(b"\n")
    return rng.choice((
        lambda: head + b"," + b",".join(b"c%d" % n for n in range(100_000)) + b"\n" + rest,
        lambda: head + b"\n" + b",".join([b"1"] * 100_000) + b"\n" + rest,
        lambda: bytes(content) + b'"' + b"x" * 1_500_000,
        lambda: bytes(content) + rest[:200] * 2_000,
        lambda: bytes(content) + b"\nx = " + b"[" * 50_000,
        lambda: b'{"a":' * 50_000 + bytes(content),
        lambda: bytes(content) + b"\n[a" + b".a" * 20_000 + b"]\n",
        lambda: bytes(content).replace(b"1", b"9" * 4_301),
    ))()


def _json_damage(seed: bytes, rng: random.Random) -> bytes:
    """Put odd values in place of some values of a JSON document, leave some out, or add one."""
    document = json.loads(seed)
    for _ in range(rng.choice((1, 1, 2, 5))):
        places = list(_places(document))
        holder, key = rng.choice(places)
        kind = rng.random()
        if kind < 0.75:
            holder[key] = deepcopy(rng.choice(VALUES))
        elif kind < 0.9:
            del holder[key]
        elif isinstance(holder, dict):
            holder["odd"] = deepcopy(rng.choice(VALUES))
        if not document:
            break
    try:
        return json.dumps(document).encode()
    except ValueError:  # a number of more digits than Python turns into text
        return seed


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every (container, key) inside a JSON value."""
    for key, inner in list(value.items() if isinstance(value, dict) else enumerate(value)):
        yield value, key
        if isinstance(inner, dict | list):
            yield from _places(inner)


# ---- one file, and many ----

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


def fuzz(name: str, files: int, seed: int) -> Tally:
    """Give a reader so many damaged files; the same seed gives the same files."""
    reader, rng, tally = readers()[name], random.Random(f"{name} {seed}"), Tally()
    with tempfile.TemporaryDirectory() as folder:
        path = _ready(reader, Path(folder))
        for content in reader.seeds:
            path.write_bytes(content)
            reader.read(path)  # a sound file that is refused would make the rest mean nothing
        before = _memory_mib()
        for _ in range(files):
            tally.one(reader, path, mutated(rng.choice(reader.seeds), rng, rng.choice(reader.seeds)))
        tally.grown_mib = _memory_mib() - before
    return tally


def _ready(reader: Reader, folder: Path) -> Path:
    """Put beside the file what the reader looks for, and return the file's path."""
    for name, content in reader.beside.items():
        (folder / name).write_bytes(content)
    return folder / reader.name


def guided(name: str, seconds: int, out: Path) -> None:
    """Let libFuzzer choose the files by coverage; it ends the process, so the tally is written as it goes."""
    import atheris

    reader, tally = readers()[name], Tally()
    with atheris.instrument_imports(include=["antexp"]):
        for module in [module for module in sys.modules if module.split(".")[0] == "antexp"]:
            del sys.modules[module]
        reader = readers()[name]
    folder = Path(tempfile.mkdtemp(prefix="antexp-guided-", dir=out.parent))
    corpus = folder / "corpus"
    corpus.mkdir()
    for content in reader.seeds:
        (corpus / hashlib.sha256(content).hexdigest()[:16]).write_bytes(content)
    (folder / "tokens").write_text("".join('"' + "".join(f"\\x{byte:02x}" for byte in token) + '"\n'
                                           for token in TOKENS if 0 < len(token) < 60))
    path = _ready(reader, folder)
    before, said = _memory_mib(), time.monotonic()

    def one(data: bytes) -> None:
        nonlocal said
        tally.one(reader, path, data)
        if time.monotonic() - said > 1.0:
            said, tally.grown_mib = time.monotonic(), _memory_mib() - before
            _write(tally, out)

    with suppress(SystemExit):
        atheris.Setup([sys.argv[0], str(corpus), f"-max_total_time={seconds}", f"-dict={folder / 'tokens'}",
                       "-max_len=16384", "-rss_limit_mb=4096", "-timeout=60", "-verbosity=0"], one)
        atheris.Fuzz()


def _write(tally: Tally, out: Path) -> None:
    """Write a tally where the parent process finds it."""
    document = {**tally.__dict__, "broken": {where: [text, content.hex()] for where, (text, content)
                                             in tally.broken.items()}}
    out.with_suffix(".part").write_text(json.dumps(document))
    out.with_suffix(".part").replace(out)


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
    sys.path.insert(0, str(ROOT))
    if asked.one:
        if asked.guided:
            guided(asked.reader[0], asked.guided, asked.one)
        else:
            _write(fuzz(asked.reader[0], asked.files, asked.seed), asked.one)
        return 0
    print(f"| reader | {'led by coverage' if asked.guided else 'mutated'} files | read | seconds | worst file s | "
          "memory grew MiB | broke |\n|---|---:|---:|---:|---:|---:|---:|", flush=True)
    total: Counter[str] = Counter()
    for name in asked.reader or readers():
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder) / "tally.json"
            done = subprocess.run(
                [sys.executable, __file__, name, "--one", str(out), "--files", str(asked.files), "--seed",
                 str(asked.seed), "--guided", str(asked.guided)], capture_output=True, text=True, errors="replace")
            if not out.exists():
                print(done.stderr[-3000:])
                return 1
            found = json.loads(out.read_text())
        print(f"| {name} | {found['files']:,} | {found['read']:,} | {found['seconds']:.0f} | {found['worst_s']:.2f} | "
              f"{found['grown_mib']:.0f} | {len(found['broken'])} |", flush=True)
        total.update(files=found["files"], broken=len(found["broken"]))
        for where, (text, content) in found["broken"].items():
            print(f"  broke: {where}: {text!r}", flush=True)
            if asked.keep:
                asked.keep.mkdir(parents=True, exist_ok=True)
                digest = hashlib.sha256(bytes.fromhex(content)).hexdigest()[:12]
                (asked.keep / f"{name.replace(' ', '-')}-{digest}").write_bytes(bytes.fromhex(content))
    print(f"\n{total['files']:,} files in all, {total['broken']} ways to break.")
    return 1 if total["broken"] else 0


if __name__ == "__main__":
    sys.exit(main())
