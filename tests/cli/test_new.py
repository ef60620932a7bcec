"""`antexp new` writes a plan that can be used as it stands, and never over another file."""

from __future__ import annotations

import json


def test_the_plan_is_ready_to_use(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    assert antexp("new", plan).status == 0
    assert antexp("check", plan).status == 0
    assert antexp("order", plan, "-o", tmp_path / "order.csv").status == 0


def test_it_never_overwrites(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text("mine", encoding="utf-8")
    ran = antexp("new", plan)
    assert ran.status == 2 and "plan.toml" in ran.err
    assert plan.read_text(encoding="utf-8") == "mine"


def test_json_says_what_was_written(antexp, tmp_path):
    plan = tmp_path / "plan.toml"
    ran = antexp("new", plan, "--json")
    assert json.loads(ran.out) == {"written": str(plan)}
