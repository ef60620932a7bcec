"""What a judgement was asked to do: whose word goes first, what is allowed, and how limits narrow towards the end."""

from __future__ import annotations

import pytest

from antexp.analysis.settings import Settings, settle
from antexp.errors import JudgementError
from antexp.plan.reader import plan_from_dict


def planned():
    return plan_from_dict({"candidates": ["a", "b", "c"], "reference": "b", "field": {"drift": "none"},
                           "question": {"compare": "each-other", "confidence": 0.9, "chance": 0.7, "matter_db": 2.0}})


def test_without_a_word_and_a_plan_the_defaults_hold():
    settings, notices = settle(None)
    assert settings == Settings(None, "reference", 0.95, 0.80, None, "steady")
    assert [notice.code for notice in notices] == ["no-matter-db"]


def test_the_plan_goes_before_the_defaults():
    assert settle(planned()) == (Settings("b", "each-other", 0.9, 0.7, 2.0, "none"), ())


def test_the_callers_words_go_before_the_plan():
    settings, notices = settle(planned(), "c", "best", 0.99, 0.6, 0.5, "steady")
    assert settings == Settings("c", "best", 0.99, 0.6, 0.5, "steady")
    assert [notice.code for notice in notices] == ["drift-form-not-as-planned"]


def test_the_ends_of_what_is_allowed():
    assert settle(None, matter_db=100.0)[0].matter_db == 100.0
    for words in ({"matter_db": 100.1}, {"matter_db": 0.0}, {"confidence": 0.0}, {"chance": 1.0}):
        with pytest.raises(JudgementError):
            settle(None, **words)


@pytest.mark.parametrize(("given", "said"), [(95.0, "For 95 per cent write 0.95."), (1.0, None), (100.0, None),
                                             (1.5, "For 1.5 per cent write 0.015."),
                                             (-2.0, None)])
def test_per_cents_are_recognised(given, said):
    with pytest.raises(JudgementError) as caught:
        settle(None, confidence=given)
    assert (said or "is not a probability") in str(caught.value)
    assert said is not None or "per cent" not in str(caught.value)


def test_limits_narrow_as_the_tables_of_t_say():
    """Fisher & Yates, table III (from memory): t for 10 degrees of freedom is 2.228 at 95 %, 3.169 at 99 %."""
    looked = Settings(None, "reference", 0.99, 0.8, None, "steady", end_confidence=0.95)
    assert looked.end_over_now(10.0) == pytest.approx(2.228 / 3.169, abs=2e-4)  # both printed to three digits
    assert Settings(None, "reference", 0.99, 0.8, None, "steady").end_over_now(10.0) == 1.0
