"""The report: one self-contained page that opens offline, the answer first."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from antexp.analysis.result import Judgement
from antexp.report.budget_figures import budget_figure, expected_measured_figure
from antexp.report.budget_tables import budget_sentence, budget_table, matched_table
from antexp.report.check_figures import check_figure
from antexp.report.day_figure import day_figure
from antexp.report.gap_figure import gap_figure
from antexp.report.numbers import decibels, percent
from antexp.report.pictures import inline_svg
from antexp.report.receivers_figure import receivers_figure
from antexp.report.spread_figure import spread_figure
from antexp.report.tables import gap_table, spread_table, statistician_table
from antexp.report.wording import MEANING, answer, best, findings, question


def report_page(judgement: Judgement) -> str:
    """Return the report as HTML.

    Parameters
    ----------
    judgement : Judgement
        The result.

    Returns
    -------
    str
        A whole HTML document with nothing to load from elsewhere; every text from the user is escaped.
    """
    return _template().render(
        judgement=judgement,
        answer=answer(judgement),
        findings=[*findings(judgement), best(judgement)],
        question=question(judgement),
        gaps=_cells(gap_table(judgement)),
        spreads=_cells(spread_table(judgement)),
        statistics=_cells(statistician_table(judgement)),
        meaning={verdict: text for verdict, text in MEANING.items() if verdict in set(judgement.family["verdict"])},
        pictures=_pictures(judgement),
        checks=_checks(judgement),
        receivers=_receivers(judgement),
        budgets=_budgets(judgement),
        decibels=decibels,
        percent=percent,
    )


def _pictures(judgement: Judgement) -> dict[str, Markup]:
    """Draw the pictures of the page."""
    return {
        "gaps": Markup(inline_svg(gap_figure(judgement), "Gaps with their limits. " + answer(judgement), "gaps")),
        "day": Markup(inline_svg(day_figure(judgement), "Readings in time order with the fitted drift.", "day")),
        "spread": Markup(inline_svg(spread_figure(judgement), "Scatters seen, and what to hold them against.", "spd")),
    }


def _receivers(judgement: Judgement) -> Markup | None:
    """Draw what each receiver saw, where there were several."""
    if judgement.receivers is None:
        return None
    return Markup(inline_svg(receivers_figure(judgement), "Gaps as each receiver saw them.", "rx"))


def _checks(judgement: Judgement) -> list[dict[str, Any]]:
    """Return each question to the residuals with its answer and picture."""
    return [
        {
            "question": check.question,
            "answer": check.answer,
            "picture": Markup(inline_svg(check_figure(check), f"{check.question} {check.answer}", check.name)),
        }
        for check in judgement.checks
    ]


def _budgets(judgement: Judgement) -> dict[str, Any] | None:
    """Return where the gaps come from: tables, pictures and what they rest on; None where nothing is known."""
    budgets = judgement.budgets
    if budgets is None:
        return None
    stack, expected = budget_figure(judgement), expected_measured_figure(judgement)
    return {
        "rests_on": budget_sentence(budgets),
        "table": _cells(budget_table(budgets)),
        "matched": _cells(matched_table(budgets)) if len(budgets.matched) else None,
        "stack": Markup(inline_svg(stack, "Each gap as a stack of mismatch, metal, height and the rest.", "bud")),
        "expected": Markup(inline_svg(expected, "What physics expects beside what was measured.", "exp")),
    }


def _cells(table: Any) -> dict[str, list[Any]]:
    """Return a table as heads and rows for the template."""
    return {"heads": list(table.columns), "rows": table.to_numpy().tolist()}


@cache
def _template() -> Template:
    """Load the page's template, with escaping on and missing names an error."""
    loader = PackageLoader("antexp.report", "templates")
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True).get_template(
        "report.html"
    )
