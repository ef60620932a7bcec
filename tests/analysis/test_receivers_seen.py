"""What each receiver sees by itself, and what is said where receivers are not alike."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.receivers import receivers_notices, receivers_seen
from antexp.analysis.record_model import record_model
from antexp.analysis.result import Receivers
from antexp.analysis.settings import Settings
from tests.analysis.invented_receivers import record


def seen(p_value: float, **scatter: float | None) -> Receivers:
    return Receivers(p_value, pd.DataFrame(), dict(scatter))


@pytest.mark.parametrize(("p_value", "scatter", "said"), [
    (0.049, {"a": 0.1, "b": 0.1}, ["receivers-disagree"]), (0.051, {"a": 0.1, "b": 0.1}, []),
    (0.5, {"a": 0.1, "b": 0.21}, ["receivers-scatter-unlike"]), (0.5, {"a": 0.1, "b": 0.19}, []),
    (0.5, {"a": 0.1, "b": None}, []), (0.5, {"a": 0.0, "b": 0.3}, []), (0.5, {"b": 0.3}, []),
    (0.5, {"a": 0.1, "b": 0.3, "c": None}, ["receivers-scatter-unlike"]),
])
def test_receivers_are_spoken_of_below_five_per_cent_and_beyond_a_factor_of_two(p_value, scatter, said):
    model = record_model(record().assign(specimen="1", place="1"), reference="ref", drift="none")
    found = receivers_notices(seen(p_value, **scatter), model)
    assert [notice.code for notice in found] == said
    assert "receivers-scatter-unlike" not in said or f"receiver b scatter {scatter['b']:.2f} dB" in found[0].text


def test_what_was_done_about_an_unsteady_receiver_is_what_was_done():
    table = record(noisy=1.0).assign(specimen="1", place="1", block="1")
    part = table[(table["receiver"] == "b") | (table["swap"] <= 12)]
    short = table[(table["receiver"] == "b") | (table["swap"] <= 9)]
    said = [receivers_notices(seen(0.5, a=0.1, b=1.0), record_model(rows, reference="ref", drift="none"))[0].text
            for rows in (table, part, short)]
    assert "the mean over receivers, in which each counts alike" in said[0]
    assert "by how steady its receiver is" in said[1]
    assert "One reading scatter was taken for all" in said[2]
    assert receivers_notices(None, record_model(table, reference="ref", drift="none")) == []


def test_each_receivers_gaps_are_the_two_sample_comparison_of_its_swaps():
    """One reading a swap and receiver: SciPy's t for two samples at each receiver, spreads pooled over both receivers.

    The pair ("C", "B") has neither wire as the first, so that both sides of a gap carry the receiver's own part.
    """
    from scipy import stats

    random = np.random.default_rng(11)
    rows = []
    for swap in range(24):
        name = ["ref", "B", "C"][swap % 3]
        hang = random.normal(-50, 0.3)
        rows += [(swap + 1, "1", name, "1", "1", receiver, 7.0 * swap, hang + (receiver == "b") * (name == "B") + own)
                 for receiver, own in zip("ab", random.normal(0, 0.3, 2), strict=True)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "specimen", "place", "receiver", "minutes",
                                        "level_db"])
    settings = Settings("ref", "each-other", 0.95, 0.8, None, "none")
    pairs = [("B", "ref"), ("C", "ref"), ("C", "B")]
    found = receivers_seen(table, "ref", pairs, settings).gaps.set_index(["receiver", "candidate", "against"])
    means = table.groupby(["receiver", "candidate"])["level_db"].mean()
    pooled = table.groupby(["receiver", "candidate"])["level_db"].var().mean()  # both receivers scatter alike in truth
    for receiver in "ab":
        for one, other in pairs:
            row = found.loc[(receiver, one, other)]
            assert row["gap_db"] == pytest.approx(means[receiver, one] - means[receiver, other], abs=1e-9)
            assert row["standard_error_db"] == pytest.approx(np.sqrt(2 * pooled / 8), rel=1e-6)
            # Tukey's range for three means; between 21 and 42 degrees of freedom for the pooled scatter
            half = (row["interval_db"][1] - row["interval_db"][0]) / 2 / row["standard_error_db"]
            ends = [stats.studentized_range.ppf(0.95, 3, df) / np.sqrt(2) for df in (42, 21)]
            assert ends[0] - 2e-3 <= half <= ends[1] + 2e-3
            assert np.mean(row["interval_db"]) == pytest.approx(row["gap_db"], abs=1e-9)


def test_a_wandering_path_is_common_to_receivers_which_are_compared_with_a_line():
    table = record(pattern=1.0).assign(specimen="1", place="1")
    settings = [Settings("ref", "reference", 0.95, 0.8, None, drift) for drift in ("steady", "wandering", "none")]
    steady, walk, none = (receivers_seen(table, "ref", [("B", "ref")], each) for each in settings)
    assert walk.p_value == steady.p_value and none.p_value != steady.p_value
    pd.testing.assert_frame_equal(walk.gaps, steady.gaps)


def test_three_receivers_each_have_gaps_of_their_own():
    """At receiver c candidate C is stronger by 2 dB: what differs between receivers is found where it was put."""
    table = record(receivers=("a", "b", "c"), pattern=1.5).assign(specimen="1", place="1")
    table.loc[(table["receiver"] == "c") & (table["candidate"] == "C"), "level_db"] += 2.0
    found = receivers_seen(table, "ref", [("B", "ref"), ("C", "ref")],
                           Settings("ref", "reference", 0.95, 0.8, None, "none"))
    gaps = found.gaps.set_index(["receiver", "candidate"])["gap_db"]
    means = table.groupby(["receiver", "candidate"])["level_db"].mean()  # balanced in every block
    for receiver in "abc":
        for name in "BC":
            assert gaps[receiver, name] == pytest.approx(means[receiver, name] - means[receiver, "ref"], abs=1e-6)
    assert found.p_value < 1e-6
