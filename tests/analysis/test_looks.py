"""Looking before the end: planned looks hold together, unplanned ones are said and counted."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.looks import Look, log_look, look_log
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


def test_blocks_still_wanted_are_reckoned_with_the_limits_of_the_end(folder):
    """The first look stands at 99.7 %, the end at 97.8 %: what more blocks come to is judged at the end."""
    table = readings(folder, 3, gap=-0.5)
    at_look = judge(table, folder / "planned.toml", folder / "order.csv")
    end = 1 - increments([3 / 6, 5 / 6, 1.0], 0.05)[2]
    at_end = judge(table, folder / "plan.toml", folder / "order.csv", confidence=end)
    rows = at_look.gaps["verdict"].eq("cannot tell") & at_end.gaps["verdict"].eq("cannot tell")
    wanted = at_look.gaps.loc[rows, "more_blocks"], at_end.gaps.loc[rows, "more_blocks"]
    assert rows.sum() == 3 and abs(wanted[0] - wanted[1]).max() <= 1
    wider = at_look.gaps["resolution_db"] / at_end.gaps["resolution_db"]
    assert wider.min() > 1.4  # at the look's own limits about twice as many


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


def test_blocks_beyond_the_planned_ones_are_said(folder):
    """Going on because the end left something open is one more look, at a record that no longer has an end."""
    longer = readings(folder, 6)
    more = longer[longer["block"].astype(int) >= 5]
    more = more.assign(block=(more["block"].astype(int) + 2).astype(str), swap=more["swap"] + longer["swap"].max())
    found = judge(pd.concat([longer, more], ignore_index=True), folder / "plan.toml")
    assert (found.look.done, found.look.planned) == (8, 6)
    assert "8 blocks; 6 were planned" in notice(found, "longer-than-planned")
    assert "longer-than-planned" not in codes(judge(longer, folder / "plan.toml"))


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


def look(done=3, planned=6, stops=(3, 6), is_planned=True, alpha=0.02, earlier=0) -> Look:
    return Look(done, planned, stops, alpha, is_planned, earlier)


def gaps(*rows) -> pd.DataFrame:
    """Verdicts and blocks still wanted; the last row stands beside the family and does not count."""
    counted = [{"verdict": verdict, "more_blocks": more, "counts": True, "p_adjusted": 0.3} for verdict, more in rows]
    beside = {"verdict": "cannot tell", "more_blocks": 99, "counts": False, "p_adjusted": np.nan}
    return pd.DataFrame([*counted, beside]).astype({"more_blocks": object})


REAL, OPEN = "real and it matters", "cannot tell"


@pytest.mark.parametrize(
    ("is_planned", "rows", "said"),
    [
        (True, [(REAL, None), (REAL, None)], "you may stop here"),
        (False, [(REAL, None), (REAL, None)], "go on as planned all the same"),
        (True, [(REAL, None), (OPEN, 2), (OPEN, 3)], "Go on: 2 of 3 gaps cannot be told yet; about 3 of the 3 blocks"),
        (True, [(OPEN, 1), (OPEN, 4)], "may not settle all of them (about 4 more would be needed)"),
        (True, [(OPEN, 1), (OPEN, None)], "may not settle all of them (at least 1 more would be needed)"),
        (True, [(OPEN, 2), (OPEN, np.nan)], "may not settle all of them (at least 2 more would be needed)"),
        (True, [(OPEN, None), (REAL, None)], "1 of 2 gaps cannot be told yet, and no number of blocks in sight"),
    ],
)
def test_whether_to_go_on_follows_from_the_gaps_that_count(is_planned, rows, said):
    found = look(is_planned=is_planned).notices(gaps(*rows))
    assert [each.code for each in found] == ["planned-look" if is_planned else "unplanned-look"]
    assert said in found[0].text


def test_the_last_of_several_looks_says_so_and_a_single_end_says_nothing():
    last = look(done=6).notices(gaps((OPEN, 3)))
    assert "look 2 of 2 planned, after 6 of 6 blocks" in last[0].text and "the last one" in last[0].text
    assert "98.00 %" in last[0].text
    beyond = look(done=7)  # a block more than planned is the end too
    assert beyond.at_end and "look 2 of 2" in beyond.notices(gaps((OPEN, 3)))[0].text
    assert look(done=6, stops=(6,)).notices(gaps((OPEN, 3))) == []


def test_the_document_says_at_what_confidence_the_limits_stand():
    assert look(earlier=2).to_dict() == {
        "blocks_done": 3, "blocks_planned": 6, "planned_stops": [3, 6], "planned": True,
        "limits_confidence": pytest.approx(0.98), "unplanned_looks_before": 2,
    }  # fmt: skip


@pytest.mark.parametrize(("earlier", "said"), [(1, "looked at 1 time before"), (3, "looked at 3 times before")])
def test_looks_before_are_counted_in_words(earlier, said):
    found = look(done=6, stops=(6,), earlier=earlier).notices(gaps((REAL, None)))
    assert [each.code for each in found] == ["looks-counted"] and said in found[0].text


def test_adjusted_p_at_a_look_is_stretched_to_the_whole_error_and_never_above_one():
    """A p of 0.02 at a look that may spend 0.02 of 0.05 is just significant: 0.05."""
    table = gaps((REAL, None), (OPEN, 2), (OPEN, None)).assign(p_adjusted=[0.02, 0.3, 0.9, np.nan])
    np.testing.assert_allclose(look().gaps(table, 0.05)["p_adjusted"], [0.05, 0.75, 1.0, np.nan])
    np.testing.assert_array_equal(look(alpha=0.05).gaps(table, 0.05)["p_adjusted"], table["p_adjusted"])


def test_without_an_order_every_block_of_the_record_is_done(folder):
    found = judge(readings(folder, 3), folder / "planned.toml").look
    assert (found.done, found.planned, found.stops, found.is_planned) == (3, 6, (3, 5, 6), True)
    between = judge(readings(folder, 4), folder / "planned.toml").look
    assert (between.done, between.is_planned, between.alpha) == (4, False, pytest.approx(0.05))


def test_a_stop_at_the_end_of_a_shorter_order_is_the_end_and_no_look_more(folder, tmp_path):
    """Eight blocks were planned, the order has six: a stop after six is its end."""
    longer = tmp_path / "longer.toml"
    text = (folder / "planned.toml").read_text("utf-8")
    longer.write_text(text.replace("blocks = 6", "blocks = 8").replace("[3, 5]", "[3, 6]"), "utf-8")
    found = judge(readings(folder, 6), longer, folder / "order.csv").look
    assert found.stops == (3, 6) and found.alpha == pytest.approx(increments([0.5, 1.0], 0.05)[1])


def test_a_later_block_begun_completes_those_before_it(folder):
    table = readings(folder, 4)
    third = table.loc[table["block"].astype(int) == 3, "swap"].max()
    found = judge(table[table["swap"] != third], folder / "plan.toml", folder / "order.csv").look
    assert found.done == 4  # block 4 is whole, so block 3 ended early


def test_blocks_are_counted_in_the_order_they_hang_not_by_the_alphabet(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text('candidates = ["ref", "B"]\nfrequency_mhz = 14.2\nmatter_db = 1\n[field]\nblocks = 10\n', "utf-8")
    plan = read_plan(path)
    order = make_order(plan)
    table = simulate(plan, order, {"B": -1.0}, seed=1)
    found = judge(table[table["block"].astype(int) <= 2].reset_index(drop=True), plan, order).look
    assert (found.done, found.planned) == (2, 10)


def test_swaps_that_were_left_out_are_done_all_the_same(folder):
    table = readings(folder, 3)
    kept = table.assign(keep=(table["swap"] != table["swap"].max()).astype(int))
    assert judge(kept, folder / "planned.toml", folder / "order.csv").look.done == 3
    begun = readings(folder, 4)
    begun = begun[begun["swap"] <= table["swap"].max() + 1]  # and one swap of the fourth block
    begun = begun.assign(keep=(begun["swap"] != table["swap"].max()).astype(int))
    assert judge(begun, folder / "plan.toml", folder / "order.csv").look.done == 3


def test_the_same_readings_are_one_look_and_planned_ones_none(tmp_path):
    record, unplanned = str(tmp_path / "readings.csv"), look(is_planned=False)
    log_look(record, "one", look())
    assert not look_log(tmp_path / "readings.csv").exists()
    for digest in ("one", "one", "other"):
        log_look(record, digest, unplanned)
    noted = json.loads(look_log(tmp_path / "readings.csv").read_text("utf-8"))["looks"]
    assert [each["readings_sha256"] for each in noted] == ["one", "other"]
    assert (noted[0]["blocks_done"], noted[0]["blocks_planned"]) == (3, 6)


@pytest.mark.parametrize("text", ["[]", '{"looks": 5}', '{"looks": [1, {"readings_sha256": "else"}]}'])
def test_of_an_odd_log_only_what_looks_like_a_look_counts(folder, tmp_path, text):
    path = tmp_path / "readings.csv"
    readings(folder, 3).to_csv(path, index=False)
    look_log(path).write_text(text, "utf-8")
    assert judge(path, folder / "plan.toml", folder / "order.csv").look.earlier == text.count("else")
