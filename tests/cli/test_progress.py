"""The bar: on a terminal's standard error only, and never beside data."""

from __future__ import annotations

import io
import sys

import pytest

from antexp.cli.progress import progress_bar


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_terminal_sees_what_is_done(monkeypatch: pytest.MonkeyPatch):
    stream = Terminal()
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys, "stderr", stream)
    with progress_bar(quiet=False, first="weighing") as progress:
        assert progress is not None
        progress(0.5, "laying out block 2")
    assert "laying out block 2" in stream.getvalue()


@pytest.mark.parametrize("quiet", [False, True])
def test_a_pipe_sees_nothing(monkeypatch: pytest.MonkeyPatch, quiet: bool):
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    with progress_bar(quiet=quiet) as progress:
        assert progress is None
    assert stream.getvalue() == ""


def test_a_quiet_command_shows_no_bar_on_a_terminal(monkeypatch: pytest.MonkeyPatch):
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    with progress_bar(quiet=True) as progress:
        assert progress is None
    assert stream.getvalue() == ""
