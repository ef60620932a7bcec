"""Several days put together from their results files."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from typer.testing import CliRunner

from antexp.analysis.judge import judge
from antexp.analysis.pool import pool
from antexp.analysis.pooled_gaps import POOL_COLUMNS
from antexp.analysis.results_file import read_results
from antexp.cli.main import app
from antexp.errors import JudgementError
from antexp.mixed.between_sites import put_together


def day(seed: int, gap: float = -2.0, shift: float = 0.0, names=("ref", "B", "C"), specimen: str = "1"):
    """One invented day of four blocks, judged."""
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(4):
        for position, name in enumerate(["ref", *random.permutation(names[1:]), "ref"]):
            swap += 1
            level = -60 + {"B": gap + shift}.get(str(name), 0.0) + random.normal(0, 0.3)
            rows += [(swap, block + 1, str(name), specimen, 7.0 * position, level + random.normal(0, 0.1))
                     for _ in range(2)]  # fmt: skip
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "specimen", "minutes", "level_db"])
    return judge(table, reference="ref", matter_db=1.0)


@pytest.fixture(scope="module")
def days():
    return [day(seed) for seed in range(4)]


@pytest.fixture(scope="module")
def folders(days, tmp_path_factory):
    places = []
    for number, each in enumerate(days):
        place = tmp_path_factory.mktemp("days") / f"day {number}"
        place.mkdir()
        (place / "results.json").write_text(each.to_json(), "utf-8")
        places.append(place)
    return places


def codes(pooled) -> set[str]:
    return {notice.code for notice in pooled.warnings}


def test_gaps_are_those_of_the_formulas(days):
    pooled = pool(days)
    assert list(pooled.gaps.columns) == list(POOL_COLUMNS)
    for row in pooled.gaps.itertuples():
        own = [each.gaps[each.gaps["candidate"] == row.candidate].iloc[0] for each in days]
        by_hand = put_together([one["gap_db"] for one in own], [one["standard_error_db"] for one in own])
        assert row.gap_db == pytest.approx(by_hand.estimate)
        assert row.standard_error_db == pytest.approx(by_hand.standard_error)
        assert row.degrees_of_freedom == 3
        assert (row.interval_db[0] > 0 or row.interval_db[1] < 0) == (row.p_adjusted < 0.05)
    assert pooled.gaps.set_index("candidate").loc["B", "verdict"].startswith("real")


def test_results_files_say_the_same_as_the_judgements(days, folders):
    a, b = pool(days), pool(folders)
    np.testing.assert_allclose(a.gaps["gap_db"], b.gaps["gap_db"], rtol=1e-12)
    np.testing.assert_allclose(a.gaps["interval_db"].tolist(), b.gaps["interval_db"].tolist(), rtol=1e-9)
    assert read_results(folders[0]).specimens == days[0].specimens
    assert "same-specimens" in codes(b)


def test_days_are_named_by_folder_or_title_and_a_name_that_comes_twice_is_numbered(days, folders, monkeypatch):
    titled = [replace(day, title=title) for day, title in zip(days, ("May", "June", "May"), strict=False)]
    assert [row["day"] for row in pool(titled).provenance] == ["May (1)", "June", "May (2)"]
    files = [folders[0], folders[1] / "results.json"]
    assert [row["day"] for row in pool(files).provenance] == ["day 0", "day 1"]
    monkeypatch.chdir(folders[2])  # a file without a folder in its name has only its own
    assert [row["day"] for row in pool(["results.json", folders[3]]).provenance] == ["results.json", "day 3"]


def test_two_days_call_nothing_real(days):
    pooled = pool(days[:2])
    assert "two-days" in codes(pooled)
    assert not pooled.gaps["verdict"].str.startswith("real").any()
    assert len(pooled.days) == 4


def test_the_same_record_twice_is_refused(days):
    with pytest.raises(JudgementError, match="same record is given twice"):
        pool([days[0], days[1], days[0]])


def test_days_that_ask_other_things_are_refused_all_faults_at_once(days):
    table = pd.DataFrame({"swap": range(1, 9), "block": [1] * 4 + [2] * 4, "candidate": ["B", "ref", "ref", "B"] * 2,
                          "minutes": [0, 7, 14, 21] * 2, "level_db": np.random.default_rng(1).normal(-50, 1, 8)})
    other = judge(table, reference="B", confidence=0.9, matter_db=2.0, drift="none")
    with pytest.raises(JudgementError) as caught:
        pool([days[0], other])
    assert len(caught.value.faults) == 3
    with pytest.raises(JudgementError, match="one day alone"):
        pool([days[0]])
    with pytest.raises(JudgementError, match="best of the others"):
        pool([days[0], judge(table, compare="best", matter_db=1.0, drift="none")])


def test_days_that_differ_are_said_and_widen_the_limits(days):
    far = [day(20 + i, shift=shift) for i, shift in enumerate([-2.0, 0.0, 2.0])]
    pooled = pool(far)
    assert "days-differ" in codes(pooled)
    row = pooled.gaps.set_index("candidate").loc["B"]
    assert row["between_sd_db"] == pytest.approx(2.0, abs=0.8)
    assert row["resolution_db"] > 3 * pool(days[:3]).gaps.set_index("candidate").loc["B", "resolution_db"]


def test_a_gap_of_one_day_only_is_named():
    pooled = pool([day(1), day(2), day(3, names=("ref", "B", "D"))])
    assert set(pooled.gaps["candidate"]) == {"B", "C"}
    assert "one-day-only" in codes(pooled)


def test_other_specimens_are_not_called_the_same():
    assert "same-specimens" not in codes(pool([day(1), day(2), day(3, specimen="2")]))


def test_command_prints_and_writes(folders, tmp_path):
    words = [str(place) for place in folders]
    runner = CliRunner()
    document = json.loads(runner.invoke(app, ["pool", *words, "--json"], catch_exceptions=False).stdout)
    assert {row["candidate"] for row in document["gaps"]} == {"B", "C"}
    assert len(document["provenance"]) == 4
    text = runner.invoke(app, ["pool", *words, "-o", str(tmp_path)], catch_exceptions=False).stdout
    assert "4 days together" in text
    assert {path.name for path in tmp_path.iterdir()} == {"pooled.json", "days.svg", "days.png"}


def test_a_question_that_is_none_is_refused_in_one_message(days):
    with pytest.raises(JudgementError) as caught:
        pool(days, confidence=95.0, matter_db=-1.0)
    said = str(caught.value)
    assert "confidence is not a probability" in said and "matter_db is not a gap" in said and "95" in said
