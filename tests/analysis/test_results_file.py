"""A judgement comes back from its results file as it was."""

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.results_file import read_results
from antexp.errors import FileError, JudgementError
from antexp.json_text import plain
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
    assert after.to_dict() == before.to_dict()
    pd.testing.assert_frame_equal(after.family, before.family)


def full_record():
    """Two receivers, feed impedances, and a plan with a look after two of six blocks."""
    table = record()
    table["receiver"] = np.where(np.arange(len(table)) % 2, "near", "far")
    table["feed_ohm"] = table["candidate"].map({"bare": "45+3j", "clad": "52-9j", "steel": "61+2j"})
    candidates = [{"name": name, "material": metal, "diameter_mm": 1.5}
                  for name, metal in (("bare", "copper"), ("clad", "copper"), ("steel", "steel"))]
    plan = plan_from_dict({
        "candidates": candidates, "frequency_mhz": 14.2, "matter_db": 1, "radio": {"element": "half-wave dipole"},
        "field": {"blocks": 6, "may_stop_after": [4]},
    })
    return table, plan


def test_look_checks_opinions_receivers_and_budgets_come_back(tmp_path):
    before = judge(*full_record(), second_opinions=True)
    (tmp_path / "results.json").write_text(before.to_json(), encoding="utf-8")
    after = read_results(tmp_path)
    assert after.to_dict() == before.to_dict()
    # the file holds 1 - alpha, in which the last digits of a small alpha are lost
    assert replace(after.look, alpha=0.0) == replace(before.look, alpha=0.0)
    assert after.look.alpha == pytest.approx(before.look.alpha, abs=1e-15)
    assert before.look.is_planned and not before.look.at_end
    assert after.second_opinions == tuple(replace(each, numbers=plain(each.numbers)) for each in before.second_opinions)
    assert [(c.question, c.worth_a_look, c.warning) for c in after.checks] == [
        (c.question, c.worth_a_look, c.warning) for c in before.checks]  # fmt: skip
    assert after.receivers.reading_sd_db == before.receivers.reading_sd_db
    pd.testing.assert_frame_equal(after.receivers.gaps, before.receivers.gaps)
    for name in ("measured_db", "mismatch_db", "conductor_db", "height_db", "unexplained_db", "matched_db"):
        np.testing.assert_array_equal(getattr(after.budgets.budget, name), getattr(before.budgets.budget, name))
    assert after.budgets.mismatch_loss_db == before.budgets.mismatch_loss_db
    pd.testing.assert_frame_equal(after.budgets.matched, before.budgets.matched)


def test_results_of_an_earlier_version_have_no_stops_and_no_codes(tmp_path):
    document = json.loads(judge(*full_record()).to_json())
    del document["look"]["planned_stops"]
    for check in document["checks"]:
        del check["warning"], check["worth_a_look"]
    (tmp_path / "results.json").write_text(json.dumps(document), encoding="utf-8")
    after = read_results(tmp_path)
    assert after.look.stops == (6,)
    assert [check.worth_a_look for check in after.checks] == [check.p_value < 0.05 for check in after.checks]


@pytest.mark.parametrize("spoil", [
    lambda d: d["look"].update(planned="yes"),
    lambda d: d["checks"][0].update(p_value=3),
    lambda d: d["second_opinions"][0].update(agrees="perhaps"),
    lambda d: d["receivers"]["gaps"][0].update(interval_db=[1]),
    lambda d: d["gap_budgets"][0].update(swap_end="middle"),
    lambda d: d["matched_gaps"][0].update(verdict="sure"),
], ids=["look", "check", "opinion", "receiver", "budget", "matched"])
def test_spoilt_parts_are_refused(tmp_path, spoil):
    document = json.loads(judge(*full_record(), second_opinions=True).to_json())
    spoil(document)
    (tmp_path / "results.json").write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(JudgementError, match="not as antexp writes it"):
        read_results(tmp_path)


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
