"""What is asked of a record of levels and of one of ranges, and what of it is said."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.errors import JudgementError


def record(scatter_db: float, within_db: float) -> pd.DataFrame:
    """Three invented wires in four blocks, two receivers, two readings a swap."""
    random = np.random.default_rng(5)
    rows, swap = [], 0
    for block in range(4):
        for position, name in enumerate(["a", *random.permutation(["b", "c"]), "a"]):
            swap += 1
            hung = -50 + random.normal(0, scatter_db)
            rows += [(swap, block + 1, name, receiver, 7.0 * position, hung + random.normal(0, within_db))
                     for receiver in "xy" for _ in range(2)]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "receiver", "minutes", "level_db"])


@pytest.fixture(scope="module")
def of_levels():
    return judge(record(1.0, 0.1), reference="a", compare="best", matter_db=0.2)


@pytest.fixture(scope="module")
def of_ranges():
    table = record(1.5, 0.1)
    low = np.floor(table["level_db"] / 2) * 2
    ranges = table.drop(columns="level_db").assign(level_low_db=low, level_high_db=low + 2)
    return judge(ranges, reference="a", matter_db=1.0)


def codes(judgement):
    return [notice.code for notice in judgement.warnings]


def test_levels_are_checked_and_receivers_shown_against_the_reference(of_levels):
    assert of_levels.checks and "coarse-meter" not in codes(of_levels)
    shown = of_levels.receivers.gaps[["candidate", "against"]].drop_duplicates()
    assert set(shown.itertuples(index=False, name=None)) == {("b", "a"), ("c", "a")}


def test_receivers_are_shown_every_pair_where_every_pair_was_asked():
    gaps = judge(record(1.0, 0.1), reference="a", compare="each-other", matter_db=0.5).receivers.gaps
    assert len(gaps[["candidate", "against"]].drop_duplicates()) == 3


def test_where_levels_cannot_tell_blocks_are_wanted():
    rows = judge(record(1.0, 0.1), reference="a", matter_db=0.5).family
    undecided = rows[rows["verdict"] == "cannot tell"]
    assert len(undecided) and undecided["more_blocks"].notna().all()


def test_a_swap_scatter_at_zero_is_said_of_levels():
    table = record(0.01, 0.0).query("receiver == 'x'").copy()
    table["level_db"] += np.where(np.arange(len(table)) % 2, 1.0, -1.0)  # two readings of a swap, 2 dB apart
    assert "swap-scatter-at-zero" in codes(judge(table, reference="a", matter_db=1.0))


def test_ranges_are_not_asked_what_they_cannot_tell(of_ranges):
    assert of_ranges.checks == ()
    assert "coarse-meter" in codes(of_ranges) and "swap-scatter-at-zero" not in codes(of_ranges)
    assert codes(of_ranges).count("one-specimen-each") == 1
    undecided = of_ranges.family[of_ranges.family["verdict"] == "cannot tell"]
    assert of_ranges.spread.rehang_sd_db is not None and len(undecided) and undecided["more_blocks"].notna().all()


@pytest.mark.parametrize("where", ["evening.csv", "readings"])
def test_a_record_that_ties_wires_to_blocks_is_refused_by_the_name_it_has(where, tmp_path):
    table = pd.DataFrame({"swap": range(1, 9), "block": [1] * 4 + [2] * 4, "candidate": ["a"] * 4 + ["b"] * 4,
                          "minutes": 7.0 * np.arange(8), "level_db": [-50.0, -50.3, -50.1, -50.2] * 2})
    table.to_csv(tmp_path / where, index=False)
    with pytest.raises(JudgementError, match=where) as caught:
        judge(tmp_path / where if "." in where else table, reference="a", matter_db=1.0, drift="none")
    assert "None" not in str(caught.value)
