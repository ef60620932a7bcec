"""A fixed slice of `tests/benchmarks/fuzzing.py`, and files of a kind that once broke a reader or might."""

import hashlib
import io
import json
import os
import random
import resource
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from antexp.design.recipe import Recipe
from antexp.errors import InputError
from tests.benchmarks.file_damage import _large as _large_file
from tests.benchmarks.file_damage import fit_list, mutated
from tests.benchmarks.fuzzed_readers import Reader, ready

ROOT = Path(__file__).parents[2]
FILES = 150
READERS = ("plan", "order", "recipe", "swap list", "bench book", "readings", "readings, planned", "single hangings",
           "results.json", "results.json, told on", "entry page's file", "log of levels", "archive")


@pytest.mark.parametrize("name", READERS)
def test_damaged_files_are_read_or_refused(fuzzing, readers, tmp_path, name):
    reader, rng, tally = readers[name], random.Random(f"{name} in CI"), fuzzing.Tally()
    path = ready(reader, tmp_path)
    for content in reader.seeds:
        path.write_bytes(content)
        reader.read(path)
    for _ in range(max(40, FILES // reader.slow)):
        tally.one(reader, path, mutated(rng.choice(reader.seeds), rng, rng.choice(reader.seeds)))
    assert {where: text for where, (text, _) in tally.broken.items()} == {}
    assert 0 < tally.read < tally.files  # some damage is harmless, most is not


def test_every_reader_of_the_script_is_in_the_slice(readers):
    assert set(readers) == set(READERS)


def test_a_reader_that_breaks_or_hangs_is_noticed(fuzzing, tmp_path, monkeypatch):
    def endless(path):
        while True:
            pass

    monkeypatch.setattr(fuzzing, "SLOWEST_S", 0.2)
    tally = fuzzing.Tally()
    tally.one(Reader([b""], "x", endless), tmp_path / "x", b"")
    tally.one(Reader([b""], "x", lambda path: {}["no"]), tmp_path / "x", b"")
    assert [where.split()[0] for where in tally.broken] == ["TooLong", "KeyError"]


def _large(reader):
    """Return every kind of file that is far larger than it should be."""
    class Nth(random.Random):
        def choice(self, of):
            return of[self.number]

    found = []
    for number in range(8):
        rng = Nth()
        rng.number = number
        found.append(_large_file(bytearray(reader.seeds[0]), rng))
    return found


@pytest.mark.parametrize("name", ["plan", "order", "readings", "single hangings", "results.json"])
def test_large_files_end_soon_and_in_little_memory(fuzzing, readers, tmp_path, name):
    reader, tally = readers[name], fuzzing.Tally()
    path = ready(reader, tmp_path)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for content in _large(reader):
        tally.one(reader, path, content)
    assert tally.files == 8 and not tally.broken
    assert tally.worst_s < 5.0  # measured: below 1 s
    # a file of 2 MB may take some tens of times its size while it is taken apart; dotted keys once took 1500 MiB
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024 < 300


ODD_PLANS = {
    "a key of 20,000 parts": "candidates = ['a', 'b']\na" + ".a" * 20_000 + " = 1\n",
    "a table of 20,000 parts": "candidates = ['a', 'b']\n[a" + ".a" * 20_000 + "]\n",
    "80,000 unknown keys": "candidates = ['a', 'b']\n" + "".join(f"key{n} = 1\n" for n in range(80_000)),
    "lists in lists": "candidates = " + "[" * 5000,
    "tables in tables": "candidates = " + "{a=" * 5000,
    "a number of 5,000 digits": "candidates = ['a', 'b']\nhours = " + "9" * 5000,
    "a number beyond floats": "candidates = ['a', 'b']\nhours = 1e999",
    "not a number": "candidates = ['a', 'b']\nhours = nan",
    "a date": "candidates = ['a', 'b']\nhours = 1979-05-27",
    "half a surrogate pair": "candidates = ['a', \"\\ud800\"]",
    "a line end in a name": "candidates = ['a', \"b\\nc\"]",
    "a turned text": "candidates = ['a', \"b\\u202ec\"]",
    "no names": "candidates = []",
    "100,000 candidates": "candidates = [" + ",".join(f"'a{n}'" for n in range(100_000)) + "]",
    "one letter a million times": "a" * 1_000_000,
    "a million quotes": '"' * 1_000_000,
    "2 MiB": "# " + "x" * 2**21,
}


@pytest.mark.parametrize("text", ODD_PLANS.values(), ids=ODD_PLANS)
def test_odd_plans_are_refused_soon_and_briefly(fuzzing, readers, tmp_path, text):
    path = tmp_path / "plan.toml"
    path.write_text(text, encoding="utf-8")
    with fuzzing.time_limit(6.0), pytest.raises(InputError) as caught:
        readers["plan"].read(path)
    assert str(path) in str(caught.value) and len(str(caught.value)) < 20_000


@pytest.mark.parametrize("key", ["seed", "gaps", "warnings", "block_starts", "recipe", "hung", "precision_kept"])
@pytest.mark.parametrize("value", ['"x"', "[[1]]", "1e999", "[[null]]"])
def test_an_orders_companion_is_never_believed_blindly(readers, tmp_path, key, value):
    reader = readers["recipe"]
    path = tmp_path / reader.name
    (tmp_path / "order.csv").write_bytes(reader.beside["order.csv"])
    document = json.loads(reader.seeds[0])
    path.write_text(json.dumps({**document, key: "VALUE"}).replace('"VALUE"', value), encoding="utf-8")
    with pytest.raises(InputError, match=f"not as antexp writes it|{key}"):
        reader.read(path)


@pytest.mark.parametrize(("key", "value"), [
    ("block", [10**9]), ("places", 10**9), ("labels", [0]), ("fixed", [99]), ("names", ["one"]), ("seed", -1),
    ("specimens", []), ("classes", [[99]]), ("minutes", ["x"]), ("threshold", None)])
def test_a_recipe_that_contradicts_itself_is_refused(readers, key, value):
    recipe = json.loads(readers["recipe"].seeds[0])["recipe"]
    Recipe.from_dict(recipe)
    changed = [*value, *recipe[key][len(value):]] if key in ("block", "fixed", "labels") else value
    changed = changed[:-1] if key == "labels" else changed
    with pytest.raises(InputError, match="recipe"):
        Recipe.from_dict({**recipe, key: changed})


@pytest.mark.parametrize("name", [b"r\xff.csv", "-Δ\u202e$(id)%s\n.csv".encode()])
def test_any_name_of_a_file_will_do(tmp_path, name):
    """A file's name is shown, and stands in the report; where it is no text a question mark stands for it."""
    readings = (ROOT / "examples/nothing-matters/readings.csv").read_bytes()
    path = tmp_path.as_posix().encode() + b"/" + name
    with open(path, "wb") as stream:
        stream.write(readings)
    # a name that no terminal in ASCII can show is no reason to stop either
    code = "import sys; sys.path.insert(0, sys.argv.pop(1)); from antexp.cli.main import run; run()"
    done = subprocess.run([sys.executable, "-c", code, str(ROOT), b"judge", path], capture_output=True, check=False,
                          env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert b"Traceback" not in done.stderr and done.returncode == 0, done.stderr[-500:]


def test_what_fuzzing_once_broke_is_refused(fuzzing, readers, tmp_path):
    """A log whose head has a cell beyond the csv module's limit; archives with a nameless file, or odd versions."""
    tally = fuzzing.Tally()
    log = readers["log of levels"]
    (tmp_path / "log").mkdir()
    other = tmp_path / "archive"
    other.mkdir()
    tally.one(log, ready(log, tmp_path / "log"), b"time," + b"x" * 140_000 + b",level_db\n1,-67\n")
    archive = readers["archive"]
    contents = _unzipped(archive.seeds[0])
    tally.one(archive, ready(archive, other), _zipped({**contents, "": b"nameless"}))
    document = json.loads(contents["results.json"])
    document["provenance"]["libraries"] = 1.5
    tally.one(archive, ready(archive, other), _with_results(contents, json.dumps(document).encode()))
    document["provenance"]["settings"]["confidence"] = "0.95"
    tally.one(archive, ready(archive, other), _with_results(contents, json.dumps(document).encode()))
    told, document["matter_db"] = readers["results.json, told on"], None
    assert any("matter" in gap["verdict"] for gap in document["gaps"])
    tally.one(told, ready(told, other), json.dumps(document).encode())
    assert {where: text for where, (text, _) in tally.broken.items()} == {}
    assert (tally.files, tally.read) == (5, 2)  # two archives open, and say that judging again differs


def _unzipped(data):
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def _zipped(contents):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as opened:
        for name, data in contents.items():
            opened.writestr(zipfile.ZipInfo(name), data)
    return buffer.getvalue()


def _with_results(contents, results):
    """Exchange the results and say so in the list of files, as somebody would who tampers with both."""
    changed = {**contents, "results.json": results}
    old, new = (hashlib.sha256(data).hexdigest() for data in (contents["results.json"], results))
    sizes = str(len(contents["results.json"])), str(len(results))
    return _zipped({name: data.replace(old.encode(), new.encode()).replace(sizes[0].encode(), sizes[1].encode())
                    if name == "contents.json" else data for name, data in changed.items()})


@pytest.mark.parametrize("text", ["a" * 131_073 + ",level_db\n1,-60\n", "time,level_db\n" + "1" * 131_073 + ",-60\n",
                                  "time,level_db\n1e300,-60\n", "time,level_db\n5,-60\n1e15,-60\n",
                                  "time,level_db\n9999-01-01T00:00:00,-60\n"],
                         ids=["a long head", "a long time", "first time too late", "a time too late", "year 9999"])
def test_logs_with_impossible_lines_are_refused(readers, tmp_path, text):
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError):
        readers["log of levels"].read(path)


def test_an_archive_with_a_file_without_a_name_is_refused(readers, tmp_path):
    path = tmp_path / "day.zip"
    path.write_bytes(readers["archive"].seeds[0])
    with zipfile.ZipFile(path, "a") as target:
        target.writestr(zipfile.ZipInfo(""), b"x")
    with pytest.raises(InputError, match="not plain"):
        readers["archive"].read(path)


@pytest.mark.parametrize("value", [3.7, None, "x", [1]])
def test_an_archive_whose_results_say_odd_things_of_versions_is_opened(readers, tmp_path, value):
    with zipfile.ZipFile(io.BytesIO(readers["archive"].seeds[0])) as opened:
        entries = {name: opened.read(name) for name in opened.namelist()}
    results = json.loads(entries["results.json"])
    results["provenance"]["libraries"] = value
    entries["results.json"] = json.dumps(results).encode()
    fit_list(entries)
    path = tmp_path / "day.zip"
    with zipfile.ZipFile(path, "w") as target:
        for name, content in entries.items():
            target.writestr(name, content)
    assert not readers["archive"].read(path).same_bytes
