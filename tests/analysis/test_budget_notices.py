"""What the budgets make worth saying: each warning with its gap and its number, each side of its limit."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.budget_notices import budget_notices
from antexp.field.bench_book import read_bench_book

PAIRS = (("b", "a"), ("c", "a"), ("c", "b"))


def budgets(odd=(False, False, False), measured=("a", "b", "c"), source="plan", decided=()):
    shares = SimpleNamespace(too_large=np.array(odd), unexplained_db=np.array([-0.91, 0.52, 1.43]),
                             unexplained_u_db=np.array([0.11, 0.22, 0.33]))
    return SimpleNamespace(pairs=PAIRS, budget=shares, decided_by_mismatch=list(decided),
                           mismatch_from=dict.fromkeys(measured, source))


def said(found, bench=None, height_m=None):
    plan = SimpleNamespace(radio=SimpleNamespace(height_m=height_m)) if height_m is not None else None
    return {notice.code: notice.text for notice in budget_notices(found, ("a", "b", "c"), bench, plan)}


def book(**columns):
    return read_bench_book(pd.DataFrame({name: [str(each) for each in values] for name, values in columns.items()}))


def test_nothing_worth_saying_is_not_said():
    assert said(budgets()) == {} and said(None) == {}


def test_a_rest_is_named_with_its_size_and_whose_match_is_missing():
    text = said(budgets(odd=(True, False, True), measured=("a",)))["gap-not-explained"]
    assert "“b” against “a” −0.91 dB (give or take 0.11," in text
    assert "“c” against “b” +1.43 dB (give or take 0.33," in text
    assert "“c” against “a”" not in text
    assert "The match of “b”, “c” was not measured" in text
    assert "was not measured" not in said(budgets(odd=(True, False, False)))["gap-not-explained"]


def test_a_verdict_that_mismatch_changes_is_told_with_both_gaps():
    row = {"candidate": "b", "against": "a", "as_used_gap_db": -1.25, "as_used_verdict": "real", "gap_db": 0.12,
           "verdict": "cannot tell"}
    text = said(budgets(decided=[row]))["mismatch-decides"]
    assert "“b” against “a”: as used −1.25 dB, “real”, matched +0.12 dB, “cannot tell”." in text


@pytest.mark.parametrize(("height_m", "apart"), [(7.6, False), (8.4, False), (8.6, True), (7.4, True)])
def test_a_match_further_than_half_a_metre_from_the_tests_height_is_named(height_m, apart):
    bench = book(candidate=["b", "c"], swr=[1.5, 1.5], height_m=[height_m, 8.0])
    found = said(budgets(source="bench book"), bench, 8.0)
    assert list(found) == (["bench-height"] if apart else [])
    assert not apart or found["bench-height"].startswith("The match of “b” was measured at another height than the "
                                                         "test's 8 m")
    assert said(budgets(source="bench book"), bench) == {}, "no plan, no height to hold it against"


def test_only_candidates_whose_mismatch_rests_on_the_bench_book_are_warned_of():
    bench = book(candidate=["b", "c"], swr=[1.5, 1.5], height_m=[2.0, 8.0], where=["", "end of the coax"])
    assert said(budgets(source="readings"), bench, 8.0) == {}
    assert list(said(budgets(source="bench book", measured=("c",)), bench, 8.0)) == ["analyser-behind-line"]
    both = said(budgets(source="readings, bench book"), bench, 8.0)
    assert list(both) == ["bench-height", "analyser-behind-line"]
    assert both["analyser-behind-line"].startswith("The match of “c” was measured")


def test_what_the_bench_book_alone_knows_is_named_once():
    bench = book(candidate=["z", "b", "z"], swr=[1.5, 1.5, 1.4])
    for found in (None, budgets()):
        text = said(found, bench)["bench-not-in-record"]
        assert "measures “z”, of which" in text
    assert said(None, book(candidate=["b"], swr=[1.5])) == {}
