"""The invented scenarios of `examples/`: made again byte for byte, judged as expected, with the truth beside.

The truth is what the record was simulated with; a scenario is no proof of honesty (the benchmarks are), but a verdict
that contradicts its own truth has no place among examples.
"""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path

import pytest

from antexp.analysis.judge import judge
from antexp.plan.reader import read_plan

EXAMPLES = Path(__file__).parents[2] / "examples"


def _maker():
    spec = importlib.util.spec_from_file_location("examples_make", EXAMPLES / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


MAKER = _maker()
NAMES = tuple(MAKER.SCENARIOS)


def _json(name: str, file: str) -> dict:
    return json.loads((EXAMPLES / name / file).read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def judged():
    return {name: judge(EXAMPLES / name / "readings.csv", EXAMPLES / name / "plan.toml",
                        EXAMPLES / name / _json(name, "expected.json")["order"]) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_files_are_made_again_byte_for_byte(name: str):
    made = MAKER.SCENARIOS[name](EXAMPLES / name)
    assert len(made) >= 3
    for file, text in made.items():
        assert (EXAMPLES / name / file).read_bytes() == text.encode("utf-8"), f"{name}/{file}: python examples/make.py"


@pytest.mark.parametrize("name", NAMES)
def test_verdicts_are_those_expected(name: str, judged):
    expected, found = _json(name, "expected.json"), judged[name]
    assert dict(zip(found.family["candidate"], found.family["verdict"], strict=True)) == expected["verdicts"]
    assert list(found.could_be_best) == expected["could_be_best"]
    assert set(expected["warnings"]) <= {notice.code for notice in found.warnings}


@pytest.mark.parametrize("name", NAMES)
def test_the_truth_lies_inside_the_limits(name: str, judged):
    truth = _json(name, "truth.json")
    for row in judged[name].gaps.to_dict("records"):
        kind = "gaps_of_these_specimens_db" if row["scope"] == "these specimens" else "gaps_db"
        low, high = row["interval_db"]
        assert low <= truth[kind][row["candidate"]] <= high, row["candidate"]


def test_what_each_scenario_is_there_to_show(judged):
    nothing = _json("nothing-matters", "truth.json")["gaps_db"]
    assert max(abs(gap) for gap in nothing.values()) <= 0.3
    assert set(judged["nothing-matters"].family["verdict"]) == {"no gap that matters"}
    assert set(judged["clear-differences"].family["scope"]) == {"any specimen"}
    assert read_plan(EXAMPLES / "coarse-meter" / "plan.toml").meter.step_db == 1.0
    assert "coarse-meter" in {notice.code for notice in judged["coarse-meter"].warnings}
    by_meter = [judged[name].gaps.iloc[0] for name in ("s-meter", "step-attenuator")]
    assert by_meter[0]["resolution_db"] > 5 * by_meter[1]["resolution_db"]
    text = next(notice.text for notice in judged["s-meter"].warnings if notice.code == "coarse-meter")
    assert "The meter, not the wires" in text and "step of 6 dB" in text
    assert judged["old-copper"].blocks == 2 and judged["old-copper"].swaps == 16
    assert judged["broken-day"].gaps["verdict"].nunique() == 4


@pytest.mark.parametrize("name", NAMES)
def test_each_says_that_it_is_invented(name: str):
    assert _json(name, "truth.json")["invented"] is True
    for file in ("README.md", "plan.toml"):
        assert "invented" in (EXAMPLES / name / file).read_text(encoding="utf-8").lower()
