"""Plans, orders and judgements show themselves in a notebook, and draw their pictures by name."""

from __future__ import annotations

import subprocess
import sys

import pytest

import antexp
from antexp.demo.scenario import TRUE_GAPS_DB, demo_plan


@pytest.fixture(scope="module")
def flow():
    plan = demo_plan()
    order = antexp.make_order(plan)
    readings = antexp.simulate(plan, order, gaps_db=TRUE_GAPS_DB, seed=1)
    return plan, order, antexp.judge(readings, plan)


def test_each_shows_itself_as_html(flow):
    plan, order, judgement = flow
    assert "meadow vertical" in plan._repr_html_()
    assert "<table" in order._repr_html_()
    html = judgement._repr_html_()
    assert "<svg" in html and "Of 7 gaps" in html


def test_pictures_by_name(flow):
    _, order, judgement = flow
    assert {"gaps", "day", "spread"} <= set(judgement.pictures)
    for name in judgement.pictures:
        assert judgement.picture(name).figure is not None
    assert order.picture("swaps").figure is not None
    with pytest.raises(ValueError, match="gaps"):
        judgement.picture("gabs")


def test_names_are_escaped(flow):
    plan = antexp.plan.reader.plan_from_dict({"candidates": ["a <b>", "c"], "frequency_mhz": 7.1, "title": "<i>x"})
    assert "<b>" not in plan._repr_html_().replace("<b>&lt;i&gt;x</b>", "")


def test_importing_antexp_loads_nothing_heavy():
    script = "import sys, antexp; print([m for m in ('numpy', 'pandas', 'scipy', 'matplotlib') if m in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


def test_public_names_are_all_there():
    assert set(antexp.__all__) <= set(dir(antexp))
    with pytest.raises(AttributeError, match="no attribute"):
        _ = antexp.nothing_of_the_kind
