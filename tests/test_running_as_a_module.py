"""`python -m antexp` in this process: the command itself, and Ctrl-C before it has begun."""

from __future__ import annotations

import runpy
import sys

import pytest

import antexp
from antexp import __main__ as module


def test_it_is_the_command(monkeypatch, capsys):
    monkeypatch.setattr("sys.argv", ["antexp", "--version"])
    monkeypatch.delitem(sys.modules, "antexp.__main__")
    with pytest.raises(SystemExit) as stop:
        runpy.run_module("antexp", run_name="__main__")
    assert not stop.value.code
    assert capsys.readouterr().out == f"antexp {antexp.__version__}\n"


def test_stopped_while_the_command_is_still_being_read(monkeypatch, capsys):
    class Stop:
        def find_spec(self, name, path=None, target=None):
            if name == "antexp.cli.main":
                raise KeyboardInterrupt

    import antexp.cli.main as command

    monkeypatch.delitem(sys.modules, "antexp.cli.main")
    monkeypatch.delattr("antexp.cli.main")
    monkeypatch.setattr(sys, "meta_path", [Stop(), *sys.meta_path])
    with pytest.raises(SystemExit) as stop:
        module.run()
    assert stop.value.code == 130
    assert capsys.readouterr() == ("", "antexp: stopped before it began.\n")
    monkeypatch.undo()
    assert sys.modules["antexp.cli.main"] is command
