"""Which candidates can still be the best."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
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
