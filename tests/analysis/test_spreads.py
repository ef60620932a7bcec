"""The scatters and the drift read off a record, against sums of squares and curves by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.spread_result import Spread


def record(readings=(3, 2), receivers=("a", "b"), curve=(0.0, 0.0), scatter_db=0.3, blocks=3) -> pd.DataFrame:
    """Two invented wires, six swaps a block, each receiver's number of readings a swap; a slope and a curve of time."""
    random = np.random.default_rng(8)
    rows, swap = [], 0
    for block in range(blocks):
        for position, name in enumerate(["ref", "B", "B", "ref", "ref", "B"]):
            swap += 1
            minutes = 10.0 * position
            hours = minutes / 60
            path = -50 + curve[0] * hours + curve[1] * hours**2 + random.normal(0, scatter_db)
            for receiver, number in zip(receivers, readings, strict=True):
                rows += [(swap, block + 1, name, receiver, minutes, path + random.normal(0, 0.5 * scatter_db))
                         for _ in range(number)]  # fmt: skip
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "receiver", "minutes", "level_db"])


def test_where_receivers_are_averaged_readings_scatter_within_swap_and_receiver():
    """Pooled by hand: 18 swaps with 2 + 1 to spare each; the rest is scatter of swap means about blocks and gap."""
    table = record()
    spread = judge(table, reference="ref", matter_db=1.0, drift="none").spread
    variances = table.groupby(["swap", "receiver"])["level_db"].agg(["var", "size"])
    within = (variances["var"] * (variances["size"] - 1)).sum() / (18 * 3)
    assert spread.reading_sd_db == pytest.approx(within**0.5)
    means = table.groupby(["swap", "block", "candidate", "receiver"])["level_db"].mean().groupby(
        ["swap", "block", "candidate"]).mean().reset_index()
    X = np.column_stack([np.eye(3)[means["block"] - 1], means["candidate"] == "B"])
    rest = np.linalg.lstsq(X, means["level_db"], rcond=None)[1][0] / (18 - 4)
    assert spread.rehang_sd_db == pytest.approx(rest**0.5)


def test_one_reading_a_swap_and_receiver_shows_no_scatter_of_readings():
    spread = judge(record(readings=(1, 1)), reference="ref", matter_db=1.0, drift="none").spread
    assert spread.reading_sd_db is None and spread.rehang_sd_db > 0


def test_a_single_reading_more_tells_one_degree_of_freedom():
    """Two readings 0.2 dB apart: 0.2/√2."""
    table = record(readings=(1, 1))
    again = table.iloc[[4]].assign(level_db=table["level_db"][4] + 0.2)
    spread = judge(pd.concat([table, again]), reference="ref", matter_db=1.0, drift="none").spread
    assert spread.reading_sd_db == pytest.approx(0.2 / 2**0.5)


def test_a_curved_drift_is_told_by_slope_and_curvature():
    """Levels on a parabola of time, to a thousandth of a decibel: its curvature, and its slope mid-block (25 min)."""
    table = record(readings=(1,), receivers=("a",), curve=(0.6, -0.9), scatter_db=1e-4, blocks=2)
    drift = judge(table, reference="ref", matter_db=1.0, drift="curved").drift
    assert drift.form == "curved" and list(drift.db_per_hour) == list(drift.db_per_hour2) == ["1", "2"]
    np.testing.assert_allclose(list(drift.db_per_hour2.values()), -0.9, atol=0.01)
    np.testing.assert_allclose(list(drift.db_per_hour.values()), 0.6 - 2 * 0.9 * 25 / 60, atol=0.01)


@pytest.mark.parametrize(("reading", "by_hand"), [(0.4, 1.386), (None, 0.8315)])
def test_repeatability_limit(reading, by_hand):
    """ISO 5725-6: 1.96 · √2 = 2.77 times the scatter of a single hanging read once, √(0.3² + 0.4²) = 0.5."""
    assert Spread(0.3, reading).repeatability_limit_db == pytest.approx(by_hand, abs=1e-3)
    assert Spread(None, reading).repeatability_limit_db is None
