"""A simulated day carries the truth it was drawn from."""

from typing import get_args

import numpy as np
import pandas as pd
import pytest

from antexp import judge, make_order
from antexp.errors import RepeatsError
from antexp.plan.reader import plan_from_dict
from antexp.plan.words import MeterWord
from antexp.repeats.draws import draw_records
from antexp.repeats.layout import layout_of
from antexp.repeats.simulate import simulate
from antexp.repeats.world import world_of

QUIET = {"rehang_sd_db": 0, "reading_sd_db": 0, "specimen_sd_db": 0, "block_sd_db": 0, "drift_db_per_hour": 0}


def _plan(**field):
    return plan_from_dict({
        "candidates": ["copper", "steel", {"name": "alu", "specimens": 2}],
        "question": {"matter_db": 1.0},
        "meter": {"scale": "dBm", "step_db": 0.1, "reading_sd_db": 0.3, "readings": 3},
        "field": {"blocks": 3, "minutes_per_swap": 6, "rehang_sd_db": 0.5, **field},
    })


def _order():
    names = ["copper", "alu", "steel", "alu", "copper"]
    rows = [
        {"swap": 5 * b + i + 1, "block": b + 1, "minutes": 6.0 * i, "candidate": names[i],
         "specimen": "2" if i == 3 else "1", "place": "1"}
        for b in range(3) for i in range(5)
    ]
    return pd.DataFrame(rows)


def test_same_seed_same_readings_other_seed_others():
    one, again, other = (simulate(_plan(), _order(), {"steel": -2}, seed=seed) for seed in (7, 7, 8))
    pd.testing.assert_frame_equal(one, again)
    assert one.attrs["truth"] == again.attrs["truth"]
    assert not np.allclose(one["level_db"], other["level_db"])


def test_without_scatter_the_gaps_are_what_was_asked():
    table = simulate(_plan(), _order(), {"steel": -2.0, "alu": 0.5}, **QUIET)
    levels = table.groupby("candidate")["level_db"].agg(["min", "max"])
    assert levels.loc["copper"].tolist() == pytest.approx([-60.0, -60.0])
    assert levels.loc["steel"].tolist() == pytest.approx([-62.0, -62.0])
    assert levels.loc["alu"].tolist() == pytest.approx([-59.5, -59.5])
    assert list(table.columns) == ["swap", "block", "candidate", "specimen", "place", "reading", "minutes", "level_db"]
    assert table["reading"].tolist()[:4] == [1, 2, 3, 1]


def test_the_truth_on_the_back_rebuilds_the_swap_levels():
    table = simulate(_plan(), _order(), {"steel": -2.0}, seed=3, reading_sd_db=0, step_db=None,
                     wander_db_per_sqrt_hour=0.4)
    truth = table.attrs["truth"]
    for row in table.itertuples():
        middle = 12.0  # half way between the first and the last of five swaps, six minutes apart
        expected = (-60 + truth["gaps_db"][row.candidate] + truth["specimens_db"][f"{row.candidate} / {row.specimen}"]
                    + truth["blocks_db"][row.block] + truth["swaps_db"][row.swap] + truth["walk_db"][row.swap]
                    + truth["slopes_db_per_hour"][row.block] * (row.minutes - middle) / 60)
        assert row.level_db == pytest.approx(expected, abs=1e-9)


def test_readings_stand_on_the_step_of_the_display():
    table = simulate(_plan(), _order(), seed=1, step_db=0.5)
    assert np.allclose(table["level_db"] * 2, np.round(table["level_db"] * 2))


def test_a_path_of_ones_own_is_asked_at_hours_of_the_day():
    asked = []

    def tide(hours):
        asked.append(hours)
        return 2.0 * (hours > 0.9)

    table = simulate(_plan(), _order(), path_db=tide, rehang_sd_db=0, reading_sd_db=0, specimen_sd_db=0)
    # blocks of 5 × 6 min and breaks of 15 min: they start at 0, 45 and 90 min
    starts = [start + 0.1 * i for start in (0, 0.75, 1.5) for i in range(5)]
    assert asked[0].reshape(15, 3)[:, 0] == pytest.approx(starts)
    assert table.groupby("block", sort=False)["level_db"].max().tolist() == pytest.approx([-60, -58, -58])


def test_slopes_can_be_named():
    table = simulate(_plan(), _order(), **{**QUIET, "slopes_db_per_hour": [1.0, 0.0, -2.0]})
    ends = table[table["candidate"] == "copper"].groupby("block", sort=False)["level_db"].agg(["first", "last"])
    assert (ends["last"] - ends["first"]).tolist() == pytest.approx([0.4, 0.0, -0.8])


def test_minus_dbm_readings_are_written_without_the_sign():
    plan = plan_from_dict({"candidates": ["a", "b"], "meter": {"scale": "minus dBm"}, "field": {"blocks": 2}})
    order = _order().replace({"copper": "a", "steel": "b", "alu": "b"})
    assert simulate(plan, order)["level_db"].between(50, 70).all()


def test_missing_swaps_are_missing_whole():
    table = simulate(_plan(), _order(), seed=5, missing_share=0.4)
    lost = table.attrs["truth"]["missing_swaps"]
    assert 0 < len(lost) < 15
    assert set(table["swap"]) == set(range(1, 16)) - set(lost)
    assert (table.groupby("swap").size() == 3).all()


def test_scatters_are_as_large_as_asked():
    """Standard deviations over 4,000 records within 4 standard errors of theirs, 4/√(2·4000) = 4.5 %."""
    plan = _plan()
    layout = layout_of(_order(), 6)
    world = world_of(plan, wander_db_per_sqrt_hour=0.8, specimen_sd_db=0.4, drift_db_per_hour=0.7, step_db=None)
    drawn = draw_records(layout, world, np.random.default_rng(1), 4000)
    for values, sd in ((drawn.swap_db, 0.5), (drawn.specimen_db, 0.4), (drawn.slope_db_per_hour, 0.7),
                       (drawn.block_db, 1.0), (drawn.level_db[:, 1] - drawn.level_db[:, 0], 0.3 * 2**0.5)):
        assert np.std(values, axis=1) == pytest.approx(sd, rel=0.05)
    end_of_block = drawn.walk_db[4]  # 24 minutes after the block's first swap
    assert np.std(end_of_block) == pytest.approx(0.8 * 0.4**0.5, rel=0.05)
    assert np.all(drawn.walk_db[5] == 0)


def test_centred_specimens_leave_the_gaps_of_these_specimens():
    world = world_of(_plan(), specimen_sd_db=1.0, centre_specimens=True)
    drawn = draw_records(layout_of(_order(), 6), world, np.random.default_rng(1), 50)
    assert drawn.specimen_db[0] == pytest.approx(np.zeros(50))  # copper has one specimen
    assert drawn.specimen_db[1] == pytest.approx(-drawn.specimen_db[3])  # alu / 1 and alu / 2


def test_all_faults_are_told_at_once():
    with pytest.raises(RepeatsError) as caught:
        simulate(_plan(), _order(), {"stel": -1, "copper": 1}, rehang_sd_db=-1, step_db=0, read_sd_db=1,
                 readings=0, missing_share=1, slopes_db_per_hour="x", path_db=3)
    text = str(caught.value)
    assert len(caught.value.faults) == 9
    assert "Did you mean 'steel'?" in text
    assert "gaps_db gives the reference a gap to itself" in text
    assert "Did you mean reading_sd_db?" in text
    assert "rehang_sd_db is impossible: got -1; allowed: a number, 0 or more" in text


def test_a_path_that_does_not_answer_is_refused():
    with pytest.raises(RepeatsError, match="path_db does not return a finite level for every hour"):
        simulate(_plan(), _order(), path_db=lambda hours: hours[:3])
    with pytest.raises(RepeatsError, match=r"slopes_db_per_hour does not fit the order: got 2 slopes; allowed: 3, one"):
        simulate(_plan(), _order(), slopes_db_per_hour=[1, 2])
    with pytest.raises(RepeatsError, match="the order lacks the column"):
        simulate(_plan(), _order().drop(columns="minutes"))


@pytest.mark.parametrize("meter", get_args(MeterWord))
def test_a_simulated_day_of_any_meter_can_be_judged_as_it_is(meter):
    plan = plan_from_dict({"candidates": ["a", "b", "c"], "frequency_mhz": 14.2, "matter_db": 1.0, "meter": meter,
                           "field": {"blocks": 4}})
    order = make_order(plan)
    found = judge(simulate(plan, order, {"b": -8.0}, seed=1), plan, order)  # a gap that a meter of S units shows too
    assert found.family.set_index("candidate").loc["b", "gap_db"] == pytest.approx(-8.0, abs=4.0)
