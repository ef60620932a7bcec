"""How long wires took to change, from a record small enough to do by hand."""

from __future__ import annotations

import pandas as pd
import pytest

from antexp.analysis.hanging_times import SwapMinutes, swap_minutes
from antexp.field.readings import read_readings


def test_a_swap_lasts_from_first_reading_to_first_reading():
    """Block 1: 0, 6, 15 (swap 4 after swap 2 is missing 3: not timed), 19; block 2 starts anew."""
    rows = [(1, 1, "a", 0.0), (1, 1, "a", 1.0), (2, 1, "b", 6.0), (2, 1, "b", 6.5), (4, 1, "a", 15.0),
            (5, 1, "b", 19.0), (6, 2, "a", 3.0), (7, 2, "b", 12.0), (8, 2, "a", 12.0)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes"]).assign(
        level_db=[-50.0 - i for i in range(len(rows))])
    found = swap_minutes(read_readings(table))
    # b: 6, 4, 9; of a the first swaps have none before them, swap 4 follows a gap, swap 8 took no time at all
    assert found == SwapMinutes(6.0, 3, {"b": (6.0, 3)})


@pytest.mark.parametrize("minutes", [[5.0, 5.0, 5.0, 5.0], None])
def test_no_time_that_passes_is_no_time(minutes):
    table = pd.DataFrame({"swap": [1, 2, 3, 4], "candidate": ["a", "b"] * 2, "level_db": [-50.0, -51.0, -50.5, -51.5]})
    if minutes is not None:
        table["minutes"] = minutes
    assert swap_minutes(read_readings(table)) == SwapMinutes(None, 0, {})


def test_the_least_time_counts():
    table = pd.DataFrame({"swap": [1, 2, 3], "candidate": ["a", "b", "a"], "minutes": [0.0, 0.5, 1.0],
                          "level_db": [-50.0, -51.0, -50.5]})
    assert swap_minutes(read_readings(table)) == SwapMinutes(0.5, 2, {"b": (0.5, 1), "a": (0.5, 1)})
