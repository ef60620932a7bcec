"""Command by command: a disk that is full or read-only, or a file that is held, leaves the old files as they were."""

from __future__ import annotations

import contextlib
import io
import itertools
import shlex
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import pytest
from typer.main import get_command

from antexp.errors import FileError
from antexp.files import write_all_whole
from tests.benchmarks.writing_commands import WRITING, WRITING_NOTHING, files_in, mark, prepare
from tests.robustness.refusing_disk import (
    changed_paths,
    full_at,
    held,
    read_only,
    watched,
    without_names,
    without_room,
)


@dataclass(frozen=True)
class Ran:
    """How a command ended, and what it said."""

    status: int
    out: str
    err: str


@dataclass(frozen=True)
class Stage:
    """The folder before the command under test and after it, its files as they got their names, how many it made."""

    old: dict[str, bytes]
    new: dict[str, bytes]
    places: tuple[str, ...]
    made: int

    @property
    def changed(self):
        return [name for name, content in self.new.items() if self.old.get(name) != content]


def ran(command, typed=""):
    """Run a command in this process, as a user would type it in the present folder."""
    from antexp.cli.main import run

    out, err, status = io.StringIO(), io.StringIO(), 0
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        patch.setattr("sys.argv", ["antexp", *shlex.split(command)])
        patch.setattr("sys.stdin", io.StringIO(typed))
        try:
            run()
        except SystemExit as stop:
            status = int(stop.code or 0)
    return Ran(status, out.getvalue(), err.getvalue())


def done(command, typed=""):
    found = ran(command, typed)
    assert found.status == 0, (command, found.err[-500:])


@pytest.fixture(scope="module", autouse=True)
def quick():
    """Let pictures be of a line, each another, leave out the other methods' opinions, and play the demonstration once.

    The disk is the matter here, and how the files get there is as it always is.
    """
    from antexp.demo import run

    count, real, played = iter(range(10**6)), run._play, []

    def savefig(figure, stream, format, **options):
        picture = f'<svg width="1" height="1"><desc>{next(count)}</desc></svg>'
        stream.write(picture if format == "svg" else picture.encode())

    def play(place):
        if not played:
            played.extend([real(place), files_in(place)])
        write_all_whole({place / name: content for name, content in played[1].items()})
        return played[0]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("matplotlib.figure.Figure.savefig", savefig)
        patch.setattr("antexp.analysis.judge.second_opinions_of", lambda *of: ())
        patch.setattr(run, "_play", play)
        yield


@pytest.fixture(scope="module")
def prepared(tmp_path_factory):
    place = tmp_path_factory.mktemp("prepared")
    with contextlib.chdir(place):
        prepare(place, done)
    return files_in(place)


def fill(folder, files):
    for name, content in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)


@pytest.fixture(scope="module")
def stage(prepared, tmp_path_factory):
    """Return a maker of the stage of a command; each is made once."""
    made = {}

    def make(name):
        if name not in made:
            made[name] = undisturbed(WRITING[name], prepared, tmp_path_factory.mktemp("undisturbed"))
        return made[name]

    return make


def undisturbed(command, prepared, place):
    """Run a command twice without a fault; every file of the second run differs from the first's."""
    fill(place, prepared)
    places = []

    def watch(event, arguments):
        if event == "os.rename" and (target := changed_paths(event, arguments)[1]).is_relative_to(place):
            places.append(target.relative_to(place).as_posix())

    with contextlib.chdir(place):
        if command.first:
            done(command.first, command.typed_first)
        if command.marked:
            mark(place, prepared)
        old = files_in(place)
        with watched(watch), full_at(0) as safe:
            done(command.again, command.typed)
    return Stage(old, files_in(place), tuple(places), len(safe))


FAULTS = {
    "full": (lambda place, stage: without_room(max(len(stage.new[name]) for name in stage.changed) // 2),
             "File too large"),
    "full at the last file": (lambda place, stage: full_at(stage.made), "No space left on device"),
    "without names": (lambda place, stage: without_names(place), "No space left on device"),
    "read-only": (lambda place, stage: read_only(place), "Read-only file system"),
    "held": (lambda place, stage: held(place / stage.places[-1]), "Permission denied"),
}

# every command on a disk that is full or read-only; the rarer faults with some that write one file, and several
CASES = [*itertools.product(WRITING, ["full", "read-only"]),
         *itertools.product(["demo", "order", "record", "judge", "say", "open"],
                            ["full at the last file", "without names", "held"])]


@pytest.mark.parametrize(("name", "fault"), CASES)
def test_the_old_files_stay_and_one_message_names_a_file(name, fault, stage, tmp_path, monkeypatch):
    found, command = stage(name), WRITING[name]
    assert found.changed and (not command.first or set(found.changed) & set(found.old))
    assert set(found.changed) <= set(found.places)
    fill(tmp_path, found.old)
    monkeypatch.chdir(tmp_path)
    disk, reason = FAULTS[fault]
    with disk(tmp_path, found):
        said = ran(command.again, command.typed)
    assert said.status == 2, said
    assert said.err.startswith("antexp: ") and said.err.count("\n") == 1 and reason in said.err
    where = Path(said.err.removeprefix("antexp: ").partition(": ")[0])
    assert {where.name} & {part for place in found.places for part in Path(place).parts}, said.err
    assert files_in(tmp_path) == found.old


def test_the_table_names_every_command():
    from antexp.cli.main import app

    commands = get_command(app).commands
    writing = {name.split()[0] for name in WRITING}
    assert writing | set(WRITING_NOTHING) == set(commands) and not writing & set(WRITING_NOTHING)
    with_output = {name for name, each in commands.items() if any("--output" in every.opts for every in each.params)}
    assert with_output <= writing
    assert all(each.again.split()[0] == name.split()[0] for name, each in WRITING.items())


@pytest.mark.parametrize("name", WRITING_NOTHING)
def test_a_command_that_only_prints_needs_no_disk(name, prepared, tmp_path, monkeypatch):
    fill(tmp_path, prepared)
    monkeypatch.chdir(tmp_path)
    with read_only(tmp_path):
        done(WRITING_NOTHING[name])
    assert files_in(tmp_path) == prepared


@pytest.mark.parametrize("fault", ["full at the last file", "read-only", "held"])
def test_the_log_of_looks_is_whole_and_no_reason_to_keep_the_judgement_back(fault, prepared, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    fill(tmp_path, prepared)
    day = pd.read_csv(tmp_path / "day.csv")
    day[day["block"] <= 1].to_csv("part.csv", index=False)
    command = "judge part.csv --plan plan.toml --order order.csv --drift none"
    done(command)
    day[day["block"] <= 2].to_csv("part.csv", index=False)
    old = files_in(tmp_path)
    assert old["part.looks.json"].count(b"blocks_done") == 1
    with FAULTS[fault][0](tmp_path, Stage({}, {}, ("part.looks.json",), 1)):
        said = ran(command)
    assert said.status == 0 and said.err == "" and "part-filled record" in " ".join(said.out.split())
    assert files_in(tmp_path) == old
    done(command)
    assert files_in(tmp_path)["part.looks.json"].count(b"blocks_done") == 2


def test_a_demonstration_that_has_nowhere_to_play_says_so(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "gone"))
    said = ran("demo shown")
    assert said.status == 2 and said.err.count("\n") == 1
    assert "no passing folder can be made" in said.err and str(tmp_path / "gone") in said.err
    assert list(tmp_path.iterdir()) == []


def test_where_files_have_no_second_names_a_copy_that_does_not_fit_is_taken_away(tmp_path, monkeypatch):
    """As on a memory stick with FAT; the old file is larger than what the disk still holds."""
    def link(*names, **options):
        raise PermissionError(1, "Operation not permitted")

    fill(tmp_path, {"a.html": b"old" * 10_000, "b.json": b"old"})
    old = files_in(tmp_path)
    monkeypatch.setattr("os.link", link)
    contents = {tmp_path / name: "new" for name in old}
    with without_room(10_000), pytest.raises(FileError, match="File too large"):
        write_all_whole(contents)
    assert files_in(tmp_path) == old
    write_all_whole(contents)
    assert files_in(tmp_path) == dict.fromkeys(old, b"new")
