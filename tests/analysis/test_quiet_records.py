"""Made-up or copied readings without any scatter are judged, or said to say nothing; they never end in a traceback."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.errors import JudgementError


def day(own, swap_sd=0.0, readings=1, receivers=("near",), missed=None):
    """Invented: four wires with a number for each specimen, four blocks 1 dB apart, receivers 3 dB apart."""
    random = np.random.default_rng(3)
    units = [(wire, number) for wire in "ABCD" for number in range(1, len(own["A"]) + 1)]
    rows, swap = [], 0
    for block in range(4):
        for place in random.permutation(len(units)):
            wire, number = units[place]
            swap += 1
            level = -70.0 + block + own[wire][number - 1] + round(random.normal(0, swap_sd), 1)
            for minute in range(readings):
                for less, receiver in enumerate(receivers):
                    if (swap, receiver) != missed:
                        rows.append((swap, block + 1, wire, number, receiver, 4.0 * (swap % 8) + minute,
                                     level - 3.0 * less))
    columns = ["swap", "block", "candidate", "specimen", "receiver", "minutes", "level_db"]
    return pd.DataFrame(rows, columns=columns)


OWN = {"A": (0.3, -0.2), "B": (1.1, 0.4), "C": (-0.6, -0.1), "D": (0.2, 0.9)}


@pytest.mark.parametrize("readings", [1, 2])
def test_a_copied_receiver_leaves_the_gaps_as_they_are(readings):
    """The second receiver's levels are the first's less 3 dB, one swap of it missed."""
    alone = judge(day(OWN, 0.5, readings), reference="A").gaps
    both = judge(day(OWN, 0.5, readings, ("near", "far"), (3, "far")), reference="A").gaps
    assert both["verdict"].tolist() == alone["verdict"].tolist()
    for column in ("gap_db", "standard_error_db", "degrees_of_freedom"):
        # what is known exactly counts a millionth of a swap
        np.testing.assert_allclose(both[column].astype(float), alone[column].astype(float), rtol=1e-4, atol=1e-6)


@pytest.mark.parametrize("receivers", [("near",), ("near", "far")])
@pytest.mark.parametrize("readings", [1, 2])
def test_numbers_made_up_without_scatter_are_judged_by_the_specimens(receivers, readings):
    """Two specimens each of four wires: 4 degrees of freedom, s² from the four differences."""
    gaps = judge(day(OWN, 0.0, readings, receivers), reference="A").gaps
    wide = gaps[gaps["scope"] == "any specimen"].set_index("candidate")
    square = sum((one - other) ** 2 / 2 for one, other in OWN.values()) / 4
    for wire in "BCD":
        assert wide.loc[wire, "gap_db"] == pytest.approx(np.mean(OWN[wire]) - np.mean(OWN["A"]), abs=1e-9)
        assert wide.loc[wire, "standard_error_db"] == pytest.approx(np.sqrt(square), rel=1e-5)
        assert wide.loc[wire, "degrees_of_freedom"] == pytest.approx(4.0, rel=1e-5)


def test_a_day_whose_walk_is_its_swaps_is_refused_in_words():
    """Four swaps in one block, readings that never differ: a walk and the swaps' own scatter divide them alike."""
    table = pd.DataFrame({"swap": [1, 1, 2, 2, 3, 3, 4, 4], "block": 1, "minutes": [0, 1, 5, 6, 10, 11, 15, 16],
                          "candidate": list("AAAABBBB"),
                          "level_db": [-60.1, -60.1, -60.3, -60.3, -60.2, -60.2, -60.6, -60.6]})
    with pytest.raises(JudgementError, match=r"does not tell its sources of scatter apart.*--drift steady"):
        judge(table, reference="A", drift="wandering")
