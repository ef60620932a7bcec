"""How many repeats, in words and pictures."""

import io

import pytest
from rich.console import Console

from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.report.pictures import as_svg
from antexp.report.repeats_figures import guess_figure, repeats_figure
from antexp.report.repeats_text import headline, hours_and_minutes, one_decimal, print_repeats, sentences, share


def _answer(question=None, records=0, names="abcdefghij", **field):
    plan = plan_from_dict({"candidates": list(names), "question": {"matter_db": 1.0, **(question or {})},
                           "meter": "spectrum analyser", "field": field})
    return how_many_repeats(plan, records=records)


def test_the_answer_is_one_sentence():
    answer = _answer(blocks=5)
    assert headline(answer) == "5 blocks, 50 swaps, 5 h 50 min: 82 % chance of noticing 1.0 dB."
    nothing = _answer({"matter_db": None}, blocks=5)
    assert headline(nothing).startswith("5 blocks, 50 swaps, 5 h 50 min: a gap of 0.")


def test_too_much_for_a_day_is_said_kindly():
    text = " ".join(sentences(_answer(hours=4.7, records=1_000)))
    assert "10 wires at 1.0 dB take 5 blocks, 50 swaps, 5 h 50 min for the wanted 80 %" in text
    assert "honest ways out" in text
    assert "Rehearsed 1,000 times through the code that judges" in text
    assert "The guess that matters most is the" in text
    assert "must be near twice the one that matters" in text


def test_chances_are_never_written_as_certain():
    assert [share(value) for value in (0.0, 0.001, 0.5, 0.9951, 1.0, float("nan"))] == [
        "0 %", "under 1 %", "50 %", "over 99 %", "100 %", "–"]
    assert (hours_and_minutes(5 + 50 / 60), hours_and_minutes(0.5)) == ("5 h 50 min", "30 min")
    assert (one_decimal(1), one_decimal(0.25)) == ("1.0", "0.25")


def test_the_terminal_fits_eighty_columns():
    console = Console(file=io.StringIO(), width=80)
    print_repeats(_answer(hours=5), console)
    printed = console.file.getvalue()
    assert max(map(len, printed.splitlines())) <= 80
    table = [line for line in printed.splitlines() if line.strip().startswith("4 ")]
    assert "…" not in table[0] and "77 %" in table[0]


@pytest.mark.parametrize("question", [{}, {"matter_db": None}])
def test_the_pictures_are_the_same_for_the_same_answer(question):
    answer = _answer(question, names="abc", blocks=4)
    assert as_svg(repeats_figure(answer).axes[0]) == as_svg(repeats_figure(answer).axes[0])
    axes = repeats_figure(answer).axes
    assert len(axes) == (2 if answer.matter_db else 1)
    assert len(guess_figure(answer).get_yticks()) == len(answer.sensitivity)
