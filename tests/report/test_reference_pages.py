"""The reference pages equal what the code says, and what the code says of its documents is what it prints."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import antexp
from antexp.analysis.choice import choose
from antexp.analysis.judge import judge
from antexp.cli.main import app
from antexp.cli.reference_pages import reference_pages
from antexp.columns import BENCH_BOOK, ORDER, READINGS
from antexp.design.order import make_order
from antexp.design.order_report import order_report
from antexp.field.doubts import check_readings
from antexp.notices import CODES
from antexp.plan.candidate import Candidate
from antexp.plan.faults import TABLES
from antexp.plan.field import Field
from antexp.plan.range_check import check_range
from antexp.plan.reader import read_plan
from antexp.repeats.bare_gap import bare_gap
from antexp.report.docstring_fields import fields_of
from antexp.report.markdown import plain, table
from antexp.report.reference_plan import allowed_words, kind_of
from antexp.report.reference_python import FAULTS, FLOW, RESULTS
from antexp.report.reference_results import DOCUMENTS, json_kind

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "nothing-matters"
PAGES = reference_pages()


@pytest.mark.parametrize("name", PAGES)
def test_the_committed_page_is_what_the_code_says(name: str):
    page = ROOT / "docs" / "reference" / name
    assert page.read_text(encoding="utf-8") == PAGES[name], "run: python -m antexp.cli.reference_pages docs/reference"


def test_nothing_is_missing_from_the_pages():
    for each in (ORDER, READINGS, BENCH_BOOK):
        assert all(f"| `{column.name}` |" in PAGES["files.md"] for column in each.columns)
    for model in (*TABLES.values(), Candidate):
        assert all(f"| `{key}` |" in PAGES["plan.md"] for key in model.model_fields)
    assert all(f"| `{code}` |" in PAGES["warnings.md"] for code in CODES)
    for command in app.registered_commands:
        assert f"## antexp {command.name}\n" in PAGES["commands.md"]
    listed = [*(name for names in FLOW.values() for name in names), *RESULTS, *FAULTS]
    assert sorted(listed) == sorted(antexp.__all__)
    assert all(f":: antexp.{name}\n" in PAGES["python.md"] for name in listed)


def _keys(heading: str) -> set[str]:
    return next(set(document.keys()) for document in DOCUMENTS if document.heading == heading)


def test_the_keys_on_the_page_are_those_of_real_documents():
    plan = read_plan(EXAMPLE / "plan.toml")
    judged = json.loads(judge(EXAMPLE / "readings.csv", plan, EXAMPLE / "order.csv").to_json())
    assert _keys("results.json") == set(judged)
    assert _keys("Keys of spread") == set(judged["spread"])
    assert _keys("Keys of drift") >= set(judged["drift"])
    assert judged["checks"] and _keys("Items of checks") == set(judged["checks"][0])
    assert _keys("antexp check PLAN") == set(check_range(plan, 1.0).to_dict())
    assert _keys("antexp check READINGS") == set(check_readings(EXAMPLE / "readings.csv", plan).to_dict())
    assert _keys("antexp order") == set(order_report(make_order(plan)))
    assert _keys("antexp gap DB") == set(bare_gap(2.0).to_dict())
    chosen = choose(EXAMPLE / "readings.csv", plan, EXAMPLE / "order.csv").to_dict()
    assert _keys("antexp choose") == set(chosen)
    assert _keys("Items of wires") == set(chosen["wires"][0])


def test_a_key_allows_what_a_refusal_says_and_has_its_own_unit():
    assert allowed_words(Field.model_fields["hours"]) == ("a number above 0 up to 1000", "hours")
    assert allowed_words(Field.model_fields["blind"]) == ("true, false (without quotes)", "")
    assert kind_of(Field.model_fields["drift"]) == "word"
    assert kind_of(Candidate.model_fields["feed_ohm"]) == "impedance"
    row = next(line for line in PAGES["plan.md"].splitlines() if line.startswith("| `drift_db_per_hour`"))
    assert "| a number from 0 to 30 | dB per hour | `0.5` | number |" in row


def test_kinds_in_the_words_of_json():
    assert json_kind("float or None, dB") == "number or null, dB"
    assert json_kind("tuple of Notice") == "list of objects"
    assert json_kind("Look or None") == "object or null"
    assert json_kind('{"reference", "best"}') == '{"reference", "best"}'


class _Described:
    """A thing.

    Attributes
    ----------
    one : float, dB
        First line
        and second.
    two, three : str
        Both.

    Notes
    -----
    four : int
        Not a field.
    """


def test_fields_are_read_from_a_docstring():
    assert fields_of(_Described) == {"one": ("float, dB", "First line and second."), "two": ("str", "Both."),
                                     "three": ("str", "Both.")}
    assert fields_of(int) == {}


def test_a_cell_cannot_break_its_row():
    assert table(("a", "b"), [("x | y\nz", "")]) == "| a | b |\n| --- | --- |\n| x \\| y z | – |\n"
    assert plain("``a`` and `b.c` ** x") == "`a` and `b.c` \\*\\* x"
