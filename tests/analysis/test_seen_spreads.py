"""What a day says about its scatters, and what the next plan takes over, where not everything could be seen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.next_plan import next_plan, seen_spreads
from antexp.analysis.spread_result import Spread
from antexp.plan.reader import read_plan

PLAN = """candidates = ["bare", "clad", "steel"]
frequency_mhz = 14.2
matter_db = 1
[field]
blocks = 4
minutes_per_swap = 5
"""


def day(readings=2, blocks=4, **asked):
    """Judge an invented day, kept as a table too."""
    random = np.random.default_rng(8)
    rows, swap = [], 0
    for block in range(blocks):
        for i, name in enumerate(["bare", *random.permutation(["clad", "steel"]), "bare"]):
            swap += 1
            hung = -50 + random.normal(0, 0.3)
            rows += [(swap, block, name, 5.0 * i + r, hung + random.normal(0, 0.2)) for r in range(readings)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    return judge(table, **{"reference": "bare", "matter_db": 1.0, **asked}), table


@pytest.fixture(scope="module")
def judged():
    return day()[0]


def test_one_reading_a_swap_shows_one_scatter_only():
    made, _ = day(readings=1)
    seen = seen_spreads(made)
    assert set(seen) == {"field.rehang_sd_db"}
    assert seen["field.rehang_sd_db"].sd_db == pytest.approx(made.spread.rehang_sd_db)
    assert seen_spreads(replace(made, spread=Spread(0.0, None))) == {}


def test_without_a_whole_degree_of_freedom_re_hanging_is_not_judged(judged):
    gaps = judged.gaps.assign(degrees_of_freedom=0.4)
    assert set(seen_spreads(replace(judged, gaps=gaps))) == {"meter.reading_sd_db"}
    assert set(seen_spreads(replace(judged, spread=Spread(None, 0.2)))) == {"meter.reading_sd_db"}
    assert seen_spreads(replace(judged, spread=Spread(None, None))) == {}
    assert seen_spreads(replace(judged, spread=Spread(0.0, 0.0))) == {}


def carried(folder, judgement, plan=PLAN):
    (folder / "plan.toml").write_text(plan, encoding="utf-8")
    provenance = {**judgement.provenance, "plan_sha256": read_plan(folder / "plan.toml").sha256}
    (folder / "results.json").write_text(replace(judgement, provenance=provenance).to_json(), encoding="utf-8")
    found = next_plan(folder)
    (folder / "next.toml").write_text(found.text, encoding="utf-8")
    return read_plan(folder / "next.toml"), found


def test_a_single_block_tells_no_drift_to_plan_with(tmp_path, judged):
    one = replace(judged, drift=replace(judged.drift, db_per_hour={"1": 4.2}))
    after, found = carried(tmp_path, one)
    assert "drift_db_per_hour = 4.2" not in found.text and "steepest" not in found.text
    assert after.field.drift_db_per_hour == read_plan(tmp_path / "plan.toml").field.drift_db_per_hour


def test_scatter_between_specimens_comes_along(tmp_path, judged):
    after, found = carried(tmp_path, replace(judged, spread=replace(judged.spread, specimen_sd_db=0.204)))
    assert after.field.specimen_sd_db == pytest.approx(0.21)
    assert "seen between specimens of one candidate" in found.text


def test_pairs_are_no_remarks_of_a_single_wire(tmp_path):
    made, _ = day(compare="each-other")
    _, found = carried(tmp_path, made)
    assert "dB against" not in found.text


def test_dates_of_last_time_are_pointed_out(tmp_path, judged):
    plan = PLAN.replace("blocks = 4\n", 'sittings = ["2025-05-03 09:00-12:00"]\n')
    _, found = carried(tmp_path, judged, plan)
    assert "the dates of last time: put the new ones in" in found.text


@pytest.mark.parametrize("minutes_each", [5.0, 10.0])
def test_minutes_are_measured_where_the_readings_are_still_there(tmp_path, minutes_each):
    _, table = day()
    table = table.assign(minutes=table["minutes"] * minutes_each / 5.0)
    table.to_csv(tmp_path / "readings.csv", index=False)
    after, found = carried(tmp_path, judge(tmp_path / "readings.csv", reference="bare", matter_db=1.0))
    assert after.field.minutes_per_swap == pytest.approx(minutes_each)
    assert "planned were 5" in found.text
    (tmp_path / "readings.csv").unlink()
    after, found = carried(tmp_path, judge(table, reference="bare", matter_db=1.0))
    assert after.field.minutes_per_swap == 5 and "planned were 5" not in found.text
