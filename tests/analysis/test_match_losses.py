"""What each candidate loses to mismatch, from which source, against the loss written out: −10·lg(1 − |Γ|²)."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.match_losses import COMMON_SOURCE_OHM, candidate_match
from antexp.field.bench_book import read_bench_book
from antexp.plan.reader import plan_from_dict
from antexp.radio.gap_budget import match_loss


def loss(swr: float) -> float:
    """Mismatch loss of a standing-wave ratio, as in any handbook."""
    return float(-10 * np.log10(1 - ((swr - 1) / (swr + 1)) ** 2))


def table(*rows, **columns):
    """Rows of swap, candidate, specimen."""
    return pd.DataFrame(rows, columns=["swap", "candidate", "specimen"]).assign(**columns)


HUNG = ((1, "a", "1"), (1, "a", "1"), (2, "b", "1"), (3, "b", "2"), (4, "b", "2"))


def test_swaps_are_averaged_within_a_specimen_and_specimens_count_alike():
    readings = table(*HUNG, swr=[1.0, 1.0, 3.0, 1.0, 2.0])
    found = candidate_match(("b", "a"), readings, None, None)
    assert found.losses.loss_db == pytest.approx([(loss(3) + (loss(1) + loss(2)) / 2) / 2, 0.0], abs=1e-12)
    assert found.rests_on == ("readings", "readings") and found.source_ohm == COMMON_SOURCE_OHM == 50.0
    # one instrument measured all: its uncertainty is the root mean square of the single ones, not less
    each = match_loss(50.0, [np.nan] * 3, [3.0, 1.0, 2.0]).u_db
    assert found.losses.u_db[0] == pytest.approx(np.sqrt((each[0] ** 2 + (each[1] ** 2 + each[2] ** 2) / 2) / 2))


def test_a_record_that_is_not_sorted_by_swap_says_the_same():
    readings = table(*HUNG, swr=[1.0, 1.0, 3.0, 1.2, 2.0])
    found = candidate_match(("a", "b"), readings.iloc[[4, 2, 0, 1, 3]].reset_index(drop=True), None, None)
    assert found.losses.loss_db == pytest.approx([0.0, (loss(3) + (loss(1.2) + loss(2)) / 2) / 2], abs=1e-12)


def test_reading_a_swap_twice_does_not_make_the_instrument_surer():
    twice = candidate_match(("a", "b"), table(*HUNG, swr=[2.0, 2.0, 2.0, 2.0, 2.0]), None, None).losses
    assert twice.u_db == pytest.approx(np.full(2, match_loss(50.0, [np.nan], [2.0]).u_db[0]))


def test_each_specimen_takes_the_first_source_that_knows_it():
    plan = plan_from_dict({"candidates": [{"name": "a", "swr": 1.2}, {"name": "b", "swr": 3.0}]})
    bench = read_bench_book(pd.DataFrame({"candidate": ["b", "b"], "specimen": ["2", "9"], "swr": ["2", "7"]}))
    readings = table(*HUNG, swr=[1.5, np.nan, np.nan, np.nan, np.nan])
    found = candidate_match(("a", "b"), readings, plan, bench)
    assert found.losses.loss_db == pytest.approx([loss(1.5), (loss(3) + loss(2)) / 2])
    assert found.rests_on == ("readings", "plan, bench book")


def test_a_specimen_that_nobody_measured_leaves_its_candidate_open():
    bench = read_bench_book(pd.DataFrame({"candidate": ["b", "a"], "specimen": ["2", "1"], "swr": ["2", "1.5"]}))
    found = candidate_match(("a", "b"), table(*HUNG), None, bench)
    assert found.losses.loss_db == pytest.approx([loss(1.5), np.nan], nan_ok=True)
    assert np.isnan(found.losses.u_db).tolist() == [False, True]
    assert found.rests_on == ("bench book", "")


def test_an_impedance_is_held_against_the_plans_source():
    """75 Ω on 50 Ω is a standing-wave ratio of 1.5, on 75 Ω of 1; with j50 Ω beside 50 Ω |Γ|² is 1/5."""
    plan = plan_from_dict({"candidates": ["a", "b"], "radio": {"source_impedance_ohm": 75}})
    readings = table(*HUNG, feed_ohm=[75 + 0j, np.nan, 50 + 50j, 50 + 50j, 50 + 50j])
    assert candidate_match(("a", "b"), readings, None, None).losses.loss_db == pytest.approx(
        [loss(1.5), -10 * np.log10(0.8)])
    assert candidate_match(("a", "b"), readings, plan, None).losses.loss_db[0] == pytest.approx(0.0, abs=1e-12)
    told = plan_from_dict({"candidates": [{"name": "a", "feed_ohm": "75"}, "b"]})
    found = candidate_match(("a", "b"), table(*HUNG), told, None)
    assert found.losses.loss_db == pytest.approx([loss(1.5), np.nan], nan_ok=True)


def test_a_wire_that_the_plan_does_not_name_has_no_match_from_it():
    plan = SimpleNamespace(radio=SimpleNamespace(source_impedance_ohm=50.0),
                           candidates=[SimpleNamespace(name="a", swr=2.0, feed_ohm=None)])
    found = candidate_match(("a", "b"), table(*HUNG), plan, None)
    assert found.losses.loss_db == pytest.approx([loss(2.0), np.nan], nan_ok=True)
