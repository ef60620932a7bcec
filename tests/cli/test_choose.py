"""`choose` as a command."""

import json

import pytest

from antexp.demo.run import run_demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return run_demo(tmp_path_factory.mktemp("choose") / "demo").folder


def words(demo, *more):
    return ("choose", demo / "readings.csv", "--plan", demo / "plan.toml", "--order", demo / "order.csv", *more)


def test_the_answer_first_then_the_table_and_the_page(antexp, demo, tmp_path):
    ran = antexp(*words(demo, "--sort", "price", "--span", 14, "--tension", 15, "--gust", 25, "-o", tmp_path / "out"))
    assert ran.status == 0
    assert ran.out.startswith("These three cannot be told apart")
    assert ran.out.index("copper-clad") < ran.out.index("Loads over 14 m") < ran.out.index("Caution: ")
    assert (tmp_path / "out" / "choice.html").exists()


def test_json_holds_the_group_and_no_span_that_was_not_asked_for(antexp, demo):
    document = json.loads(antexp(*words(demo, "--json")).out)
    assert len(document["group"]) == 3 and document["span"] is None and document["cautions"] == []


def test_what_cannot_be_asked_is_said(antexp, demo, tmp_path):
    ran = antexp(*words(demo, "--sort", "beauty", "-o", tmp_path / "out"))
    assert ran.status == 2 and "breaking-load" in ran.err and not (tmp_path / "out").exists()
    ran = antexp(*words(demo, "--span", -2, "--gust", 900))
    assert ran.status == 2 and "2 things are wrong" in ran.err and "Traceback" not in ran.err
