"""The report: one self-contained page that opens offline, the answer first."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from antexp.analysis.result import Judgement
from antexp.plan.cautions import Caution, cautions
from antexp.plan.reader import plan_from_dict
from antexp.report.budget_tables import budget_sentence, budget_table, matched_table
from antexp.report.check_figures import BY_WIRE
from antexp.report.gap_figure import left_out_of_the_picture
from antexp.report.less_sure import WHY_LESS_SURE, in_doubt, less_sure
from antexp.report.next_steps import next_steps, noticeable
from antexp.report.numbers import decibels, percent, probability
from antexp.report.page_templates import page_template
from antexp.report.pictures import svg_for_page
from antexp.report.report_pictures import drawn, svg_by_name
from antexp.report.scope import scope_sentence
from antexp.report.sources import how_it_was_done, sources_of
from antexp.report.tables import gap_table, said_of_all_gaps, spread_table, statistician_table
from antexp.report.wording import MEANING, answer, best, best_explained, findings, question

_ALT = {
    "day": "Readings in time order with the fitted drift.",
    "spread": "Scatters seen, and what to hold them against.",
    "gap-budget": "Each gap as a stack of mismatch, metal, height and the rest.",
    "expected-measured": "What physics expects beside what was measured.",
    "receivers": "Gaps as each receiver saw them.",
}
_TALL_ROWS = 12
"""From this many gaps on a picture may fill a printed page of its own."""
_FEW_ROWS = 5
"""Up to this many gaps the paper has room for larger letters in pictures that stand side by side."""


def report_page(judgement: Judgement, svg: dict[str, str] | None = None) -> str:
    """Return the report as HTML.

    Parameters
    ----------
    judgement : Judgement
        The result.
    svg : dict of str to str, optional
        Its pictures where they are drawn already (`antexp.report.report_pictures`).

    Returns
    -------
    str
        A whole HTML document with nothing to load from elsewhere; every text from the user is escaped.
    """
    return page_template("report.html").render(
        judgement=judgement,
        answer=answer(judgement),
        findings=[text for text in (*findings(judgement), best(judgement), best_explained(judgement)) if text],
        question=question(judgement),
        scope=scope_sentence(judgement.family, judgement.plan),
        next_steps=next_steps(judgement),
        noticeable=noticeable(judgement),
        gaps=_cells(gap_table(judgement)),
        spreads=_cells(spread_table(judgement)),
        statistics=_cells(statistician_table(judgement)),
        of_all_gaps=said_of_all_gaps(judgement),
        less_sure=less_sure(judgement), why_less_sure=WHY_LESS_SURE if in_doubt(judgement).any() else "",
        meaning={verdict: text for verdict, text in MEANING.items() if verdict in set(judgement.family["verdict"])},
        pictures=_pictures(judgement, svg_by_name(drawn(judgement)) if svg is None else svg),
        tall=len(judgement.family) > _TALL_ROWS,
        few=len(judgement.family) <= _FEW_ROWS,
        left_out=left_out_of_the_picture(judgement),
        budgets=_budgets(judgement),
        cautions=_cautions(judgement),
        method=how_it_was_done(judgement),
        sources=list(sources_of(judgement).values()),
        by_wire=BY_WIRE,
        decibels=decibels,
        percent=percent,
        probability=probability,
    )


def _pictures(judgement: Judgement, svg: dict[str, str]) -> dict[str, Markup]:
    """Return the pictures for the page, each with a text for readers who do not see it."""
    alt = _ALT | {"gaps": f"Gaps with their limits. {answer(judgement)}"}
    alt |= {f"check-{check.name}": f"{check.question} {check.answer}" for check in judgement.checks}
    return {name: Markup(svg_for_page(text, alt[name], name)) for name, text in svg.items()}


def _budgets(judgement: Judgement) -> dict[str, Any] | None:
    """Return where the gaps come from: the tables and what they rest on; None where nothing is known."""
    budgets = judgement.budgets
    if budgets is None:
        return None
    return {
        "rests_on": budget_sentence(budgets),
        "table": _cells(budget_table(budgets)),
        "matched": _cells(matched_table(budgets)) if len(budgets.matched) else None,
    }


def _cautions(judgement: Judgement) -> tuple[Caution, ...]:
    """Return the usual cautions, with the plan's own distances where there is one."""
    return cautions(judgement.plan or plan_from_dict({"candidates": ["one", "another"]}))


def _cells(table: Any) -> dict[str, list[Any]]:
    """Return a table as heads and rows for the template."""
    return {"heads": list(table.columns), "rows": table.to_numpy().tolist()}
