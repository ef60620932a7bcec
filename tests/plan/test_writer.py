"""A plan written as TOML is read back as the same plan."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from antexp.demo.scenario import demo_plan_text
from antexp.plan.reader import plan_from_dict, read_plan
from antexp.plan.starter import starter_plan
from antexp.plan.writer import plan_text
from antexp.spreadsheet import is_formula

ASIDE = {"sha256", "path", "stated", "assumptions"}


def read_text(tmp_path, text):
    file = tmp_path / "written.toml"
    file.write_text(text, encoding="utf-8")
    return read_plan(file)


def same(plan, again):
    for key in type(plan).model_fields:
        assert key in ASIDE or getattr(again, key) == getattr(plan, key), key


@pytest.mark.parametrize("text", [demo_plan_text(), starter_plan()], ids=["demo", "starter"])
def test_plans_that_ship_come_back_the_same(tmp_path, text):
    plan = read_text(tmp_path, text)
    again = read_text(tmp_path, plan_text(plan))
    same(plan, again)
    assert again.assumptions == plan.assumptions
    assert again.stated == plan.stated


def test_long_form_and_five_lines(tmp_path, read, long_form, five_lines):
    for text in (long_form, five_lines):
        plan = read(text)
        same(plan, read_text(tmp_path, plan_text(plan)))


def test_what_was_assumed_is_assumed_again(tmp_path, read, five_lines):
    plan = read(five_lines)
    again = read_text(tmp_path, plan_text(plan))
    assert "field.rehang_sd_db" not in again.stated
    assert [line for line in plan.assumptions if "re-hang" in line] == [
        line for line in again.assumptions if "re-hang" in line]


@pytest.mark.parametrize("radio", [
    {"element": "quarter-wave vertical"},
    {"element": "quarter-wave vertical", "polarisation": "vertical", "ground_loss_ohm": 0},
    {"ground": {"permittivity": 12, "conductivity_s_per_m": 0.004}, "frequency_mhz": 7.1},
], ids=["derived", "stated at the default of another element", "ground by numbers"])
def test_keys_that_hang_on_others(tmp_path, radio):
    plan = plan_from_dict({"candidates": ["a", "b"], "radio": radio, "field": {"hours": 5, "blocks": 3}})
    again = read_text(tmp_path, plan_text(plan))
    same(plan, again)
    assert again.states("field.block_minutes") == plan.states("field.block_minutes")


def test_remarks_stand_beside_their_keys_and_break_nothing(tmp_path, read, long_form):
    plan = read(long_form)
    remarks = {"field.rehang_sd_db": "seen", "field.places": "x" * 200, "radio.noise": "a\x00b",
               "meter.nothing": "no such key"}
    text = plan_text(plan, head=["first\nsecond", ""], remarks=remarks,
                     candidate_remarks={plan.reference: ["leg 6.9 m"]})
    again = read_text(tmp_path, text)
    same(plan, again)
    assert text.startswith("# first second\n#\n")
    line = next(line for line in text.splitlines() if line.startswith("rehang_sd_db"))
    assert line.endswith("# seen")
    assert "# no such key" in text and "# leg 6.9 m" in text


texts = st.text('abzé漢😀"\'\\#=[]{}.,0 ', min_size=1, max_size=12).filter(
    lambda text: text.strip() == text and not is_formula(text))  # such names the plan refuses
feeds = st.complex_numbers(min_magnitude=1, max_magnitude=900).filter(lambda ohm: ohm.real > 0.1)


@settings(max_examples=60, deadline=None)
@given(names=st.lists(texts, min_size=2, max_size=4, unique_by=lambda name: "".join(name.casefold().split())),
       title=texts, price=st.floats(1e-3, 1e3), feed=feeds, seed=st.integers(0, 2**63 - 1), rehang=st.floats(0, 30))
def test_any_plan_comes_back_the_same(tmp_path_factory, names, title, price, feed, seed, rehang):
    candidates = [{"name": names[0], "price_per_m": price}, {"name": names[1], "feed_ohm": feed}, *names[2:]]
    field = {"seed": seed, "rehang_sd_db": rehang, "sittings": ["2026-05-02 09:30-12:15"]}
    plan = plan_from_dict({"title": title, "candidates": candidates, "field": field})
    text = plan_text(plan)
    assert tomllib.loads(text)["title"] == title
    same(plan, read_text(tmp_path_factory.mktemp("any"), text))
