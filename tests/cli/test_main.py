"""Exit statuses and words that hold for every command."""

from __future__ import annotations

import json

import pytest

import antexp as package
from antexp.demo.run import run_demo
from antexp.demo.scenario import TRUE_GAPS_DB
from antexp.errors import Fault, PlanError


def raising(error: BaseException):
    """A stand-in for the reader of plans that fails in this way."""

    def read_plan(*_: object) -> None:
        raise error

    return read_plan


def test_the_version(antexp):
    ran = antexp("--version")
    assert ran.status == 0 and ran.out.strip() == f"antexp {package.__version__}"


def test_no_words_at_all_are_a_question(antexp):
    ran = antexp()
    assert ran.status == 0 and "judge" in ran.out and "repeats" in ran.out


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (RuntimeError("lost my way"), 1, "this is a defect of antexp, not of your input"),
        (KeyboardInterrupt(), 130, "antexp: stopped; nothing half-written was left behind."),
        (PlanError(Fault("the plan is odd", "plan.toml, line 3")), 2, "plan.toml, line 3"),
    ],
)
def test_exit_statuses(antexp, monkeypatch, tmp_path, error, status, said):
    monkeypatch.setattr("antexp.plan.reader.read_plan", raising(error))
    ran = antexp("check", tmp_path / "plan.toml")
    assert ran.status == status and said in ran.err
    assert ("Traceback" in ran.err) == (status == 1)


def test_the_demonstration_as_json_is_its_results_file(antexp, tmp_path):
    ran = antexp("demo", tmp_path / "day", "--json")
    assert ran.status == 0
    written = (tmp_path / "day" / "results.json").read_text(encoding="utf-8")
    assert json.loads(ran.out) == json.loads(written)


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    return run_demo(tmp_path_factory.mktemp("demo") / "day")


def test_the_demonstration_in_words_has_the_truth_beside_it(antexp, monkeypatch, shown):
    """Every wire of the single hangings with its invented gap, as the scenario has it, and what was measured."""
    monkeypatch.setattr("antexp.demo.run.run_demo", lambda folder: shown)
    ran = antexp("demo", shown.folder)
    assert ran.status == 0 and "made up" in ran.out and str(shown.folder) in "".join(ran.out.split())
    for name, gap in TRUE_GAPS_DB.items():
        row = next(line for line in ran.out.splitlines() if str(name) in line)
        assert f"{gap:+.2f}".replace("-", "−") in row


def test_joined_ends_never_replace_their_sources(antexp, shown):
    folder = shown.folder
    order = next(folder.glob("order*.csv"))
    before = (folder / "readings.csv").read_bytes()
    ran = antexp("join", order, folder / "readings.csv", "-o", folder / "readings.csv")
    assert ran.status == 2 and "would replace one of the files they come from" in ran.err
    assert (folder / "readings.csv").read_bytes() == before
