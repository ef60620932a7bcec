"""With --json a command prints one document and nothing else; without it words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
DAY = EXAMPLES / "clear-differences"
PLAN = 'candidates = ["a", "b", "c"]\nfrequency_mhz = 14.2\n[field]\nblocks = 3\n'


@pytest.fixture
def plan(written):
    return written("plan.toml", PLAN)


def test_check_of_readings_in_words_and_as_a_document(antexp):
    words = antexp("check", DAY / "readings.csv", "--plan", DAY / "plan.toml", "--order", DAY / "order.csv")
    assert words.status == 0 and "can be judged" in " ".join(words.out.split())  # a long path wraps the line anywhere
    document = antexp("check", DAY / "readings.csv", "--plan", DAY / "plan.toml", "--json")
    found = json.loads(document.out)
    assert document.status == 0 and found["swaps"] > 0 and not found["faults"]


def test_check_of_readings_at_fault_prints_doubts_and_then_faults(antexp, tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text("swap,candidate,level_db\n1,a,-50\n2,b,loud\n", encoding="utf-8")
    words = antexp("check", path)
    assert words.status == 2 and "1 thing(s) to mend" in " ".join(words.out.split()) and "level_db" in words.err
    document = antexp("check", path, "--json")
    assert document.status == 2 and len(json.loads(document.out)["faults"]) == 1


def test_check_of_a_plan_as_a_document(antexp, plan):
    found = json.loads(antexp("check", plan, "--json").out)
    assert found["assumptions"] and found["cautions"]


def test_a_pilot_laid_out_as_a_document(antexp, plan, tmp_path):
    ran = antexp("order", plan, "--pilot", "-o", tmp_path / "pilot.csv", "--json")
    found = json.loads(ran.out)
    assert ran.status == 0 and found["swaps"] >= 3 and (tmp_path / "pilot.csv").exists()


def test_an_archive_that_judges_to_other_bytes_is_opened_and_says_why(antexp, tmp_path, monkeypatch):
    judged = tmp_path / "judged"
    assert antexp("judge", DAY / "readings.csv", "--plan", DAY / "plan.toml", "-o", judged).status == 0
    kept = tmp_path / "day.zip"
    assert antexp("keep", judged, "-o", kept, "--plan", DAY / "plan.toml", "--readings",
                  DAY / "readings.csv").status == 0
    same = antexp("open", kept, "-o", tmp_path / "same")
    assert same.status == 0 and "Judged again: the same results, byte for byte." in same.out
    monkeypatch.setattr("antexp.analysis.provenance.__version__", "99.0")
    ran = antexp("open", kept, "-o", tmp_path / "opened")
    assert ran.status == 0 and "every digest is right" in ran.out
    assert "not the same bytes" in ran.out and "99.0" in ran.out


def test_a_missing_word_is_said_with_the_usage(antexp):
    ran = antexp("judge")
    assert ran.status == 2 and "Missing argument 'READINGS'" in ran.err and "antexp judge READINGS" in ran.err
