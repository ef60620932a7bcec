"""Looking before the end: planned looks hold together, unplanned ones are said and counted."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.looks import look_log
from antexp.cli.main import app
from antexp.design.order import make_order
from antexp.design.order_file import write_order
from antexp.mixed.spending import increments
from antexp.plan.reader import read_plan
from antexp.repeats.simulate import simulate


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("day")
    head = 'candidates = ["ref", "B", "C", "D"]\nfrequency_mhz = 14.2\nmatter_db = 1\n[field]\nblocks = 6\nseed = 4\n'
    (place / "planned.toml").write_text(head + "may_stop_after = [3, 5]\n", "utf-8")
    (place / "plan.toml").write_text(head, "utf-8")
    write_order(make_order(read_plan(place / "plan.toml")), place / "order.csv")
    return place


def readings(folder, blocks: int, seed: int = 1, gap: float = -3.0) -> pd.DataFrame:
    plan = read_plan(folder / "plan.toml")
    table = simulate(plan, make_order(plan), {"B": gap}, seed=seed)
    return table[table["block"].astype(int) <= blocks].reset_index(drop=True)


def notice(result, code: str) -> str:
    return next(each.text for each in result.warnings if each.code == code)


def codes(result) -> set[str]:
    return {each.code for each in result.warnings}


@pytest.mark.parametrize(("blocks", "number"), [(3, 0), (5, 1), (6, 2)])
def test_each_planned_look_stands_at_its_own_level(folder, blocks, number):
    shares = increments([3 / 6, 5 / 6, 1.0], 0.05)
    result = judge(readings(folder, blocks), folder / "planned.toml", folder / "order.csv")
    assert result.confidence == 0.95
    assert result.look.alpha == pytest.approx(shares[number])
    assert f"look {number + 1} of 3 planned" in notice(result, "planned-look")
    alone = judge(readings(folder, blocks), folder / "plan.toml", folder / "order.csv", confidence=1 - shares[number])
    np.testing.assert_allclose(result.gaps["interval_db"].tolist(), alone.gaps["interval_db"].tolist(), rtol=1e-9)
    for row in result.gaps.itertuples():
        assert (row.interval_db[0] > 0 or row.interval_db[1] < 0) == (row.p_adjusted < 0.05)


def test_the_whole_error_is_spent_over_the_looks(folder):
    looks = [judge(readings(folder, n), folder / "planned.toml", folder / "order.csv").look.alpha for n in (3, 5, 6)]
    assert sum(looks) == pytest.approx(0.05)


def test_an_unplanned_look_says_so_and_whether_to_go_on(folder):
    result = judge(readings(folder, 3, gap=0.0), folder / "plan.toml", folder / "order.csv")
    text = notice(result, "unplanned-look")
    assert "3 of 6 planned blocks" in text and "may_stop_after" in text
    assert "Go on" in text or "you may stop" in text
    assert result.look.alpha == pytest.approx(0.05)


def test_a_block_that_is_not_complete_does_not_count(folder):
    table = readings(folder, 4)
    last = table["swap"].max()
    result = judge(table[table["swap"] < last], folder / "planned.toml", folder / "order.csv")
    assert result.look.done == 3
    assert "planned-look" in codes(result)


def test_a_complete_record_is_no_look(folder):
    result = judge(readings(folder, 6), folder / "plan.toml", folder / "order.csv")
    assert codes(result).isdisjoint({"planned-look", "unplanned-look", "looks-counted"})
    assert judge(readings(folder, 6)).look is None


def test_unplanned_looks_are_counted_beside_the_record_which_stays_as_it_is(folder, tmp_path):
    from typer.testing import CliRunner

    path, runner = tmp_path / "readings.csv", CliRunner()
    words = ["judge", str(path), "--plan", str(folder / "plan.toml"), "--order", str(folder / "order.csv"), "--json"]
    for blocks, before in ((3, 0), (3, 0), (4, 1), (6, 2)):
        readings(folder, blocks).to_csv(path, index=False)
        kept = path.read_bytes()
        document = json.loads(runner.invoke(app, words, catch_exceptions=False).stdout)
        assert path.read_bytes() == kept
        assert document["look"]["unplanned_looks_before"] == before
    assert len(json.loads(look_log(path).read_text("utf-8"))["looks"]) == 2
    text = next(row["text"] for row in document["warnings"] if row["code"] == "looks-counted")
    assert "2 times" in text


def test_a_planned_look_is_not_logged(folder, tmp_path):
    from typer.testing import CliRunner

    path = tmp_path / "readings.csv"
    readings(folder, 3).to_csv(path, index=False)
    CliRunner().invoke(app, ["judge", str(path), "--plan", str(folder / "planned.toml"), "--order",
                             str(folder / "order.csv"), "--json"], catch_exceptions=False)  # fmt: skip
    assert not look_log(path).exists()


def test_a_damaged_log_counts_as_empty(folder, tmp_path):
    path = tmp_path / "readings.csv"
    readings(folder, 3).to_csv(path, index=False)
    look_log(path).write_text("{", "utf-8")
    assert judge(path, folder / "plan.toml", folder / "order.csv").look.earlier == 0
