"""The noise under the signal, against the correction that sound-level handbooks print for the same sum of powers."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.noise_floor import without_noise
from antexp.field.readings import read_readings

# ISO 3744:2010, 8.3.3: K1 = −10 lg(1 − 10^(−ΔL/10)); its printed values 1.3 dB at 6 and 0.5 dB at 10 dB are from memory
BACKGROUND = {3.1: 2.922, 6.0: 1.256, 10.0: 0.458, 20.0: 0.0436, 26.0: 0.0109}


def record(levels, off, receivers="a", blocks=(1, 1), off_blocks=(1,), step_db=None):
    """One swap a level; `off` are readings with the source off."""
    rows = [(i + 1, blocks[i % len(blocks)], ["ref", "B"][i % 2], receivers[i % len(receivers)], 7.0 * i, level, "")
            for i, level in enumerate(levels)]
    rows += [(100 + i, off_blocks[i % len(off_blocks)], "ref", receivers[i % len(receivers)], 90.0 + i, level, "off")
             for i, level in enumerate(off)]
    names = ["swap", "block", "candidate", "receiver", "minutes", "level_db", "role"]
    return read_readings(pd.DataFrame(rows, columns=names), step_db=step_db)


@pytest.mark.parametrize(("above_db", "correction_db"), BACKGROUND.items())
def test_what_is_taken_off_is_the_handbooks_correction(above_db, correction_db):
    found, notices = without_noise(record([-60.0, -50.0], [-60.0 - above_db]))
    assert [notice.code for notice in notices] == ["noise-taken-off"]
    assert found.table["level_db"][0] == pytest.approx(-60.0 - correction_db, abs=0.0006)
    assert f"{correction_db:.2f} dB at most" in notices[0].text
    assert f"down to {above_db:.0f} dB below" in notices[0].text


@pytest.mark.parametrize(("above_db", "codes"), [(2.9, ["signal-in-noise"]), (26.5, []), (110.0, [])])
def test_noise_too_near_or_too_far_is_left(above_db, codes):
    day = record([-60.0, -50.0], [-60.0 - above_db])
    found, notices = without_noise(day)
    assert found is day and [notice.code for notice in notices] == codes
    assert not notices or f"within {above_db:.1f} dB" in notices[0].text


def test_noise_is_that_of_the_block_else_of_the_receiver_and_its_mean_is_of_powers():
    """Two noise readings of −66 and −76 dB in block 1: their mean power is 10·lg(0.55) over −66 dB, by hand."""
    day = record([-60.0, -60.0, -60.0], [-66.0, -76.0, -80.0], blocks=(1, 2, 3), off_blocks=(1, 1, 2))
    found, _ = without_noise(day)
    assert found.table["level_db"][0] == pytest.approx(-60.0 + 10 * np.log10(1 - 10**-0.6 * 0.55))
    assert found.table["level_db"][1] == pytest.approx(-60.0 + 10 * np.log10(1 - 10**-2.0))
    everywhere = (10**-0.6 + 10**-1.6 + 10**-2.0) / 3  # block 3 has none of its own
    assert found.table["level_db"][2] == pytest.approx(-60.0 + 10 * np.log10(1 - everywhere))


def test_a_receiver_without_noise_readings_keeps_its_levels():
    day = record([-60.0, -60.0, -60.0, -60.0], [-66.0], receivers="ab")
    found, notices = without_noise(day)
    heard = found.table.set_index("swap")["level_db"]
    assert heard[2] == -60.0 and heard[4] == -60.0 and heard[1] < -61.0
    assert "6 dB below" in notices[0].text


def test_without_noise_readings_nothing_is_done():
    day = record([-60.0, -60.0], [])
    assert without_noise(day) == (day, ())


def test_the_ends_of_a_step_are_cleared_too_and_a_low_end_in_the_noise_falls_by_thirty_decibels():
    day = record([-60.0, -52.0], [-63.5], step_db=8.0)
    table = without_noise(day)[0].table
    assert table["level_high_db"][0] == pytest.approx(-56.0 + 10 * np.log10(1 - 10**-0.75))
    assert table["level_low_db"][0] == pytest.approx(-64.0 - 30.0)
    assert table["level_low_db"][1] == pytest.approx(-56.0 + 10 * np.log10(1 - 10**-0.75))
