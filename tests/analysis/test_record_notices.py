"""What a record's layout, meter and gaps warn of, each side of every limit."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.record_model import record_model
from antexp.analysis.record_notices import (
    best_notices,
    interval_notices,
    reading_notices,
    receiver_notices,
    small_block_notices,
    specimen_notices,
    step_notices,
    time_notices,
    zero_notices,
)
from antexp.analysis.settings import Settings


def specimens(**counts):
    return pd.DataFrame([(name, str(i)) for name, count in counts.items() for i in range(count) for _ in range(2)],
                        columns=["candidate", "specimen"])


def test_how_many_specimens_there_are_is_said():
    fitted = SimpleNamespace()
    single = specimen_notices(specimens(a=1, b=1), None)
    assert [n.code for n in single] == ["one-specimen-each"] and "Every candidate is one specimen" in single[0].text
    few = specimen_notices(specimens(a=1, b=2), None)
    assert [n.code for n in few] == ["few-specimens"] and few[0].text.startswith("3 specimens of 2 candidates")
    some = specimen_notices(specimens(a=1, b=3, c=4), fitted)
    assert [n.code for n in some] == ["one-specimen-each"] and "single specimen of “a”" in some[0].text
    assert specimen_notices(specimens(a=2, b=3), fitted) == []


def table(candidates, blocks, readings=1, receivers=("1",), minutes=7.0):
    """One swap a candidate, in turn."""
    rows = [(swap + 1, block, name, "1", "1", receiver, minutes * swap, -50.0 - swap % 3)
            for swap, (name, block) in enumerate(zip(candidates, blocks, strict=True))
            for receiver in receivers for _ in range(readings)]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "specimen", "place", "receiver", "minutes",
                                       "level_db"])


def test_a_single_reading_a_swap_is_said_for_each_receiver():
    assert [n.code for n in reading_notices(table("abab", "1111", receivers=("1", "2")))] == ["one-reading-per-swap"]
    assert reading_notices(table("abab", "1111", readings=2)) == []


def test_a_swap_scatter_at_zero_is_said():
    at_zero = SimpleNamespace(fit=SimpleNamespace(at_zero=("swap",)))
    assert [n.code for n in zero_notices(at_zero)] == ["swap-scatter-at-zero"]
    assert zero_notices(SimpleNamespace(fit=SimpleNamespace(at_zero=("specimen",)))) == []


@pytest.mark.parametrize(("order", "tied"), [("aaabbb", True), ("abbaab", False)])
def test_a_gap_tied_to_time_is_named_with_its_share(order, tied):
    """The share is the squared correlation of wire and clock within the block, as of two regressors in any textbook."""
    model = record_model(table(order, "1" * 6), reference="a", drift="steady")
    found = time_notices(model, [("b", "a")])
    wire = np.array([name == "b" for name in order], dtype=float)
    share = np.corrcoef(wire, np.arange(6.0))[0, 1] ** 2
    assert bool(share > 0.5) is tied
    assert [n.code for n in found] == (["tied-to-time"] if tied else [])
    assert not tied or f"“b” against “a” ({100 * share:.0f} %)" in found[0].text


def test_a_block_too_small_for_its_drift_is_named():
    model = record_model(table("abababab", "11111122"), reference="a", drift="steady")
    assert [n.code for n in small_block_notices(model, "steady")] == ["small-block"]
    assert "in block 2:" in small_block_notices(model, "steady")[0].text
    assert small_block_notices(record_model(table("abab", "1111"), reference="a", drift="steady"), "steady") == []


def levels(*swaps):
    rows = [(i, level) for i, inside in enumerate(swaps) for level in inside]
    return pd.DataFrame(rows, columns=["swap", "level_db"])


@pytest.mark.parametrize(("rows", "step_db", "said"), [
    # within a swap, against half a step: two readings d apart have a standard deviation of d/√2
    (levels([0.0, 0.8], [0.0, 0.8]), 1.0, False),  # 0.57
    (levels([0.0, 0.6], [0.0, 0.6]), 1.0, True),  # 0.42
    (levels([0.0, 0.6], [0.0, 9.0]), 1.0, False),  # pooled as variances: √((0.18 + 40.5)/2) = 4.5
    (levels([0.0, 0.6], [9.0, 9.6]), 1.0, True),  # swaps far apart do not help the rounding within
    # one reading a swap, against a whole step: three means 0, 1, 2 have a standard deviation of 1
    (levels([0.0], [1.1], [2.2]), 1.0, False),
    (levels([0.0], [0.9], [1.8]), 1.0, True),
    (levels([0.0], [1.0], [2.0]), 1.0, False),  # as large as the step
    (levels([0.0, 0.6], [0.0, 0.6]), None, False),
    (levels([0.0, 0.6], [0.0, 0.6]), 0.0, False),
])
def test_a_step_is_coarse_beside_half_of_it_within_swaps_or_all_of_it_between(rows, step_db, said):
    found = step_notices(rows, step_db)
    assert [n.code for n in found] == (["coarse-meter"] if said else [])
    assert not said or f"steps of {step_db:g} dB" in found[0].text


def test_receivers_are_counted_and_what_became_of_them_is_said():
    both = table("abab", "1111", receivers=("x", "y"))
    whole = record_model(both, reference="a", drift="none")
    said = receiver_notices(both, whole)
    assert [n.code for n in said] == ["several-receivers"]
    assert said[0].text.startswith("2 receivers") and "averaged swap by swap" in said[0].text
    part = both[(both["receiver"] == "x") | (both["swap"] <= 3)]
    own = receiver_notices(part, record_model(part, reference="a", drift="none"))
    assert "each given its own level and drift" in own[0].text
    alone = table("abab", "1111")
    assert receiver_notices(alone, record_model(alone, reference="a", drift="none")) == []


def test_a_gap_that_counts_and_has_no_limits_is_named():
    gaps = pd.DataFrame({"candidate": ["b", "c", "d"], "against": "a", "counts": [True, True, False],
                         "resolution_db": [0.5, np.nan, np.nan]})
    found = interval_notices(gaps)
    assert [n.code for n in found] == ["no-interval"] and "for: “c” against “a”." in found[0].text
    assert interval_notices(gaps[gaps["candidate"] != "c"]) == []


def test_the_second_family_is_said_where_each_is_held_against_the_best():
    found = best_notices(Settings(None, "best", 0.9, 0.8, None, "steady"))
    assert [n.code for n in found] == ["second-family"] and "holds at 90 % by itself" in found[0].text
    assert best_notices(Settings(None, "reference", 0.9, 0.8, None, "steady")) == []
