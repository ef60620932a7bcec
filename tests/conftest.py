"""Run the command in this process, as a user would type it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest


@dataclass(frozen=True)
class Ran:
    """What a command did."""

    status: int
    out: str
    err: str


@pytest.fixture
def antexp(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    def run_command(*words: object) -> Ran:
        from antexp.cli.main import run

        monkeypatch.setattr("sys.argv", ["antexp", *map(str, words)])
        capsys.readouterr()
        try:
            run()
            status = 0
        except SystemExit as stop:
            status = int(stop.code or 0)
        out, err = capsys.readouterr()
        return Ran(status, out, err)

    return run_command
