"""`expect` and `trim` as commands: one JSON document, or text; faults as faults."""

import json

import pytest
import typer
from typer.testing import CliRunner

from antexp.cli import expect, trim
from antexp.errors import PlanError, ReadingsError

PLAN = """\
candidates = [
  {name = "copper", material = "copper", diameter_mm = 1.5},
  {name = "steel", material = "steel", diameter_mm = 2.0, swr = 1.5},
]
frequency_mhz = 14.2
matter_db = 1
"""


@pytest.fixture
def run():
    app = typer.Typer()
    app.command("expect")(expect.command)
    app.command("trim")(trim.command)
    return lambda *words: CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def plan(written):
    return written("plan.toml", PLAN)


def test_expect_as_json(run, plan):
    ran = run("expect", plan, "--detectable", 0.9, "--json")
    document = json.loads(ran.stdout)
    assert ran.exit_code == 0 and document["detectable_db"] == 0.9
    assert document["candidates"][1]["mismatch_loss_db"] == pytest.approx(0.177, abs=1e-3)


def test_expect_as_text_with_pictures(run, plan, tmp_path):
    ran = run("expect", plan, "-o", tmp_path / "out")
    assert ran.exit_code == 0 and ran.stdout.startswith("Physics expects the candidates within")
    assert (tmp_path / "out" / "bands.svg").read_text().startswith("<svg")


def test_trim_with_and_without_a_bench_book(run, plan, tmp_path):
    book = tmp_path / "bench.csv"
    book.write_text("candidate,leg_m,resonance_mhz\ncopper,5.10,13.9\n")
    document = json.loads(run("trim", plan, "--bench", book, "--json").stdout)
    assert document["candidates"][0]["cut_m"] == pytest.approx(5.1 - 5.1 * 13.9 / 14.2)
    assert run("trim", plan).stdout.startswith("Nothing has been measured yet")


def test_faults_are_faults(run, plan, tmp_path):
    book = tmp_path / "bench.csv"
    book.write_text("candidate,swr\ncopper,0.7\nsteal,1.2\n")
    fault = run("trim", plan, "--bench", book).exception
    assert isinstance(fault, ReadingsError) and "line 2, column swr" in str(fault)
    plan.write_text(PLAN.replace('material = "copper"', 'material = "cooper"'))
    fault = run("expect", plan).exception
    assert isinstance(fault, PlanError) and 'Did you mean "copper"?' in str(fault)
