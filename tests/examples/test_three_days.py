"""Three invented days by one plan: made again byte for byte, judged one by one, and put together as commands do it."""

from __future__ import annotations

import importlib.util
import json
import re
from pathlib import Path

import pytest

import antexp

FOLDER = Path(__file__).parents[2] / "examples" / "three-days"


@pytest.fixture(scope="module")
def days():
    return [antexp.judge(FOLDER / f"readings.hill-{day}.csv", FOLDER / "plan.toml", FOLDER / f"order.hill-{day}.csv")
            for day in (1, 2, 3)]


def _json(name: str) -> dict:
    return json.loads((FOLDER / name).read_text(encoding="utf-8"))


def test_files_are_made_again_byte_for_byte():
    spec = importlib.util.spec_from_file_location("examples_make", FOLDER.parent / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    made = module.CAMPAIGNS["three-days"](FOLDER)
    assert len(made) == 7
    for file, text in made.items():
        assert (FOLDER / file).read_bytes() == text.encode("utf-8"), f"{file}: python examples/make.py"


def test_each_day_and_all_together_are_judged_as_expected(days):
    expected, truth = _json("expected.json"), _json("truth.hills.json")["gaps_db"]
    for day, verdicts in zip(days, expected["days"], strict=True):
        assert dict(zip(day.family["candidate"], day.family["verdict"], strict=True)) == verdicts
    together = antexp.pool(days)
    assert dict(zip(together.gaps["candidate"], together.gaps["verdict"], strict=True)) == expected["together"]
    assert set(expected["warnings"]) <= {notice.code for notice in together.warnings}
    for row in together.gaps.itertuples():
        assert row.interval_db[0] <= truth[row.candidate] <= row.interval_db[1]


def test_the_page_shows_the_truth_beside_what_is_said(days):
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    table = re.search(r"<!-- together -->\n(.*?)<!-- end -->", text, re.DOTALL)[1]
    truth = _json("truth.hills.json")["gaps_db"]
    for row in antexp.pool(days).gaps.itertuples():
        numbers = [f"{value:+.2f}".replace("-", "−") for value in (truth[row.candidate], row.gap_db, *row.interval_db)]
        line = f"| {row.candidate} | {numbers[0]} | {numbers[1]} | {numbers[2]} … {numbers[3]} | {row.verdict} |"
        assert line in table.splitlines()
    assert "invented" in text.splitlines()[0]


def test_the_commands_of_the_page_do_the_same(antexp, tmp_path):
    for day in (1, 2, 3):
        judged = antexp("judge", FOLDER / f"readings.hill-{day}.csv", "--plan", FOLDER / "plan.toml", "--order",
                        FOLDER / f"order.hill-{day}.csv", "-o", tmp_path / f"day-{day}")
        assert judged.status == 0
    said = antexp("pool", *(tmp_path / f"day-{day}" for day in (1, 2, 3)))
    assert said.status == 0 and "real and it matters" in said.out and "no gap that matters" in said.out
