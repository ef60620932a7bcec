"""A judgement comes back from its results file as it was."""

import json

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.results_file import read_results
from antexp.errors import FileError, JudgementError
from antexp.plan.reader import plan_from_dict


def record(names=("bare", "clad", "steel"), seed=2, blocks=4):
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(blocks):
        for position, name in enumerate([names[0], *random.permutation(names[1:]), names[0]]):
            swap += 1
            level = -50 - 0.9 * names.index(str(name)) + random.normal(0, 0.2)
            rows += [(swap, block + 1, name, 7.0 * position, level + random.normal(0, 0.1)) for _ in range(2)]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


@pytest.mark.parametrize("compare", ["reference", "each-other", "best"])
@pytest.mark.parametrize("matter_db", [1.0, None])
def test_everything_that_was_written_comes_back(tmp_path, compare, matter_db):
    before = judge(record(), compare=compare, matter_db=matter_db)
    (tmp_path / "results.json").write_text(before.to_json(), encoding="utf-8")
    after = read_results(tmp_path)
    left_out = {"checks", "second_opinions", "matched_gaps", "gap_budgets"}
    one, two = before.to_dict(), after.to_dict()
    assert {name: one[name] for name in set(one) - left_out} == {name: two[name] for name in set(one) - left_out}
    pd.testing.assert_frame_equal(after.family, before.family)


def test_gaps_without_limits_come_back_without_them(tmp_path):
    flat = record().assign(level_db=-50.0)
    plan = plan_from_dict({"candidates": ["bare", "clad", "steel"], "meter": {"step_db": 6}})
    before = judge(flat, plan, matter_db=1.0)
    (tmp_path / "r.json").write_text(before.to_json(), encoding="utf-8")
    after = read_results(tmp_path / "r.json")
    assert set(after.family["verdict"]) == {"cannot tell"}
    assert after.to_dict()["gaps"] == before.to_dict()["gaps"]


@pytest.mark.parametrize(("spoil", "words"), [
    (lambda text: text[:100], "not JSON"),
    (lambda text: "[" * 100_000, "not JSON"),
    (lambda text: "{}", "not the results file"),
    (lambda text: text.replace('"cannot tell"', '"sure"').replace('"real', '"unreal'), "unknown verdict"),
    (lambda text: text.replace('"candidates": [', '"candidates": 5, "x": ['), "not as antexp writes it"),
    (lambda text: text.replace('"code": "', '"code": "un'), "not as antexp writes it"),
], ids=["cut off", "deep", "empty", "verdict", "type", "warning of another version"])
def test_a_spoilt_file_is_refused_in_words(tmp_path, spoil, words):
    text = judge(record(), matter_db=1.0).to_json()
    (tmp_path / "results.json").write_text(spoil(text), encoding="utf-8")
    with pytest.raises(JudgementError, match=words):
        read_results(tmp_path)


def test_missing_file(tmp_path):
    with pytest.raises(FileError, match=r"no such results file"):
        read_results(tmp_path)


def test_the_document_is_plain_json(tmp_path):
    assert json.loads(judge(record()).to_json())["gaps"]
