"""How many repeats: the answer, its table, its cautious twin, its offers and what it refuses."""

import json
from functools import cache

import numpy as np
import pytest

from antexp.columns import REPEATS
from antexp.errors import OrderError, RepeatsError
from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.what_if import Days, cautious_factors, floor_db, upper_factor

FOUR = ["bare copper 1.5 mm", "covered copper 1.5 mm", "copper-clad steel 1.2 mm", "aluminium 2 mm"]


def _plan(names=FOUR, question=None, meter=None, **field):
    return plan_from_dict({"candidates": list(names), "question": {"matter_db": 1.0, **(question or {})},
                           "meter": meter or "spectrum analyser", "field": field})


@cache
def _four_blocks():
    return how_many_repeats(_plan(blocks=4), records=5_000)


def test_with_hours_the_answer_is_what_they_hold():
    answer = how_many_repeats(_plan(hours=5), records=2_000)
    assert (answer.chosen_by, answer.blocks, answer.swaps) == ("hours", 8, 40)
    assert answer.hours == pytest.approx(40 * 7 / 60)
    assert list(answer.table.columns) == list(REPEATS.names)
    assert list(answer.table["blocks"]) == list(range(1, 13))
    row = answer.table.set_index("blocks").loc[8]
    assert row["chance"] == answer.chance and row["detectable_db"] == answer.detectable_db
    assert row["chance_rehearsed"] == answer.rehearsal.chance
    assert answer.table["chance_rehearsed"].notna().sum() == 1
    first = answer.table.iloc[0]  # one block: 5 swaps for 5 fixed terms
    assert np.isnan(first["resolution_db"]) and first["chance"] == 0.0
    document = json.loads(answer.to_json())
    assert {"blocks", "swaps", "hours", "resolution_db", "detectable_db", "chance", "table"} <= set(document)
    assert document["table"][0]["resolution_db"] is None


def test_without_blocks_or_hours_it_is_the_fewest_that_reach_the_chance():
    answer = how_many_repeats(_plan(), records=0)
    assert answer.chosen_by == "chance" and answer.rehearsal is None
    chances = answer.table.set_index("blocks")["chance"]
    assert chances[answer.blocks] >= 0.8 > chances[answer.blocks - 1]
    assert answer.enough_blocks == answer.blocks
    assert answer.enough_cautious_blocks > answer.blocks
    assert answer.offers == ()


def test_more_blocks_notice_smaller_gaps_and_caution_costs():
    table = _four_blocks().table.dropna(subset=["resolution_db"])
    assert (np.diff(table["detectable_db"]) < 0).all() and (np.diff(table["chance"]) >= 0).all()
    assert (table["detectable_db"] > table["resolution_db"]).all()
    assert (table["detectable_cautious_db"] > 1.4 * table["detectable_db"]).all()
    assert (table["chance_cautious"] < table["chance"]).all()
    assert (table["chance_all"] <= table["chance"] + 2e-3).all()


def test_upper_limits_are_those_of_the_chi_square_table():
    """χ²₀.₀₅ = 1.145, 3.940 and 10.851 at 5, 10 and 20 df (Pearson & Hartley, Biometrika Tables 1, table 8)."""
    for df, point in ((5, 1.145), (10, 3.940), (20, 10.851)):
        assert upper_factor(df) == pytest.approx((df / point) ** 0.5, rel=5e-4)
    assert cautious_factors()["rehang_sd_db"] == 1.5
    pilot = how_many_repeats(_plan(blocks=4), records=0, pilot_df={"rehang_sd_db": 200})
    assert pilot.chance_cautious > _four_blocks().chance_cautious


def test_which_guess_matters_most():
    rows = how_many_repeats(_plan(hours=5), records=0).sensitivity
    assert rows["guess"].iloc[0] == "rehang_sd_db"
    assert set(rows["guess"]) == {"rehang_sd_db", "reading_sd_db", "specimen_sd_db", "drift_db_per_hour",
                                  "minutes_per_swap"}
    unmoved = rows.set_index("guess").loc[["specimen_sd_db", "drift_db_per_hour"], "detectable_gained_db"]
    assert unmoved.to_numpy() == pytest.approx(np.zeros(2), abs=1e-9)  # lines take the drift; one specimen each
    loud = how_many_repeats(_plan(blocks=6, drift="none", drift_db_per_hour=3.0), records=0).sensitivity
    assert loud["guess"].iloc[0] == "drift_db_per_hour"


def test_three_offers_with_hours():
    answer = how_many_repeats(_plan([*"abcdefghij"], hours=5), records=0)
    everyone, fewer, two_days = answer.offers
    assert [offer.kind for offer in answer.offers] == ["all candidates, coarsely", "fewer candidates, finely",
                                                       "two days"]
    assert (everyone.blocks, everyone.swaps) == (answer.blocks, answer.swaps)
    assert not everyone.reaches_chance and fewer.reaches_chance and two_days.reaches_chance
    assert set(fewer.candidates) | set(fewer.left_out) == set("abcdefghij") and fewer.advice
    assert two_days.blocks >= 2 * everyone.blocks and two_days.hours <= 10
    assert answer.enough_blocks is not None and answer.enough_blocks > answer.blocks


def test_offers_on_the_clock():
    plan = _plan(sittings=["09:30-11:00", "13:00-14:30"], minutes_per_swap=6)
    everyone, *_ = how_many_repeats(plan, records=0).offers
    assert len(everyone.clock) == everyone.blocks == 6
    assert everyone.clock[0] == "09:30-10:00"
    assert everyone.clock[-1].split("-")[1] <= "14:30"


def test_alike_wires_are_named():
    wires = [{"name": "a", "material": "copper", "diameter_mm": 2.0}, {"name": "b", "material": "copper",
              "diameter_mm": 2.1}, {"name": "c", "material": "stainless", "diameter_mm": 1.0},
             {"name": "d", "material": "aluminium", "diameter_mm": 2.0}]
    plan = plan_from_dict({"candidates": wires, "frequency_mhz": 14.2, "hours": 2, "matter_db": 1.0,
                           "meter": "spectrum analyser"})
    fewer = how_many_repeats(plan, records=0).offers[1]
    assert "“a” and “b”: treat them as one" in fewer.advice


def test_rehearsal_agrees_and_says_so():
    found = _four_blocks().rehearsal
    assert not found.disagrees and found.largest_difference < 0.03
    assert found.any_missed == pytest.approx(0.05, abs=4 * found.any_missed_se)


@pytest.mark.parametrize("compare", ["each-other", "best"])
def test_other_questions_are_rehearsed_too(compare):
    answer = how_many_repeats(_plan(FOUR[:3], {"compare": compare}, blocks=4), records=4_000)
    assert answer.rehearsal.largest_difference < 0.03
    assert not answer.rehearsal.disagrees


def test_without_a_gap_that_matters_the_table_still_tells_what_is_noticed():
    answer = how_many_repeats(_plan(question={"matter_db": None}, blocks=4))
    assert np.isnan(answer.chance) and answer.enough_blocks is None and answer.rehearsal is None
    assert np.isfinite(answer.detectable_db)
    assert "no-matter-db" in [notice.code for notice in answer.warnings]


def test_warnings_of_specimens_and_of_a_coarse_meter():
    spread = how_many_repeats(_plan(blocks=4, specimen_sd_db=0.4), records=0)
    assert "specimens-unseen" in [notice.code for notice in spread.warnings]
    coarse = how_many_repeats(_plan(meter="S-meter and attenuator", blocks=4), records=0)
    assert "coarse-meter" not in [notice.code for notice in coarse.warnings]  # a step of 1 dB and 0.5 dB of scatter
    s_units = how_many_repeats(_plan(meter="S-meter", blocks=4), records=0)
    assert "coarse-meter" in [notice.code for notice in s_units.warnings]


def test_a_gap_below_the_floor_is_refused_with_the_floor():
    plan = _plan(FOUR[:2], {"matter_db": 0.02})
    floor = floor_db(Days(plan), spreads_of(plan))
    with pytest.raises(RepeatsError, match="no number of blocks reaches the wanted chance") as caught:
        how_many_repeats(plan)
    assert f"allowed: {floor:.2g} dB and more: what 200 blocks notice" in str(caught.value)
    with_hours = how_many_repeats(_plan(FOUR[:2], {"matter_db": 0.02}, hours=3), records=0)
    assert with_hours.enough_blocks is None
    assert "never-enough" in [notice.code for notice in with_hours.warnings]


def test_spreads_of_zero_are_refused():
    with pytest.raises(RepeatsError, match="all scatter is planned as 0, and then one hanging of each would do"):
        how_many_repeats(_plan(meter={"scale": "dBm", "reading_sd_db": 0}, blocks=3, rehang_sd_db=0))


def test_hours_shorter_than_one_block_are_refused():
    with pytest.raises(OrderError, match=r"do not fit into the time|too few swaps"):
        how_many_repeats(_plan(hours=0.3))


def test_nothing_to_go_by_and_odd_arguments_are_refused_at_once():
    with pytest.raises(RepeatsError) as caught:
        how_many_repeats(_plan(question={"matter_db": None}), records=-1, pilot_df={"rehang_sd": 3})
    text = str(caught.value)
    assert "nothing says how long the day is" in text
    assert "pilot_df is not understood: got rehang_sd = 3" in text
    assert "records is not a number of records: got -1" in text


def test_a_chance_that_all_of_few_records_reached_is_not_known_without_error():
    answer = how_many_repeats(_plan(names=FOUR[:2], blocks=8, rehang_sd_db=0.1), records=20)
    assert answer.rehearsal.chance == 1.0 and answer.rehearsal.records == 20
    assert answer.rehearsal.chance_se == pytest.approx(0.5 / 20)


@pytest.mark.parametrize("meter", ["S-meter", "S-meter and attenuator", "SDR"])
def test_the_order_promises_what_the_answer_promises_whatever_the_step(meter):
    plan = _plan(FOUR[:3], blocks=5, meter=meter)
    answer = how_many_repeats(plan, records=0)
    assert max(gap.detectable_db for gap in answer.order.gaps) == pytest.approx(answer.detectable_db, rel=1e-6)
    assert max(gap.resolution_db for gap in answer.order.gaps) == pytest.approx(answer.resolution_db, rel=1e-6)
