"""What the words and pictures say on days that are not like the others: nothing that matters stated, a single gap."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import pandas as pd
import pytest
from rich.console import Console

from antexp.analysis.judge import judge
from antexp.design.order import make_order
from antexp.field.doubts import ReadingsCheck
from antexp.plan.range_check import check_range
from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.repeats.trade_offs import trade_offs
from antexp.report import numbers
from antexp.report.check_text import print_range_check, print_readings_check
from antexp.report.gap_figure import gap_figure, left_out_of_the_picture
from antexp.report.next_steps import next_steps, noticeable
from antexp.report.order_text import order_answer, order_sentences
from antexp.report.page import report_page
from antexp.report.repeats_text import print_repeats, sentences
from antexp.report.tables import gap_table, said_of_all_gaps, spread_rows, statistician_table
from antexp.report.terminal import print_judgement
from antexp.report.wording import answer, best_explained, findings, question


def printed(show, *what) -> str:
    """Return what a printing function writes on a narrow terminal."""
    console = Console(file=io.StringIO(), width=80, highlight=False)
    show(*what, console=console)
    return " ".join(console.file.getvalue().split())


@pytest.fixture(scope="module")
def each_other(record):
    return judge(record(["bare", "clad", "strand"]), matter_db=1.0, compare="each-other")


def test_every_pair_is_named_where_all_are_compared_with_each_other(each_other):
    assert "each with each other" in question(each_other) and "gaps among 3 candidates" in answer(each_other)
    assert {"candidate", "against"} <= set(gap_table(each_other)) and len(gap_table(each_other)) == 3
    assert {"candidate", "against"} <= set(statistician_table(each_other))
    assert said_of_all_gaps(each_other) == "Of these specimens."
    labels = [label.get_text().replace("\n", " ") for label in gap_figure(each_other).get_yticklabels()]
    assert "strand against bare" in labels or "bare against strand" in labels
    assert any("against “" in sentence for sentence in findings(each_other))
    assert "the second named" in report_page(each_other)


def test_only_the_largest_gaps_are_drawn_where_there_are_very_many(record):
    names = [f"wire {n:02d}" for n in range(14)]
    many = judge(record(names, blocks=3, step_db=0.1), matter_db=1.0, compare="each-other")
    left_out = left_out_of_the_picture(many)
    assert len(many.family) == 91 and 0 < left_out < 91
    axes = gap_figure(many)
    assert len(axes.get_yticks()) == 91 - left_out
    assert f"{left_out} smaller ones stand in the table only" in report_page(many)


def test_the_best_of_the_others_is_named_as_such(record):
    found = judge(record(["bare", "clad", "strand"]), matter_db=1.0, compare="best")
    assert "each with the best of the others" in question(found)
    assert "the best of the others" in report_page(found)


def test_without_a_gap_that_matters_the_next_step_is_to_state_one(record):
    found = judge(record(["bare", "clad", "strand"]))
    assert "Say which gap would change your choice" in " ".join(next_steps(found))
    tied = judge(record(["bare", "clad", "strand"], step_db=0.0))
    assert best_explained(tied) == "“May still be” says no more than: not ruled out."
    assert "That is enough" not in noticeable(found) and "notices a true gap" in noticeable(found)
    assert "smallest gap that matters" not in {text.get_text() for text in gap_figure(found).figure.findobj()
                                               if hasattr(text, "get_text")}


def test_a_gap_of_one_pair_that_cannot_be_told_is_given_its_limits(record):
    found = judge(record(["bare", "clad"], blocks=3, step_db=0.05), matter_db=0.1)
    assert found.family["verdict"].tolist() == ["cannot tell"]
    low, high = found.family["interval_db"].iloc[0]
    said = " ".join([answer(found), *findings(found)])
    assert f"anywhere from {numbers.decibels(low, True)} to {numbers.decibels(high, True)} dB" in said


def test_what_holds_the_set_up_back_is_told_from_the_two_scatters(record):
    found = judge(record(["bare", "clad", "strand"], step_db=0.3), matter_db=0.3)
    for rehang, reading, words in ((0.4, 0.1, "is re-hanging"), (0.05, 0.6, "is the meter"), (0.3, 0.4, "about alike")):
        shown = replace(found, spread=replace(found.spread, rehang_sd_db=rehang, reading_sd_db=reading))
        assert words in " ".join(next_steps(shown))
    unknown = replace(found, spread=replace(found.spread, rehang_sd_db=None))
    assert "Four times as many swaps halve the limits." in next_steps(unknown)


def test_gaps_that_more_blocks_will_not_settle_are_called_that(record):
    found = judge(record(["bare", "clad", "strand"]), matter_db=1.0)
    rows = found.gaps.assign(verdict="cannot tell", more_blocks=pd.Series([None] * len(found.gaps), dtype=object))
    assert "hangings must become more alike" in " ".join(next_steps(replace(found, gaps=rows)))
    unknown = replace(found, gaps=found.gaps.assign(detectable_db=math.nan))
    assert noticeable(unknown) == ""
    hopeless = replace(found, gaps=found.gaps.assign(detectable_db=9.0, degrees_of_freedom=2.0), matter_db=0.01)
    assert "more blocks alone will not do" in noticeable(hopeless)


@pytest.mark.parametrize(("value", "text"),
                         [(0.0, "0"), (12345.6, "12\u2009346"), (math.nan, "–"), (0.001234, "0.0012")])
def test_amounts_are_written_with_what_they_are_known_to(value, text):
    assert numbers.amount(value) == text


def test_repeats_with_everything_and_with_nothing_to_say():
    plan = plan_from_dict({"candidates": ["a", "b", "c"], "question": {"matter_db": 1.0}, "meter": "SDR",
                           "field": {"blocks": 12}})
    found = how_many_repeats(plan, records=0)
    text = " ".join(sentences(found))
    assert "is reached with" in text and "already" in text  # twelve blocks are more than it takes
    unnoticed = replace(found, enough_cautious_blocks=None)
    assert any(sentence.startswith("Guesses are guesses") and "would then be enough" not in sentence
               for sentence in sentences(unnoticed))
    silent = " ".join(sentences(replace(found, matter_db=None, sensitivity=found.sensitivity.iloc[:0])))
    assert "Guesses" not in silent and "guess that matters" not in silent
    shown = printed(lambda one, console: print_repeats(one, console, trade_offs(plan, 8.0)), found)
    assert "choice" in shown and "setting" in shown


def test_an_order_without_hours_or_gaps_still_says_its_size():
    order = make_order(plan_from_dict({"candidates": ["a", "b"], "field": {"blocks": 3}}))
    bare = replace(order, gaps=(), precision_kept=None)
    assert order_answer(bare).startswith(f"3 blocks, {order.swaps} swaps") and "dB" not in order_answer(bare)
    report = {"blocks_are": "complete", "hung": False, "hang_again": [3, 9], "follows": {"a": {"b": 3}, "b": {"a": 1}},
              "never_in_one_block": [("a", "b")]}
    said = " ".join(order_sentences(replace(bare, table=order.table), report))
    assert "Swaps 3 and 9: the antenna that hangs is lowered and hung again." in said
    assert "Never in one block: “a” and “b”." in said and "of the precision" not in said


def test_readings_that_nothing_is_wrong_with_and_readings_that_cannot_be_judged():
    fine = ReadingsCheck(name="day.csv", faults=(), doubts=(), readings=12, swaps=6, blocks=2,
                         hangings={"a": 3, "b": 3})
    text = printed(print_readings_check, fine)
    assert "day.csv: can be judged. 12 readings of 6 swaps in 2 block(s)." in text
    assert "Hangings: a 3, b 3." in text and "Nothing in it asks for a second look." in text
    bad = replace(fine, faults=("x", "y"), hangings={})
    text = printed(print_readings_check, bad)
    assert "2 thing(s) to mend" in text and "second look" not in text and "Hangings" not in text


def test_a_plan_that_leaves_nothing_to_antexp_has_no_such_heading():
    check = check_range(plan_from_dict({"candidates": ["a", "b"]}))
    assert "What the plan leaves to antexp" in printed(print_range_check, check)
    assert "What the plan leaves to antexp" not in printed(print_range_check, replace(check, assumptions=()))


def test_a_judgement_of_one_other_wire_is_printed_whole(record):
    found = judge(record(["bare", "clad"]), matter_db=1.0)
    text = printed(lambda shown, console: print_judgement(shown, None, console), found)
    assert "What next" in text and "-o DIR" in text and "“clad”" in text


def test_the_picture_of_what_was_seen_shows_what_is_noticed_too(record):
    found = judge(record(["bare", "clad", "strand"]), matter_db=1.0)
    rows = {name: value for name, value, _ in spread_rows(found)}
    assert rows["gap noticed 80 days of 100, at most"] == found.family["detectable_db"].max()
    assert rows["gap called real from, at most"] < rows["gap noticed 80 days of 100, at most"]


@pytest.mark.parametrize("matter_db", [None, 1.0])
def test_where_all_readings_are_equal_more_of_the_same_is_no_advice(record, matter_db):
    same = record(["bare", "clad"], step_db=0.1).assign(level_s="S7").drop(columns="level_db")
    steps = " ".join(next_steps(judge(same, matter_db=matter_db)))
    assert "First use a finer meter" in steps
    assert "halve the limits" not in steps and "more alike" not in steps
