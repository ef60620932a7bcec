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


def test_only_pictures_that_a_result_has_are_offered(flow):
    _, _, judgement = flow
    assert "receivers" not in judgement.pictures
    assert {f"check-{check.name}" for check in judgement.checks} <= set(judgement.pictures)
    with pytest.raises(ValueError, match="no such picture"):
        judgement.picture("receivers")


def test_every_result_draws_its_pictures_into_given_axes_and_shows_itself(flow):
    from matplotlib.figure import Figure

    plan, order, judgement = flow
    later = antexp.judge(antexp.simulate(plan, order, gaps_db=TRUE_GAPS_DB, seed=2), plan)
    results = {
        "plan": (plan, "enamelled copper"), "order": (order, "<svg"), "judgement": (judgement, "What next"),
        "choice": (antexp.choose(antexp.simulate(plan, order, gaps_db=TRUE_GAPS_DB, seed=1), plan), "wire"),
        "expected": (antexp.expected_losses(plan), "<table"),
        "pooled": (antexp.pool([judgement, later]), "2 days together"),
        "days": (antexp.compare_days(judgement, later), "<svg"),
        "trim": (antexp.trim_sheet(plan), "<table"),
        "rehearsal": (antexp.rehearse(plan, order, gaps_db=TRUE_GAPS_DB, records=4, seed=1), "4 simulated records"),
    }
    for kind, (result, word) in results.items():
        assert word in result._repr_html_(), kind
        for name in result.pictures:
            axes = Figure().subplots()
            assert result.picture(name, axes) is axes, (kind, name)
            assert axes.has_data(), (kind, name)


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
