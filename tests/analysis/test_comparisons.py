"""Limits of a family where some gap has no error to go by, and rows of gaps."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from antexp.analysis.comparisons import Estimates, Limits, family_limits
from antexp.analysis.gap_table import gap_rows
from antexp.analysis.settings import Settings
from antexp.mixed.verdict import CANNOT_TELL, REAL_MAY_MATTER

NOTHING_MATTERS = Settings(None, "reference", 0.95, 0.8, None, "steady")
PAIRS = (("B", "ref"), ("C", "ref"), ("D", "ref"))


def estimates(gap, variance, df) -> Estimates:
    return Estimates(PAIRS[: len(gap)], np.array(gap), np.diag(variance), np.array(df, float))


@pytest.mark.parametrize(("variance", "df"), [(0.0, 8), (np.inf, 8), (np.nan, 8), (0.25, 0.9)])
def test_a_gap_without_an_error_has_no_limits_and_leaves_the_others_theirs(variance, df):
    found = family_limits(estimates([1.0, 0.4], [0.25, variance], [8, df]), 0.95, 0.8)
    for values in (found.critical, found.lower_db, found.upper_db, found.p_value, found.p_adjusted):
        assert np.isfinite(values).tolist() == [True, False]
    alone = stats.t.ppf(0.975, 8)  # one gap is left: Student's
    assert found.critical[0] == pytest.approx(alone, rel=1e-5)
    assert found.p_value[0] == pytest.approx(2 * stats.t.sf(2.0, 8))


def test_one_degree_of_freedom_is_enough_for_limits():
    found = family_limits(estimates([1.0], [0.25], [1]), 0.95, 0.8)
    assert found.upper_db[0] - 1.0 == pytest.approx(12.706 * 0.5, abs=0.002)  # any table of t, 1 df, 5 %


def test_more_blocks_are_named_for_gaps_that_cannot_be_told_and_for_no_others():
    nothing = np.full(2, np.nan)
    limits = Limits(nothing, np.array([0.4, -0.5]), np.array([1.6, 1.5]), nothing, nothing, nothing)
    two = estimates([1.0, 0.5], [0.1, 0.1], [np.inf, np.inf])
    rows = gap_rows(two, limits, ["", ""], NOTHING_MATTERS, 4, counts=True)
    assert rows["verdict"].tolist() == [REAL_MAY_MATTER, CANNOT_TELL]
    assert rows["more_blocks"].tolist() == [None, 13]  # 1 ± 1 to less than 0.5: more than four times the blocks
    beside = gap_rows(two, limits, ["", ""], NOTHING_MATTERS, 4, counts=False)
    assert beside["verdict"].tolist() == beside["more_blocks"].tolist() == [None, None]
