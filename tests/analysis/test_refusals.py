"""What the analysis refuses, in one message with all faults, and what it says of records that hold hardly anything."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.hanging_times import swap_minutes
from antexp.analysis.judge import judge
from antexp.analysis.pilot import judge_pilot
from antexp.analysis.pool import pool
from antexp.analysis.second_opinions.swap_means import METHOD
from antexp.analysis.spread_result import Spread
from antexp.analysis.wire_loads import settle_span
from antexp.errors import JudgementError
from antexp.field.readings import read_readings
from antexp.plan.reader import plan_from_dict


@pytest.mark.parametrize("matter", [0.0, -1.0, 101.0, math.nan, math.inf])
def test_a_gap_that_matters_must_be_one(matter, record):
    with pytest.raises(JudgementError, match=r"matter_db is not a gap.*dB above 0, at most 100"):
        judge(record("abc"), matter_db=matter)


@pytest.mark.parametrize("where", ["readings", "evening.csv"])
def test_a_reference_that_never_hung_is_missed_where_the_record_stands(where, record, tmp_path):
    table = record("abc")
    table.to_csv(tmp_path / where, index=False)
    with pytest.raises(JudgementError, match="the reference does not occur in the record") as caught:
        judge(tmp_path / where if "." in where else table, reference="d")
    assert where in str(caught.value) and "None" not in str(caught.value)


def test_all_words_at_fault_are_said_at_once(record):
    with pytest.raises(JudgementError) as caught:
        judge(record("abc"), compare="all", drift="wild", confidence=2.0, chance=0.0, matter_db=-1.0)
    assert len(caught.value.faults) == 5


def test_days_put_together_with_values_that_cannot_be(record):
    days = [judge(record("abc", seed=seed), matter_db=1.0) for seed in (1, 2, 3)]
    with pytest.raises(JudgementError) as caught:
        pool(days, confidence=1.0, matter_db=-2.0)
    said = {fault.what for fault in caught.value.faults}
    assert said == {"confidence is not a probability", "matter_db is not a gap"}
    unstated = [judge(record("abc", seed=seed)) for seed in (1, 2, 3)]
    assert "no-matter-db" in {notice.code for notice in pool(unstated).warnings}
    assert "no-matter-db" not in {notice.code for notice in pool(unstated, matter_db=1.0).warnings}


def test_days_that_share_no_gap_cannot_be_put_together(record):
    days = [judge(record(names), matter_db=1.0) for names in ("ab", "ac", "ad")]
    with pytest.raises(JudgementError, match="no gap occurs in two of the days"):
        pool(days)


def test_a_pilot_of_ranges_or_of_too_few_hangings_is_refused():
    rows = pd.DataFrame({"swap": [1, 1, 2, 2, 3, 3], "candidate": "a", "minutes": [0, 1, 7, 8, 14, 15],
                         "level_db": [-50.0, -50.1, -50.3, -50.2, -50.1, -50.0]})
    ranges = rows.drop(columns="level_db").assign(level_low_db=-51.0, level_high_db=-50.0)
    with pytest.raises(JudgementError, match="needs levels, not ranges"):
        judge_pilot(ranges)
    with pytest.raises(JudgementError, match="too few hangings for the planned drift"):
        judge_pilot(rows.assign(block=rows["swap"]))  # three blocks of one hanging: three means of three levels


def test_a_sag_beyond_all_reason_is_refused():
    plan = plan_from_dict({"candidates": ["a", "b"]})
    with pytest.raises(JudgementError, match="more than ten times the span"):
        settle_span(plan, 10.0, None, 101.0, None)


def test_swap_means_that_know_less_are_called_different_and_the_judgement_is_to_be_believed(record):
    """No scatter between hangings, half an hour within each: the readings see the drift, swap means do not."""
    random, rows = np.random.default_rng(4), []
    for swap, name in enumerate(["a", "b", "c", "a", "c", "b", "a", "b", "c", "a", "c", "b"]):
        for reading in range(6):
            minutes = 7.0 * (swap % 6) + 30.0 * reading
            rows.append((swap + 1, 1 + swap // 6, name, minutes, -50 + minutes / 30 + random.normal(0, 0.05)))
    shown = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    means = next(each for each in judge(shown, matter_db=1.0, second_opinions=True).second_opinions
                 if each.method == METHOD)
    assert means.agrees is False and "Believe the judgement" in means.text
    level = judge(record("abc", blocks=5), matter_db=1.0, second_opinions=True)
    same = next(each for each in level.second_opinions if each.method == METHOD)
    assert same.agrees is True and f"with {same.numbers['degrees_of_freedom']} degrees of freedom" in same.text


def test_what_two_hangings_differ_by_is_not_known_without_their_scatter():
    """ISO 5725-6, 4.1.4: the limit is 1.96 √2 standard deviations."""
    spread = Spread(reading_sd_db=0.3, rehang_sd_db=0.4, specimen_sd_db=None, swap_receiver_sd_db=None)
    assert spread.repeatability_limit_db == pytest.approx(1.96 * math.sqrt(2) * 0.5)
    assert replace(spread, rehang_sd_db=None).repeatability_limit_db is None


def test_minutes_of_a_swap_need_swaps_that_follow_each_other(record):
    rows = record("ab", blocks=3)
    seen = swap_minutes(read_readings(rows))
    assert seen.median == pytest.approx(7.0) and seen.timed == 6  # two intervals in each of three blocks
    gaps = rows.assign(swap=rows["swap"] * 2)  # every second swap is missing
    assert swap_minutes(read_readings(gaps)).median is None
