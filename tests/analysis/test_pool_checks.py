"""Which days may be put together, and what they can and cannot say, on days that hold nothing else."""

from __future__ import annotations

from collections import Counter
from types import SimpleNamespace

import pandas as pd
import pytest

from antexp.analysis.pool_checks import level_and_matter
from antexp.analysis.pool_notices import pool_notices
from antexp.errors import JudgementError


def day(sha="1", *, reference="ref", compare="reference", confidence=0.95, matter_db=1.0, specimens=()):
    return SimpleNamespace(reference=reference, compare=compare, confidence=confidence, matter_db=matter_db,
                           provenance={"readings_sha256": sha}, specimens=specimens)


def asked(days, confidence=None, matter_db=None):
    return level_and_matter(days, [f"day {i + 1}" for i in range(len(days))], confidence, matter_db)


def faults(days, confidence=None, matter_db=None):
    with pytest.raises(JudgementError) as caught:
        asked(days, confidence, matter_db)
    return [fault.what for fault in caught.value.faults]


def test_what_the_days_say_holds_unless_it_is_said_anew():
    days = [day("1", confidence=0.9, matter_db=2.0), day("2", confidence=0.9, matter_db=2.0)]
    assert asked(days) == (0.9, 2.0)
    assert asked(days, 0.99, 0.5) == (0.99, 0.5)
    assert asked(days, matter_db=100.0) == (0.9, 100.0)
    unlike = [day("1", confidence=0.9, matter_db=2.0), day("2", confidence=0.8, matter_db=1.0)]
    said = "the days differ in their {}"
    assert faults(unlike) == [said.format("confidence"), said.format("smallest gap that matters")]
    assert asked(unlike, 0.99, 0.5) == (0.99, 0.5)


@pytest.mark.parametrize(("words", "what"), [
    ({"confidence": 0.0}, "confidence is not a probability"), ({"confidence": 1.0}, "confidence is not a probability"),
    ({"matter_db": 0.0}, "matter_db is not a gap"), ({"matter_db": 100.5}, "matter_db is not a gap"),
    ({"matter_db": float("nan")}, "matter_db is not a gap"),
])
def test_the_ends_of_what_may_be_said(words, what):
    assert faults([day("1"), day("2")], **words) == [what]


def test_days_of_different_questions_are_refused_each_named():
    assert faults([day("1"), day("2", reference="other")]) == ["the days differ in their reference"]
    assert faults([day("1"), day("2", compare="each-other")]) == ["the days differ in their comparison"]
    assert faults([day("1", compare="best"), day("2", compare="best")]) == [
        "a day was judged against the best of the others"]


def test_one_day_is_too_few_and_one_record_twice_is_one():
    assert faults([day("1")]) == ["one day alone cannot be pooled"]
    assert faults([day("1"), day("2"), day("1")]) == ["the same record is given twice"]


def notices(days, gaps=None, counted=None, matter_db=1.0):
    table = pd.DataFrame(gaps or [("B", "ref", 3, 0.5)], columns=["candidate", "against", "days", "heterogeneity_p"])
    return {n.code: n.text for n in pool_notices(days, table, Counter(counted or {("B", "ref"): 3}), matter_db)}


def test_what_days_can_say_together():
    three = [day("1"), day("2"), day("3")]
    assert notices(three) == {}
    assert list(notices(three, matter_db=None)) == ["no-matter-db"]
    assert list(notices(three, [("B", "ref", 2, 0.5)])) == ["two-days"]
    assert list(notices(three, [("B", "ref", 4, 0.06)])) == []
    differ = notices(three, [("B", "ref", 4, 0.06), ("C", "ref", 4, 0.04)])
    assert list(differ) == ["days-differ"] and "for: “C” against “ref”." in differ["days-differ"]
    alone = notices(three, counted={("B", "ref"): 2, ("C", "ref"): 1})
    assert list(alone) == ["one-day-only"] and "tells of: “C” against “ref”;" in alone["one-day-only"]


def test_the_same_specimens_are_said_only_where_all_days_name_the_same():
    one, other = (("B", "1"), ("C", "1")), (("B", "2"), ("C", "1"))
    assert list(notices([day("1", specimens=one), day("2", specimens=one[::-1])])) == ["same-specimens"]
    assert list(notices([day("1", specimens=one), day("2", specimens=other)])) == []
    assert list(notices([day("1", specimens=one), day("2")])) == []
    assert list(notices([day("1"), day("2")])) == []
