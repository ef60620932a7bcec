"""How the command ends, in this process: where its words go, who reads them, and what stops it."""

from __future__ import annotations

import errno
import io
import os
import sys

import pytest

import antexp as package
from antexp.cli.main import run


class Kept(io.StringIO):
    """A standard error whose words outlive its closing."""

    said = ""

    def close(self):
        self.said = self.getvalue()
        super().close()


@pytest.fixture
def asked(monkeypatch):
    """Return a runner that gives the exit status, None where the command simply ends, and what it said of errors."""

    def ask(*words):
        monkeypatch.setattr("sys.argv", ["antexp", *map(str, words)])
        errors, status = Kept(), None
        with monkeypatch.context() as here:
            here.setattr(sys, "stderr", errors)
            try:
                run()
            except SystemExit as stop:
                status = stop.code
        return status or 0, errors.said if errors.closed else errors.getvalue()

    return ask


def test_words_go_to_whatever_stands_for_the_terminal(asked, monkeypatch):
    """A program that has put a stream of its own in place, such as a notebook, gets them too."""
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stdout", stream)
    assert asked("--version") == (0, "")
    assert stream.getvalue() == f"antexp {package.__version__}\n"


def test_a_name_that_the_terminal_cannot_show_is_written_in_signs_that_it_can(asked, monkeypatch, tmp_path):
    """An ASCII terminal: no error, and the name can still be told."""
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    assert asked("new", tmp_path / "größe.toml") == (0, "")
    assert rb"gr\xf6\xdfe.toml" in raw.getvalue()


@pytest.mark.parametrize("words", [("--version",), ("gap", "2"), ("gap", "2", "--json")])
def test_a_reader_who_has_seen_enough_ends_it_quietly(asked, monkeypatch, words):
    """A pipe whose other end is closed; plain words, words in tables and documents find out in ways of their own."""
    read, write = os.pipe()
    os.close(read)
    with open(write, "w", encoding="utf-8") as pipe:
        monkeypatch.setattr(sys, "stdout", pipe)
        ended = asked(*words)
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, write)  # what is left over may be closed in peace
        os.close(nothing)
    assert ended == (0, ""), ended[1]


def test_a_reader_who_leaves_at_the_last_word_ends_it_quietly(asked, monkeypatch):
    """Everything fitted into the pipe, and only its emptying finds nobody there."""

    class Deaf(io.StringIO):
        flushed = 0

        def flush(self):
            self.flushed += 1
            raise BrokenPipeError(errno.EPIPE, os.strerror(errno.EPIPE))

    def nothing_to_say(**_):
        sys.stdout.write("done")

    stream = Deaf()
    monkeypatch.setattr(sys, "stdout", stream)
    monkeypatch.setattr("antexp.cli.main.app", nothing_to_say)
    assert asked("gap", "2") == (0, "")
    assert stream.getvalue() == "done" and stream.flushed == 1


def test_a_full_disk_behind_the_output_is_no_defect(asked, monkeypatch, tmp_path):
    with open(tmp_path / "out", "w", encoding="utf-8") as out:

        class Full(io.StringIO):
            def flush(self):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

            def fileno(self):
                return out.fileno()

        full = Full()
        monkeypatch.setattr(sys, "stdout", full)
        status, said = asked("--version")
        full.flush = lambda: None
        out.write("later")  # what is left over goes nowhere, and so cannot fail a second time
    assert status == 2 and (tmp_path / "out").read_text() == ""
    assert said == "antexp: what antexp says cannot be written: No space left on device.\n"


def test_any_other_error_of_the_system_is_a_defect(antexp, monkeypatch, tmp_path):
    def read_plan(*_):
        raise OSError(errno.EBADF, os.strerror(errno.EBADF))

    monkeypatch.setattr("antexp.plan.reader.read_plan", read_plan)
    ran = antexp("check", tmp_path / "plan.toml")
    assert ran.status == 1 and "Traceback" in ran.err
    assert ran.err.endswith("antexp: this is a defect of antexp, not of your input; please report the lines above.\n")


@pytest.mark.parametrize("in_typer", [True, False])
def test_ctrl_c_has_the_status_that_shells_give_it(antexp, monkeypatch, in_typer):
    """Pressed while a command works, and in the moment after, when what it said is flushed."""

    def stop(*_, **__):
        raise KeyboardInterrupt

    if in_typer:
        monkeypatch.setattr("antexp.repeats.bare_gap.bare_gap", stop)
    else:
        monkeypatch.setattr("antexp.cli.main.app", stop)
    ran = antexp("gap", "2")
    assert (ran.status, ran.out) == (130, "")
    assert ran.err.strip() == "antexp: stopped; nothing half-written was left behind."
