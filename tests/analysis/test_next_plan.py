"""The next plan: wires, trims, spreads and lessons of a judged day, and a plan that antexp reads."""

import numpy as np
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.next_plan import next_plan, seen_spreads
from antexp.design.order import make_order
from antexp.design.order_file import write_order
from antexp.errors import JudgementError
from antexp.plan.reader import read_plan
from antexp.repeats.simulate import simulate

PLAN = """candidates = [
  {name = "bare", price_per_m = 0.5, lives_where = "C3"}, "clad", {name = "steel", diameter_mm = 2}]
title = "Orchard day (invented)"
frequency_mhz = 14.2
matter_db = 1
meter = "spectrum analyser"
[field]
blocks = 6
minutes_per_swap = 5
rehang_sd_db = 0.3
seed = 11
"""
BENCH = """candidate,specimen,leg_m,resonance_mhz
bare,1,5.2,13.7
bare,1,5.05,14.1
steel,1,5.0,14.25
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("day")
    (place / "plan.toml").write_text(PLAN, encoding="utf-8")
    plan = read_plan(place / "plan.toml")
    order = make_order(plan)
    write_order(order, place / "order.csv")
    readings = simulate(plan, order, {"steel": -2.0}, seed=5)
    readings["minutes"] *= 1.6  # the crew took 8 minutes a swap, not 5
    readings.to_csv(place / "readings.csv", index=False)
    (place / "bench.csv").write_text(BENCH, encoding="utf-8")
    judgement = judge(place / "readings.csv", plan, place / "order.csv")
    (place / "results.json").write_text(judgement.to_json(), encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def found(folder):
    return next_plan(folder)


@pytest.fixture
def plan(found, tmp_path):
    (tmp_path / "next.toml").write_text(found.text, encoding="utf-8")
    return read_plan(tmp_path / "next.toml")


def test_the_wires_come_along_with_all_their_keys(plan, folder):
    assert plan.candidates == read_plan(folder / "plan.toml").candidates
    assert plan.question.matter_db == 1 and plan.radio.frequency_mhz == 14.2


def test_spreads_are_those_seen(plan, found, folder):
    judgement = judge(folder / "readings.csv", folder / "plan.toml", folder / "order.csv")
    assert plan.field.rehang_sd_db == pytest.approx(judgement.spread.rehang_sd_db, abs=0.0101)
    assert plan.meter.reading_sd_db == pytest.approx(judgement.spread.reading_sd_db, abs=0.0101)
    slopes = np.array(list(judgement.drift.db_per_hour.values()))
    assert plan.field.drift_db_per_hour == pytest.approx(np.sqrt((slopes**2).mean()), abs=0.0101)
    line = next(line for line in found.text.splitlines() if "degrees of freedom" in line and "at 95 %" in line)
    assert line.startswith(("#", "rehang_sd_db", "reading_sd_db"))


def test_lessons_come_along(plan, found):
    assert plan.field.minutes_per_swap == pytest.approx(8.0)
    assert "planned were 5" in found.text
    assert "one-specimen-each" in found.text
    assert "last time:" in found.text and "real and it matters" in found.text
    assert plan.field.seed == 12
    assert "Overhead lines" in found.text and "Local codes" in found.text


def test_trims_come_along(found):
    assert "trim of specimen 1: leg 5.05 m, resonant at 14.1 MHz (bench book, line 3)" in found.text
    assert found.bench_book == BENCH.encode()


def test_limits_cover_the_truth_and_the_degrees_of_freedom_are_right(folder):
    judgement = judge(folder / "readings.csv", folder / "plan.toml", folder / "order.csv")
    seen = seen_spreads(judgement)
    assert seen["field.rehang_sd_db"].low_db < 0.3 < seen["field.rehang_sd_db"].high_db
    # balanced: every swap has its readings; one for each beyond the first
    assert seen["meter.reading_sd_db"].degrees_of_freedom == judgement.readings - judgement.swaps
    # swaps less candidates, the other blocks and a slope in each block
    expected = judgement.swaps - 3 - 5 - 6
    assert seen["field.rehang_sd_db"].degrees_of_freedom == pytest.approx(expected, abs=1.0)


def test_a_scatter_that_could_not_be_seen_stands_at_its_upper_limit(folder, tmp_path):
    from antexp.analysis.result import Spread
    from antexp.analysis.results_file import read_results

    made = read_results(folder)
    quiet = made.__class__(**{**{name: getattr(made, name) for name in made.__dataclass_fields__},
                              "spread": Spread(0.0, 0.25)})
    (tmp_path / "results.json").write_text(quiet.to_json(), encoding="utf-8")
    (tmp_path / "plan.toml").write_text(PLAN, encoding="utf-8")
    text = next_plan(tmp_path).text
    assert "could not be seen, so the upper limit stands here" in text
    (tmp_path / "next.toml").write_text(text, encoding="utf-8")
    assert read_plan(tmp_path / "next.toml").field.rehang_sd_db > 0
    assert read_plan(tmp_path / "next.toml").field.minutes_per_swap == 5  # no readings there, so nothing measured


def test_without_the_plan_nothing_is_carried(folder, tmp_path):
    (tmp_path / "results.json").write_bytes((folder / "results.json").read_bytes())
    with pytest.raises(JudgementError, match="plan that was judged is neither in the folder nor above it"):
        next_plan(tmp_path)
