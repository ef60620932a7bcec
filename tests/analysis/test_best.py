"""Which candidates can still be the best."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from antexp.analysis.best import compare_best
from antexp.analysis.comparisons import Estimates
from antexp.analysis.judge import judge
from antexp.analysis.settings import settle
from antexp.mixed.verdict import classify_best


def record(gaps: dict[str, float], blocks: int = 6, seed: int = 4, rehang: float = 0.25) -> pd.DataFrame:
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(blocks):
        for position, name in enumerate(random.permutation(list(gaps))):
            swap += 1
            level = -50 + gaps[str(name)] + random.normal(0, rehang)
            rows += [(swap, block, name, 7.0 * position, level + random.normal(0, 0.1)) for _ in range(2)]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


def test_one_row_a_candidate_against_the_best_of_the_others():
    result = judge(record({"A": 0.0, "B": 0.05, "C": -0.5, "D": -3.0}), compare="best", drift="none", matter_db=1.0)
    rows = result.gaps.set_index("candidate")
    assert list(rows.index) == ["A", *[name for name in result.candidates if name != "A"]] or len(rows) == 4
    assert set(rows["against"]) == {"the best of the others"}
    assert rows.loc["D", "verdict"] == "real and it matters"
    assert "second-family" in {notice.code for notice in result.warnings}
    assert set(result.could_be_best) == {name for name in rows.index if rows.loc[name, "interval_db"][1] > 0}
    for name in rows.index:
        low, high = rows.loc[name, "interval_db"]
        assert low <= 0 <= high


def test_the_gap_is_to_the_strongest_other():
    result = judge(record({"A": 0.0, "B": 2.0, "C": -2.0}), compare="best", drift="none", matter_db=1.0)
    rows = result.gaps.set_index("candidate")["gap_db"]
    assert rows["B"] == pytest.approx(-rows["A"])
    assert rows["C"] < rows["A"] < 0 < rows["B"]
    assert result.could_be_best == ("B",)


def test_could_be_best_does_not_depend_on_what_was_asked():
    table = record({"A": 0.0, "B": 0.1, "C": -2.0})
    asked = [judge(table, compare=word, drift="none", matter_db=1.0).could_be_best
             for word in ("reference", "each-other", "best")]  # fmt: skip
    assert asked[0] == asked[1] == asked[2]


def test_nothing_told_of_a_flat_family_is_everybody():
    result = judge(record({"A": 0.0, "B": 0.0}, blocks=2, rehang=1.0), drift="none", matter_db=1.0)
    assert set(result.could_be_best) == {"A", "B"}


@pytest.mark.parametrize(
    ("limits", "pairs", "matter", "verdict"),
    [
        ((-0.4, 0.0), (-0.6, -0.1), 1.0, "real but too small to matter"),
        ((-1.4, 0.0), (-1.6, -0.1), 1.0, "real, may or may not matter"),
        ((-2.4, 0.0), (-2.6, -1.0), 1.0, "real and it matters"),
        ((-0.4, 0.2), (-0.6, 0.4), 1.0, "no gap that matters"),
        ((-0.4, 0.0), (-0.6, 0.1), 1.0, "no gap that matters"),  # left out of the best set is not weaker for sure
        ((-1.4, 0.0), (-1.6, 0.1), 1.0, "cannot tell"),
        ((-1.4, 0.2), (-1.6, 0.4), 1.0, "cannot tell"),
        ((-0.4, 1.2), (-0.6, 1.4), 1.0, "cannot tell"),  # may lie ahead by more than matters
        ((0.0, 4.2), (1.0, 4.4), 1.0, "real and it matters"),
        ((0.0, 1.4), (0.1, 1.6), 1.0, "real, may or may not matter"),
        ((0.0, 0.4), (0.1, 0.6), 1.0, "real but too small to matter"),
        ((-0.4, 0.0), (-0.6, -0.1), None, "real, may or may not matter"),
        ((-0.4, 0.0), (-0.6, 0.1), None, "cannot tell"),
        ((np.nan, np.nan), (np.nan, np.nan), 1.0, "cannot tell"),
    ],
)
def test_verdicts_against_the_best(limits, pairs, matter, verdict):
    assert classify_best(*limits, *pairs, matter) == verdict


SHARED = ["standard_error_db", "degrees_of_freedom", "p_value", "resolution_db", "detectable_db"]


def test_of_two_wires_the_best_of_the_others_is_the_other():
    """All but limits and adjusted p as in the plain comparison; limits of one comparison with the best are one-sided
    t limits that reach at least to zero (Hsu 1984), Student's quantile by scipy, a general library.
    """
    table = record({"A": 0.0, "B": -0.4}, blocks=4)
    plain = judge(table, reference="A", drift="none", matter_db=1.0).gaps.iloc[0]
    rows = judge(table, compare="best", reference="A", drift="none", matter_db=1.0).gaps.set_index("candidate")
    for name, sign in (("A", -1.0), ("B", 1.0)):
        row = rows.loc[name]
        np.testing.assert_allclose(row[SHARED].astype(float), plain[SHARED].astype(float), rtol=1e-5)
        assert row["gap_db"] == pytest.approx(sign * plain["gap_db"])
        half = stats.t.ppf(0.95, plain["degrees_of_freedom"]) * plain["standard_error_db"]
        low, high = min(0.0, row["gap_db"] - half), max(0.0, row["gap_db"] + half)
        assert row["interval_db"] == pytest.approx([low, high], abs=1e-5)


def test_each_row_tells_of_the_pair_with_the_strongest_other():
    """The same pairs judged as all against all; some swaps have no second reading, so that pairs differ."""
    table = record({"A": 0.0, "B": 0.6, "C": -0.5}).drop(index=[1, 5, 9, 23])
    rows = judge(table, compare="best", reference="A", drift="none", matter_db=1.0).gaps.set_index("candidate")
    pairs = judge(table, compare="each-other", reference="A", drift="none", matter_db=1.0).gaps
    pairs = pairs.set_index(["candidate", "against"])
    for name, pair in (("A", ("A", "B")), ("B", ("A", "B")), ("C", ("B", "C"))):
        np.testing.assert_allclose(rows.loc[name, SHARED].astype(float), pairs.loc[pair, SHARED].astype(float),
                                   rtol=1e-6)  # fmt: skip


def three(variance=0.04, df=6.0):
    """A comparison of three invented wires, the third 1 dB weaker; error and degrees of freedom of one pair given."""
    def estimates(pairs):
        level = {"A": 0.0, "B": 0.3, "C": -1.0}
        # readings of equal scatter on each wire: pairs share one, so that covariances are half a variance
        covariance = np.array([[0.04, 0.02, -0.02], [0.02, variance, 0.02], [-0.02, 0.02, 0.04]])
        gaps = np.array([level[one] - level[other] for one, other in pairs])
        return Estimates(tuple(pairs), gaps, covariance, np.array([7.0, df, 5.0]))

    model = SimpleNamespace(candidates=("A", "B", "C"))
    return SimpleNamespace(scope="these specimens", record=SimpleNamespace(model=model), estimates=estimates)


@pytest.mark.parametrize("broken", [{"variance": 0.0}, {"variance": np.inf}, {"variance": np.nan}, {"df": 0.9}])
def test_one_pair_without_an_error_leaves_everything_open(broken):
    found = compare_best(three(**broken), 0.95)
    assert found.best is None and found.could_be_best == ("A", "B", "C")
    rows = found.table(settle(None, None, "best", None, None, 1.0, None)[0], 4)
    assert set(rows["verdict"]) == {"cannot tell"}
    assert rows[["gap_db", "p_value", "resolution_db"]].isna().all(axis=None)
    # A and C against B, the strongest; B against A
    assert rows["degrees_of_freedom"].tolist() == [7.0, 7.0, 5.0]


def test_one_degree_of_freedom_is_enough_to_compare():
    assert compare_best(three(df=1.0), 0.95).best is not None
