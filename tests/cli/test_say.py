"""`say` as a command: the plan is found by its digest, and never a wrong one."""

import json
import shutil

import pytest

from antexp.demo.run import run_demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return run_demo(tmp_path_factory.mktemp("say") / "demo").folder


def test_the_plan_is_found_by_its_digest(antexp, demo, tmp_path):
    ran = antexp("say", demo, "-o", tmp_path / "said")
    assert ran.status == 0 and "10.12 MHz, 9 m high" in " ".join(ran.out.split())
    assert (tmp_path / "said" / "slide.html").exists()
    document = json.loads(antexp("say", demo, "--json").out)
    assert {"statements", "newsletter", "methods"} == set(document)


def test_another_plan_is_not_taken_for_it(antexp, demo, tmp_path):
    folder = tmp_path / "copy"
    shutil.copytree(demo, folder)
    text = (folder / "plan.toml").read_text(encoding="utf-8").replace("10.12", "7.1")
    (folder / "plan.toml").write_text(text, encoding="utf-8")
    ran = antexp("say", folder)
    assert ran.status == 0 and "this band, this height" in " ".join(ran.out.split()) and "MHz" not in ran.out
    ran = antexp("say", folder, "--plan", folder / "plan.toml")
    assert ran.status == 2 and "not the plan that was judged" in ran.err


def test_no_results(antexp, tmp_path):
    ran = antexp("say", tmp_path)
    assert ran.status == 2 and "no such results file" in ran.err
