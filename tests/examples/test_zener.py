"""The Zener voltage standard of JCGM 100:2008 Annex H.5 as a reference-only record: published scatters, found again."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from antexp.analysis.pilot import judge_pilot
from antexp.plan.reader import read_plan

ROOT = Path(__file__).parents[2]
ZENER = ROOT / "examples" / "zener"
CASE = json.loads((ROOT / "tests" / "reference" / "A02_gum_h5_zener.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def pilot():
    return judge_pilot(ZENER / "readings.csv", read_plan(ZENER / "plan.toml"))


def test_the_readings_are_those_of_the_reference_case():
    readings = pd.read_csv(ZENER / "readings.csv")
    expected = [[value, int(day[1:]), reading] for value, day, reading in CASE["data"]["rows"]]
    assert readings[["level_db", "swap", "reading"]].to_numpy().tolist() == expected


def test_the_scatters_are_those_the_guide_prints(pilot):
    """JCGM 100:2008 H.5.2: 43 µV between days, 85 µV within, 9 and 40 degrees of freedom; the Guide prints whole µV."""
    published = CASE["expected"]["published"]
    assert round(pilot.rehang.sd_db) == published["s_between_uV"] == 43
    assert round(pilot.reading.sd_db) == published["s_within_uV"] == 85
    assert (pilot.rehang.degrees_of_freedom, pilot.reading.degrees_of_freedom) == (published["nu_a"], published["nu_b"])


def test_the_scatters_unrounded_are_those_of_the_high_precision_values(pilot):
    """Case A02, computed values beside the published ones; rounding of sums is all that differs."""
    sd = CASE["expected_high_precision"]["sd"]
    assert pilot.rehang.sd_db == pytest.approx(sd["day"], rel=1e-9)
    assert pilot.reading.sd_db == pytest.approx(sd["residual"], rel=1e-9)


def test_ten_days_cannot_exclude_that_all_are_alike(pilot):
    """H.5.3.2: F = 2.26 lies between the 95 % point 2.12 and the 97.5 % point 2.45, so two-sided limits reach zero."""
    published = CASE["expected"]["published"]
    assert published["F95"] < CASE["expected"]["anova"]["F"] < published["F975"]
    assert pilot.rehang.low_db == 0.0 < pilot.rehang.sd_db < pilot.rehang.high_db
