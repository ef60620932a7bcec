"""Plans at the edge of what can be asked: nothing to gain, too little time, values that cannot be."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from antexp.design.order import make_order
from antexp.errors import RepeatsError
from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.repeats.answer_notices import answer_notices
from antexp.repeats.bare_gap import bare_gap
from antexp.repeats.best_many import best_limits
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.rehearsed_chance import _is_coarse as is_coarse
from antexp.repeats.simulate import simulate
from antexp.repeats.single_hangings_file import read_single_hangings
from antexp.repeats.trade_offs import trade_offs
from antexp.repeats.what_if import Days, with_changes


def _plan(names: str = "abc", **field):
    return plan_from_dict({"candidates": list(names), "question": {"matter_db": 1.0}, "meter": "SDR", "field": field})


def test_readings_that_leave_no_time_for_the_swap_are_no_choice():
    """With a minute a reading and two minutes a swap of three readings, one reading would leave none."""
    rows = trade_offs(_plan(minutes_per_swap=2.0), 6.0, minutes_per_reading=1.0)
    said = rows.loc[rows["choice"] == "readings against swaps", "setting"].tolist()
    assert said and not any(setting.startswith("1 reading ") for setting in said)
    assert all(float(setting.split(",")[1].split()[0]) > 0 for setting in said)


def test_half_days_that_hold_no_block_are_not_offered():
    plan = _plan("abcdefgh", minutes_per_swap=7.0)
    whole = trade_offs(plan, 12.0)
    short = trade_offs(plan, 1.5)
    assert "two half days" in whole["setting"].tolist() and "one day" in short["setting"].tolist()
    assert "two half days" not in short["setting"].tolist()


def test_a_gap_too_small_for_any_number_of_hangings_has_none():
    assert bare_gap(0.0001, rehang_sd_db=0.5, reading_sd_db=0.2).hangings_needed is None
    assert bare_gap(1.0, rehang_sd_db=0.5, reading_sd_db=0.2).hangings_needed > 1


@pytest.mark.parametrize("gap", [math.nan, 101.0, "much"])
def test_an_impossible_gap_of_an_invented_day_is_refused(gap):
    with pytest.raises(RepeatsError, match="impossible gap for 'b'"):
        simulate(_plan(blocks=3), make_order(_plan(blocks=3)), gaps_db={"b": gap}, seed=1)


def test_a_table_without_rows_or_with_an_unknown_scale_is_refused(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text("\n\n,\n", encoding="utf-8")
    with pytest.raises(RepeatsError, match="the table of single hangings is empty"):
        read_single_hangings(path)
    with pytest.raises(RepeatsError, match="scale is not known: got 'bels'"):
        read_single_hangings(path, scale="bels")


def test_a_rehearsal_that_disagrees_with_the_closed_form_is_said():
    plan = _plan(blocks=4)
    order = make_order(plan)
    found = how_many_repeats(plan, records=1_000)
    chances = Days(plan).chances(Days(plan).modelled(order.table), spreads_of(plan))
    for disagrees in (False, True):
        rehearsal = replace(found.rehearsal, disagrees=disagrees, largest_difference=0.061)
        said = [notice.text for notice in answer_notices(plan, order, chances, 4, rehearsal)
                if notice.code == "rehearsal-disagrees"]
        assert len(said) == disagrees and all("differ by 6.1 points" in text for text in said)


def test_records_of_which_nothing_is_known_have_no_limits_to_the_best():
    """Three records of three wires: known, unknown, known; the unknown one must not touch the others."""
    gaps = np.array([[1.0, 2.0, 1.0], [5.0, 9.0, 4.0], [0.1, 0.1, 0.0]])
    covariances = np.broadcast_to(0.04 * (np.eye(3) + 0.5 * (1 - np.eye(3))), (3, 3, 3)).copy()
    df = np.full((3, 3), 12.0)
    usable = np.array([True, False, True])
    gap, lower, upper, verdict = best_limits(gaps, covariances, df, usable, 0.95, 0.5)
    assert np.isnan(gap[1]).all() and np.isnan(lower[1]).all() and np.isnan(upper[1]).all()
    alone = best_limits(gaps[usable], covariances[usable], df[usable], np.array([True, True]), 0.95, 0.5)
    for with_it, without in zip((gap, lower, upper), alone[:3], strict=True):
        np.testing.assert_allclose(with_it[usable], without, rtol=1e-9)
    assert (verdict[usable] == alone[3]).all() and (verdict[1] == "cannot tell").all()
    none = best_limits(gaps, covariances, df, np.zeros(3, dtype=bool), 0.95, None)
    assert np.isnan(none[0]).all() and (none[3] == "cannot tell").all()


def test_records_that_are_not_alike_get_each_its_own_limits_to_the_best():
    """Two records whose errors hang together otherwise: each as if it were judged alone, with nothing that matters."""
    gaps = np.array([[1.0, 2.0, 1.0], [0.3, 0.9, 0.6]])
    covariances = 0.04 * np.array([np.eye(3) + share * (1 - np.eye(3)) for share in (0.5, 0.1)])
    df, usable = np.array([[9.0] * 3, [14.0] * 3]), np.array([True, True])
    together = best_limits(gaps, covariances, df, usable, 0.95, None)
    for record in range(2):
        one = slice(record, record + 1)
        alone = best_limits(gaps[one], covariances[one], df[one], usable[one], 0.95, None)
        for both, single in zip(together[:3], alone[:3], strict=True):
            np.testing.assert_allclose(both[one], single, rtol=1e-6)
        assert (together[3][one] == alone[3]).all()


def test_a_plan_without_a_step_is_never_coarse():
    plan = plan_from_dict({"candidates": ["a", "b"], "question": {"matter_db": 1.0},
                           "meter": {"step_db": 12.0, "reading_sd_db": 0.2}, "field": {"blocks": 4}})
    assert is_coarse(plan) and not is_coarse(with_changes(plan, meter={"step_db": None}))
