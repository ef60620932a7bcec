"""`antexp order --pilot` and `antexp pilot` on the command line."""

import json

from tests.benchmarks.writing_commands import fill_form

PLAN = 'candidates = ["reference wire", "other"]\nhours = 3\n'


def test_form_filled_in_and_judged(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, "utf-8")
    ran = antexp("order", plan, "--pilot", "-o", tmp_path / "pilot.csv")
    assert ran.status == 0 and "Source into a dummy load" in ran.out and "common practice, no source" in ran.out
    assert "Caution: " in ran.out and "power lines" in ran.out
    form = tmp_path / "pilot.form.csv"
    fill_form(form, form)
    document = json.loads(antexp("pilot", form, "--plan", plan, "--json").out)
    assert document["verdict"] == "go" and document["hangings"] == 6
    ran = antexp("pilot", form)
    assert ran.status == 0 and ran.out.startswith("Go: the set-up passed every check.") and "rehang_sd_db" in ran.out


def test_a_blank_form_is_refused(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, "utf-8")
    antexp("order", plan, "--pilot", "-o", tmp_path / "pilot.csv")
    ran = antexp("pilot", tmp_path / "pilot.form.csv")
    assert ran.status == 2 and "level_db" in ran.err and ran.out == ""


def test_pilot_stands_alone(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, "utf-8")
    assert "--pilot stands alone" in antexp("order", plan, "--pilot", "--without", "other").err
