"""Pictures of days without a gap that matters, or without limits: drawn whole, without the lines."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.compare_days import compare_days
from antexp.analysis.judge import judge
from antexp.analysis.pool import pool
from antexp.demo.run import run_demo
from antexp.repeats.bare_gap import bare_gap
from antexp.repeats.settling_plan import settling_plan
from antexp.repeats.single_hangings import against_chance
from antexp.repeats.single_hangings_file import read_single_hangings
from antexp.report.compare_figure import compare_figure
from antexp.report.demo_choice import defence
from antexp.report.gap_figure import gap_figure
from antexp.report.gap_text import gap_sentences, settling_sentence, table_sentences
from antexp.report.pool_figure import pool_figure
from antexp.report.receivers_figure import receivers_figure
from antexp.report.statements import statements

TWO_RECEIVERS = Path(__file__).resolve().parents[2] / "examples" / "two-receivers"


def dashed(axes) -> int:
    """Count the lines at the gap that matters."""
    return sum(line.get_linestyle() not in ("-", "None", "") for line in axes.lines)


@pytest.fixture(scope="module")
def days(record):
    return [judge(record(["bare", "clad", "strand"], seed=seed)) for seed in (1, 2, 3)]


def test_days_together_are_drawn_with_and_without_a_gap_that_matters(days):
    assert dashed(pool_figure(pool(days))) == 0
    assert dashed(pool_figure(pool(days, matter_db=1.0))) == 2


def test_two_days_side_by_side_are_drawn_with_and_without_a_gap_that_matters(days):
    assert dashed(compare_figure(compare_days(days[0], days[1]))) == 0
    assert dashed(compare_figure(compare_days(days[0], days[1], matter_db=1.0))) > 0


def test_each_receiver_is_drawn_with_and_without_a_gap_that_matters():
    found = judge(TWO_RECEIVERS / "readings.csv", TWO_RECEIVERS / "plan.toml", TWO_RECEIVERS / "order.csv")
    assert found.matter_db is not None and dashed(receivers_figure(found)) == 2
    assert dashed(receivers_figure(replace(found, matter_db=None))) == 0
    with pytest.raises(ValueError, match="one receiver"):
        receivers_figure(replace(found, receivers=None))


def test_a_gap_without_limits_is_a_mark_without_a_line(days):
    known = gap_figure(days[0])
    rows = days[0].gaps.assign(resolution_db=np.nan)
    rows["interval_db"] = pd.Series([[np.nan, np.nan]] * len(rows), dtype=object, index=rows.index)
    unknown = gap_figure(replace(days[0], gaps=rows))
    assert len(unknown.lines) == len(known.lines) - len(rows) and not unknown.patches and known.patches
    assert len(unknown.get_yticklabels()) == len(rows)


def test_the_only_strongest_wire_may_be_called_that_of_these_wires(record):
    clear = judge(record(["bare", "clad", "strand"], step_db=3.0), matter_db=1.0)
    assert clear.could_be_best == ("bare",)
    said = next(each for each in statements(clear) if "strongest" in each.may)
    assert said.may == "Of the wires compared here “bare” was the strongest." and "here and on that day" in said.why


def test_what_pays_for_the_cheapest_wire_is_said_as_far_as_it_is_known(tmp_path):
    choice = run_demo(tmp_path).choice
    whole = defence(choice)
    assert "in the gust at worst" in whole and "was ticked" in whole
    without = replace(choice, wires=tuple(replace(wire, handling=None, load=replace(wire.load, safety_factor=None))
                                          for wire in choice.wires))
    assert "gust" not in defence(without) and "was ticked" not in defence(without) and "a metre" in defence(without)
    unpriced = replace(choice, wires=tuple(replace(wire, price_per_m=None) for wire in choice.wires))
    assert defence(unpriced) == ""


def test_single_hangings_with_and_without_their_match(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text("name,level_db\na,-50\nb,-50.2\nc,-53\n", encoding="utf-8")
    bare = against_chance(read_single_hangings(path, scale="dBm"))
    assert "No SWR was given: mismatch is part of these gaps." in table_sentences(bare)
    path.write_text("name,level_db,swr\na,-50,1.2\nb,-50.2,2.5\nc,-53,1.1\n", encoding="utf-8")
    matched = against_chance(read_single_hangings(path, scale="dBm"))
    assert any(sentence.startswith("The mismatch loss of each wire's SWR") for sentence in table_sentences(matched))
    plan = settling_plan(bare, matter_db=1.0)
    assert "What would settle it" in settling_sentence(bare, plan)
    assert settling_sentence(bare, replace(plan, blocks=None)).startswith("No plan settles a gap of 1.00 dB")


def test_a_gap_that_no_number_of_hangings_settles_is_called_that():
    said = gap_sentences(bare_gap(0.0001, rehang_sd_db=0.5, reading_sd_db=0.2))
    assert "More than ten thousand hangings of each would be needed" in " ".join(said)
