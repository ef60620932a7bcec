"""Records in which every reading is the same: what counts as such, limits by hand, and a path that is not there."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from antexp.analysis.flat_record import is_flat
from antexp.analysis.judge import judge
from antexp.errors import JudgementError
from antexp.mixed.flat_limits import flat_limit
from antexp.plan.reader import plan_from_dict

BLOCKS = [["ref", "B", "C", "ref"], ["ref", "C", "B", "ref"], ["B", "ref", "ref", "C"]]


def record(blocks=BLOCKS, **columns) -> pd.DataFrame:
    """Invented hangings 7 minutes apart, two readings each, all of −74 dB."""
    rows, swap = [], 0
    for block, names in enumerate(blocks):
        for position, name in enumerate(names):
            swap += 1
            rows += [(swap, block + 1, name, 7.0 * position + i) for i in range(2)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes"])
    return table.assign(**(columns or {"level_db": -74.0}))


def plan(step_db=2.0):
    return plan_from_dict({"candidates": ["ref", "B", "C"], "frequency_mhz": 14.2, "meter": {"step_db": step_db}})


@pytest.mark.parametrize(("high", "flat"), [([-73.0, -73.0], True), ([-73.0, -72.0], False)])
def test_the_same_middle_of_unlike_ranges_is_not_the_same_reading(high, flat):
    low = [-148.0 - each for each in high]
    assert is_flat(pd.DataFrame({"level_db": [-74.0, -74.0], "level_low_db": low, "level_high_db": high})) is flat


@pytest.mark.parametrize(("names", "others"), [(["ref", "B"], 0), (["ref", "B", "C"], 2)])
def test_half_widths_are_the_steps_that_all_hangings_allow(names, others):
    """Each wire once in 2 blocks. Critical values of all pairs of a balanced plan: Tukey's studentised range over √2,
    by scipy, a general library; then the step times the kernel's limit for these hangings and the others.
    """
    left = 2 * len(names) - 2 - (len(names) - 1)
    critical = stats.studentized_range.isf(0.05, len(names), left) / np.sqrt(2.0)
    found = judge(record([names, names[::-1]]), plan(), reference="ref", drift="none", compare="each-other").gaps
    by_hand = 2.0 * flat_limit(np.ones((2, 2)), others, critical, float(left))
    assert by_hand > 2.5  # well above the least, which is the step
    np.testing.assert_allclose(found["resolution_db"], by_hand, rtol=1e-3)  # the kernel's values are found by sampling


@pytest.mark.parametrize("width", [0.6, 3.0])
def test_ranges_bring_their_own_step(width):
    ends = {"level_low_db": -74.0 - width / 2, "level_high_db": -74.0 + width / 2}
    by_range = judge(record(**ends), reference="ref", drift="none").gaps["resolution_db"]
    by_level = judge(record(), plan(width), drift="none").gaps["resolution_db"]
    np.testing.assert_allclose(by_range, by_level, rtol=1e-9)


def test_levels_without_a_step_are_a_question_back():
    without_width = record(level_low_db=-74.0, level_high_db=-74.0)  # never a gap of 0.00 ± 0.00
    for table in (record(), without_width):
        with pytest.raises(JudgementError, match="no step of the meter is declared"):
            judge(table, reference="ref")


def test_too_few_hangings_leave_no_limits():
    found = judge(record([["ref", "B", "C"]]), plan(), reference="ref", drift="none").gaps
    assert found["resolution_db"].isna().all() and len(found) == 2
    assert set(found["verdict"]) == {"cannot tell"}


def test_two_swaps_are_a_record_and_one_is_none():
    two = judge(record([["ref", "B"]]), plan(), reference="ref", drift="none")
    assert two.gaps["verdict"].tolist() == ["cannot tell"]
    with pytest.raises(JudgementError, match="there is nothing to compare"):
        judge(record([["ref"]]), plan(), drift="none")


def test_one_swap_left_over_gives_limits():
    """4 swaps of 3 candidates in one block: one left over, so Student's t of one degree of freedom and more."""
    found = judge(record([["ref", "B", "C", "ref"]]), plan(), reference="ref", drift="none").gaps["resolution_db"]
    assert np.isfinite(found).all() and (found >= 2.0).all()


def test_the_day_shows_levels_over_hours_and_no_path():
    day = judge(record(), plan(), drift="none").day
    np.testing.assert_allclose(day.readings["hours"], record()["minutes"] / 60)
    np.testing.assert_allclose(day.swaps["hours"], np.tile([0.5, 7.5, 14.5, 21.5], 3) / 60)
    assert day.swaps["level_db"].eq(-74.0).all() and len(day.path) == 0
