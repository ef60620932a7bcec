"""`keep` and `open` as commands."""

import json

import pytest

from antexp.demo.run import run_demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return run_demo(tmp_path_factory.mktemp("keep") / "demo").folder


def test_keep_and_open(antexp, demo, tmp_path):
    kept = json.loads(antexp("keep", demo, "-o", tmp_path / "day.zip", "--json").out)
    assert kept["same_bytes"] is True
    ran = antexp("open", tmp_path / "day.zip", "-o", tmp_path / "again")
    assert ran.status == 0 and "byte for byte" in ran.out
    assert (tmp_path / "again" / "results.json").read_bytes() == (demo / "results.json").read_bytes()
    shown = json.loads(antexp("open", tmp_path / "day.zip", "-o", tmp_path / "third", "--json").out)
    assert shown["same_bytes"] is True and shown["sha256"] == kept["sha256"]


def test_what_cannot_be_kept_or_opened_is_said(antexp, demo, tmp_path):
    ran = antexp("keep", tmp_path, "-o", tmp_path / "day.zip")
    assert ran.status == 2 and "no such results file" in ran.err and ran.out == ""
    (tmp_path / "no.zip").write_text("x")
    ran = antexp("open", tmp_path / "no.zip", "-o", tmp_path / "out")
    assert ran.status == 2 and "Traceback" not in ran.err and not (tmp_path / "out").exists()
