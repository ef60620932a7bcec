"""A full disk, a folder that cannot be written to and writers at the same time: old files stay, nothing is mixed."""

import contextlib
import errno
import hashlib
import multiprocessing
import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from antexp import files, placing
from antexp.errors import FileError
from antexp.files import write_all_whole, write_whole

ROOT = Path(__file__).parents[2]
RUN = "import sys; sys.path.insert(0, sys.argv.pop(1)); from antexp.cli.main import run; run()"


def _digests(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


@pytest.fixture
def old(tmp_path):
    """Return a folder in which an older judgement stands."""
    names = ("results.json", "report.html", "gaps.svg", "gaps.png", "day.svg", "day.png", "spread.svg", "spread.png")
    for name in names:
        (tmp_path / name).write_text(f"old {name}")
    return tmp_path


# ---- a disk that is full ----

@pytest.mark.parametrize("call", ["write", "fsync", "mkstemp", "replace"])
@pytest.mark.parametrize("after", [0, 3])
def test_a_full_disk_leaves_the_old_files(old, monkeypatch, call, after):
    before = _digests(old)
    left = [after]

    def full(real):
        def wrapped(*arguments, **named):
            left[0] -= 1
            if left[0] < 0:
                raise OSError(errno.ENOSPC, "No space left on device")
            return real(*arguments, **named)
        return wrapped

    if call == "write":
        real_open = os.fdopen

        class Full:
            def __init__(self, stream):
                self.stream = stream

            def __enter__(self):
                return self

            def __exit__(self, *error):
                self.stream.close()

            def __getattr__(self, name):
                return getattr(self.stream, name)

            def write(self, data):
                self.stream.write(data[: len(data) // 2])
                return full(self.stream.write)(data[len(data) // 2 :])

        monkeypatch.setattr(files.os, "fdopen", lambda *arguments: Full(real_open(*arguments)))
    else:
        of = placing.tempfile if call == "mkstemp" else files.os
        monkeypatch.setattr(of, call, full(getattr(of, call)))
        if call == "replace":  # the rename back must not fail with it
            real, failed = os.replace, []

            def once(*arguments):
                if not failed:
                    try:
                        return real(*arguments)
                    except OSError:
                        failed.append(True)
                        raise
                return os.rename(*arguments)

            monkeypatch.setattr(files.os, "replace", once)
    with pytest.raises(FileError, match="No space left on device"):
        write_all_whole({old / name: "new" * 10_000 for name in _digests(old)})
    assert _digests(old) == before  # nothing half-written stands beside them either


def test_files_that_were_not_there_are_not_there_after_a_failure(tmp_path, monkeypatch):
    (tmp_path / "a").write_text("old")
    (tmp_path / "c").mkdir()
    real = os.replace
    monkeypatch.setattr(files.Path, "is_dir", lambda self: False)  # so that only the rename finds out
    with pytest.raises(FileError):
        write_all_whole({tmp_path / name: "new" for name in "abc"})
    assert real is os.replace
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "c"] and (tmp_path / "a").read_text() == "old"


@pytest.mark.skipif(not hasattr(resource, "RLIMIT_FSIZE"), reason="no limit on the size of files here")
def test_the_system_itself_refuses_to_write_more(old):
    """The kernel ends a write at the limit, as a full disk or a quota does: the report is larger than 20 kB."""
    (old / "readings.csv").write_text(_record("Alder"))
    before = _digests(old)
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(ROOT), "judge", str(old / "readings.csv"), "-o", str(old)],
        capture_output=True, text=True, check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000)))
    assert done.returncode == 2 and "cannot be written" in done.stderr, done.stderr[-500:]
    assert "Traceback" not in done.stderr
    assert _digests(old) == before


# ---- a folder that cannot be written to ----

def _write_as(user, folder, outcome):
    """Write as another user; what came of it goes into the pipe."""
    if user:
        os.setgid(user)
        os.setuid(user)
    try:
        write_all_whole({folder / "results.json": "new", folder / "report.html": "new"})
        outcome.send("written")
    except FileError as error:
        outcome.send(str(error))


def test_a_read_only_folder_is_left_as_it_is(old):
    before = _digests(old)
    for folder in (old, *list(old.parents)[:2]):
        folder.chmod(0o555)
    try:
        receive, send = multiprocessing.Pipe(duplex=False)
        # root may write anywhere, so that the writer is nobody (65534 on Linux) when root runs the tests
        writer = multiprocessing.get_context("fork").Process(
            target=_write_as, args=(65534 if os.geteuid() == 0 else 0, old, send))
        writer.start()
        writer.join(20)
        said = receive.recv() if receive.poll() else "died"
    finally:
        for folder in (old, *list(old.parents)[:2]):
            folder.chmod(0o755)
    assert "cannot be written: got Permission denied" in said
    assert _digests(old) == before


# ---- writers at the same time ----

def _write_eight(folder, who):
    write_all_whole({folder / f"{name}.txt": f"{who} {name}" for name in range(8)})


def _write_with_a_rest(folder, who, halfway, go_on):
    real, done = os.replace, []

    def replace(*names):
        real(*names)
        done.append(names)
        if len(done) == 4:
            halfway.set()
            go_on.wait(20)

    files.os.replace = replace  # in a process of its own
    _write_eight(folder, who)


def _owners(folder):
    return {path.read_text().split()[0] for path in folder.iterdir() if not path.name.startswith(".")}


@pytest.mark.parametrize("locked", [True, False])
def test_writers_at_the_same_time_do_not_mix(tmp_path, monkeypatch, locked):
    """A writer rests halfway while another comes: with turns it waits, without them the files of both stay."""
    if not locked:
        monkeypatch.setattr(files, "turns", lambda folders: contextlib.nullcontext())
    context = multiprocessing.get_context("fork")
    halfway, go_on = context.Event(), context.Event()
    one = context.Process(target=_write_with_a_rest, args=(tmp_path, "one", halfway, go_on))
    one.start()
    assert halfway.wait(20)
    two = context.Process(target=_write_eight, args=(tmp_path, "two"))
    two.start()
    two.join(0.5 if locked else 20)
    assert two.is_alive() == locked
    go_on.set()
    for writer in (one, two):
        writer.join(20)
        assert writer.exitcode == 0
    assert _owners(tmp_path) == ({"two"} if locked else {"one", "two"})
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def _record(who):
    """Return the readings of a small day: three wires, four swaps each, two readings a swap."""
    rows = [f"{swap},1,{who} {swap % 3},{level}" for swap in range(1, 13)
            for level in (-60 - swap * 7 % 5 / 10, -60 - swap * 7 % 4 / 10)]
    return "swap,block,candidate,level_db\n" + "\n".join(rows) + "\n"


def test_judges_of_one_folder_do_not_mix_their_files(tmp_path):
    """Two `antexp judge -o SAME` at once: every file is of one and the same record, told by its wires' names."""
    out = tmp_path / "out"
    running = []
    for who in ("Alder", "Birch"):
        (tmp_path / f"{who}.csv").write_text(_record(who), encoding="utf-8")
        running.append(subprocess.Popen(
            [sys.executable, "-c", RUN, str(ROOT), "judge", str(tmp_path / f"{who}.csv"), "-o", str(out)],
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE))
    for process in running:
        _, said = process.communicate(timeout=60)
        assert process.returncode == 0, said[-500:]
    found = {}
    for name in ("results.json", "report.html", "gaps.svg"):
        content = (out / name).read_text(encoding="utf-8")
        found[name] = {who for who in ("Alder", "Birch") if who in content}
    assert len(set().union(*found.values())) == 1 and all(found.values()), found
    assert not [path for path in out.iterdir() if path.name.startswith(".")]


def test_a_name_that_is_no_text_is_written_with_a_question_mark(tmp_path):
    write_whole(tmp_path / "a", "r\udcff")
    assert (tmp_path / "a").read_text() == "r?"
