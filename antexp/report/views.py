"""Tells results how they are drawn and shown in a notebook; importing this registers it, drawing imports the rest."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from importlib import import_module
from typing import Any

from antexp.views import register_page, register_picture

_PICTURES: dict[str, dict[str, str]] = {
    "Judgement": {
        "gaps": "antexp.report.gap_figure:gap_figure",
        "day": "antexp.report.day_figure:day_figure",
        "spread": "antexp.report.spread_figure:spread_figure",
        "gap-budget": "antexp.report.budget_figures:budget_figure",
        "expected-measured": "antexp.report.budget_figures:expected_measured_figure",
    },
    "Order": {"swaps": "antexp.report.order_figures:order_figure"},
}


def register_all() -> None:
    """Register every picture and page of the report room."""
    for kind, pictures in _PICTURES.items():
        for name, home in pictures.items():
            register_picture(kind, name, _later(home))
    register_page("Judgement", _judgement_html)
    register_page("Order", _order_html)
    register_page("Plan", _plan_html)


def _later(home: str) -> Callable[..., Any]:
    """Return a function that is loaded from ``module:name`` when it is first called."""

    def draw(result: Any, axes: Any = None) -> Any:
        module, name = home.split(":")
        return getattr(import_module(module), name)(result, axes)

    return draw


def _judgement_html(judgement: Any) -> str:
    """Return answer, picture, table and warnings of a judgement."""
    from antexp.report.gap_figure import gap_figure
    from antexp.report.pictures import inline_svg
    from antexp.report.tables import gap_table
    from antexp.report.wording import answer

    notes = "".join(f"<li>{escape(notice.text)}</li>" for notice in judgement.warnings)
    picture = inline_svg(gap_figure(judgement), answer(judgement), "nb")
    table = gap_table(judgement).to_html(index=False, border=0)
    return (
        f"<p><b>{escape(answer(judgement))}</b></p>"
        f'<div style="max-width:46em;background:#fff">{picture}</div>{table}<ul>{notes}</ul>'
    )


def _order_html(order: Any) -> str:
    """Return what an order can tell, and its table."""
    from antexp.report.order_text import order_answer

    return f"<p><b>{escape(order_answer(order))}</b></p>{order.table.to_html(index=False, border=0, max_rows=60)}"


def _plan_html(plan: Any) -> str:
    """Return a plan's candidates and what it leaves to antexp."""
    names = "".join(f"<li>{escape(name)}</li>" for name in plan.candidate_names)
    assumed = "".join(f"<li>{escape(sentence)}</li>" for sentence in plan.assumptions)
    reference = f"the reference is “{escape(plan.reference)}”"
    title = escape(plan.title or "Plan")
    return f"<p><b>{title}</b>: {reference}</p><ol>{names}</ol><p>Assumed:</p><ul>{assumed}</ul>"


register_all()
