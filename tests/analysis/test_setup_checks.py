"""The checks of a set-up by hand: the fall between two steps, its limits, and what follows."""

from __future__ import annotations

import pandas as pd
import pytest

from antexp.analysis.setup_checks import MEND, NOT_DONE, PASSED, UNCLEAR, setup_checks
from antexp.design.setup_test import (
    ANTENNA,
    ATTENUATOR_DB,
    ATTENUATOR_IN,
    ATTENUATOR_OUT,
    HAND_DB,
    HAND_OFF,
    HAND_ON,
    LEAKAGE_DB,
    LOAD,
)

T_10 = 2.228  # any table of Student's t, 10 degrees of freedom, 5 per cent two-sided


def checks(steps: dict[str, list[float]], sd_db: float = 0.2, step_db: float | None = None, marked=None):
    """Judge levels by step; `marked` is what was written down beside the attenuator's readings."""
    rows = [(step, level) for step, levels in steps.items() for level in levels]
    table = pd.DataFrame(rows, columns=["step", "level_db"])
    if marked is not None:
        values = iter(marked)
        table["attenuator_db"] = [str(next(values)) if step == ATTENUATOR_IN else "" for step, _ in rows]
    return {check.name: check for check in setup_checks(table, sd_db, 10.0, step_db)}


def around(centre: float, number: int) -> list[float]:
    return [centre] * number


def test_a_fall_and_its_limits():
    """Four readings against one: sd · t · √(1/4 + 1) to each side."""
    found = checks({LOAD: around(-83.0, 4), ANTENNA: [-50.0]})["leakage"]
    half = 0.2 * T_10 * (1 / 4 + 1) ** 0.5
    assert found.measured_db == pytest.approx(33.0)
    assert found.limits_db == pytest.approx((33.0 - half, 33.0 + half), abs=1e-3)
    assert found.status == PASSED and found.do == ""


@pytest.mark.parametrize(
    ("fall", "status"), [(LEAKAGE_DB, PASSED), (LEAKAGE_DB - 0.3, UNCLEAR), (LEAKAGE_DB - 1.0, MEND)]
)
def test_too_small_a_fall_into_the_load_is_leakage_once_it_is_clear(fall, status):
    found = checks({LOAD: [-50.0 - fall], ANTENNA: [-50.0]})["leakage"]  # limits 0.63 dB to each side
    assert found.status == status and bool(found.do) == (status != PASSED)


@pytest.mark.parametrize("missing", [LOAD, ANTENNA])
def test_one_of_two_steps_alone_is_no_check(missing):
    steps = {LOAD: [-83.0], ANTENNA: [-50.0]}
    del steps[missing]
    found = checks(steps)["leakage"]
    assert (found.status, found.measured_db, found.limits_db) == (NOT_DONE, None, None)


METER = {ATTENUATOR_IN: [-60.0, -60.0], ATTENUATOR_OUT: [-50.0, -50.0]}  # limits 0.45 dB to each side


@pytest.mark.parametrize(
    ("marked", "step_db", "status"),
    [
        (10.0 + ATTENUATOR_DB - 0.01, None, PASSED),
        (10.0 + ATTENUATOR_DB + 0.6, None, MEND),
        (10.0 - ATTENUATOR_DB - 0.6, None, MEND),
        (12.9, 6.0, PASSED),  # a meter of 6 dB steps may be off by half of one
        (13.2, 6.0, MEND),
        (10.0 + ATTENUATOR_DB + 0.05, 2 * ATTENUATOR_DB, MEND),  # half a step is not more than is allowed anyway
    ],
)
def test_the_meter_falls_by_what_the_attenuator_says(marked, step_db, status):
    found = checks(METER, sd_db=0.05, step_db=step_db, marked=[marked, marked])["meter"]
    assert found.status == status
    assert found.measured_db == pytest.approx(10.0)


def test_the_first_value_that_was_written_down_counts():
    assert checks(METER, marked=["", 10.0])["meter"].status == PASSED
    assert checks(METER, marked=[10.0, 99.0])["meter"].status == PASSED


@pytest.mark.parametrize("marked", [None, ["", ""]])
def test_without_the_attenuators_value_the_fall_is_shown_and_not_judged(marked):
    found = checks(METER, marked=marked)["meter"]
    assert (found.status, found.measured_db) == (NOT_DONE, pytest.approx(10.0))
    assert "attenuator_db" in found.do


@pytest.mark.parametrize(("change", "status"), [(HAND_DB / 2, PASSED), (-HAND_DB / 2, PASSED), (3.0, MEND),
                                                (-3.0, MEND)])
def test_a_hand_that_raises_the_level_is_a_change_upwards(change, status):
    found = checks({HAND_ON: around(-50.0 + change, 4), HAND_OFF: around(-50.0, 4)}, sd_db=0.05)["hand"]
    half = 0.05 * T_10 * (2 / 4) ** 0.5
    assert found.status == status
    assert found.measured_db == pytest.approx(change)
    assert found.limits_db == pytest.approx((change - half, change + half), abs=1e-3)


def test_a_change_that_chance_may_have_made_is_not_clear():
    found = checks({HAND_ON: [-50.0 - HAND_DB - 0.2], HAND_OFF: [-50.0]}, sd_db=1.0)["hand"]
    assert found.status == UNCLEAR and "few times more" in found.do
