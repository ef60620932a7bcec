"""What a notebook shows of each result: the answer, its sentences, a picture, a table."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from rich.table import Table
from rich.text import Text

from antexp.analysis.choice import Choice
from antexp.analysis.compare_days import DayComparison
from antexp.analysis.pilot_result import Pilot
from antexp.analysis.pool import Pooled
from antexp.analysis.result import Judgement
from antexp.design.order_document import Order
from antexp.field.trimmed import TrimSheet
from antexp.plan.expected_loss import ExpectedLosses
from antexp.plan.model import Plan
from antexp.repeats.answer import Answer
from antexp.repeats.rehearsal import Rehearsal
from antexp.report.numbers import decibels, percent
from antexp.report.pictures import inline_svg


def judgement_html(judgement: Judgement) -> str:
    """Return answer, findings, picture, table, what next and warnings of a judgement."""
    from antexp.report.next_steps import next_steps
    from antexp.report.tables import gap_table
    from antexp.report.wording import answer, best, findings

    said = [text for text in (*findings(judgement), best(judgement)) if text]
    return (_shown(answer(judgement), said, judgement.picture("gaps"), gap_table(judgement))
            + "<p>What next:</p>" + _bullets(next_steps(judgement))
            + "<p>What to know:</p>" + _bullets(notice.text for notice in judgement.warnings))


def order_html(order: Order) -> str:
    """Return what an order can tell, its picture and its table."""
    from antexp.report.order_text import order_answer

    return _shown(order_answer(order), (), order.picture("swaps"), order.table)


def plan_html(plan: Plan) -> str:
    """Return a plan's candidates and what it leaves to antexp."""
    names = "".join(f"<li>{escape(name)}</li>" for name in plan.candidate_names)
    reference = f"the reference is “{escape(plan.reference)}”"
    title = escape(plan.title or "Plan")
    return f"<p><b>{title}</b>: {reference}</p><ol>{names}</ol><p>Assumed:</p>{_bullets(plan.assumptions)}"


def answer_html(answer: Answer) -> str:
    """Return how many repeats, what they buy, and the picture."""
    from antexp.report.repeats_text import headline, repeats_table, sentences

    picture = answer.picture("chance" if "chance" in answer.pictures else "detectable")
    return _shown(headline(answer), sentences(answer), picture, repeats_table(answer))


def expected_html(expected: ExpectedLosses) -> str:
    """Return what physics expects."""
    from antexp.report.expect_text import expected_answer, expected_table

    return _shown(expected_answer(expected), (), expected.picture("expected-loss"), expected_table(expected))


def choice_html(choice: Choice) -> str:
    """Return which wires cannot be told apart, and what else speaks for each."""
    from antexp.report.choice_table import choice_table
    from antexp.report.choice_wording import choice_answer, choice_sentences

    return _shown(choice_answer(choice), choice_sentences(choice), choice.picture("price"), choice_table(choice))


def pooled_html(pooled: Pooled) -> str:
    """Return what several days say together."""
    from antexp.report.pool_text import pooled_answer, pooled_table

    return _shown(pooled_answer(pooled), (notice.text for notice in pooled.warnings), pooled.picture("days"),
                  pooled_table(pooled))


def days_html(days: DayComparison) -> str:
    """Return what two days say of each other."""
    from antexp.report.compare_text import compare_answer, compare_sentences, days_table

    return _shown(compare_answer(days), compare_sentences(days), days.picture("days"), days_table(days))


def pilot_html(pilot: Pilot) -> str:
    """Return the verdict on a set-up and its spreads."""
    from antexp.report.pilot_text import pilot_answer, pilot_sentences

    return _shown(pilot_answer(pilot), pilot_sentences(pilot))


def trim_html(sheet: TrimSheet) -> str:
    """Return the lengths to cut to."""
    from antexp.report.trim_text import trim_answer, trim_table

    return _shown(trim_answer(sheet), (), table=trim_table(sheet))


def rehearsal_html(rehearsal: Rehearsal) -> str:
    """Return how often each gap was noticed in the simulated records."""
    rows = rehearsal.table
    table = pd.DataFrame({
        "candidate": rows["candidate"], "against": rows["against"],
        "true gap dB": rows["true_gap_db"].map(lambda value: decibels(value, signed=True)),
        **{name: rows[name].map(percent) for name in ("noticed", "wrong_way", "covered")},
    }).rename(columns={"wrong_way": "wrong way", "covered": "limits hold"})
    return _shown(f"{rehearsal.records} simulated records judged; every gap noticed in "
                  f"{percent(rehearsal.all_noticed)} of them.", (), table=table)


def mass_figure(choice: Choice, axes: Axes | None = None) -> Axes:
    """Draw the gaps against mass."""
    from antexp.report.choice_figure import choice_figure

    return choice_figure(choice, "mass", axes)


def _shown(answer: str, sentences: Iterable[str] = (), picture: Axes | None = None,
           table: pd.DataFrame | Table | None = None) -> str:
    """Return an answer in bold, sentences, a picture and a table as HTML; every text escaped."""
    parts = [f"<p><b>{escape(answer)}</b></p>", _bullets(sentences)]
    if picture is not None:
        svg = inline_svg(picture, answer, "nb")
        parts.append(f'<div style="max-width:44em;background:#fff">{svg}</div>')
    if table is not None:
        frame = _frame(table) if isinstance(table, Table) else table
        parts.append(frame.to_html(index=False, border=0, max_rows=60))
    return "".join(parts)


def _bullets(sentences: Iterable[str]) -> str:
    """Return sentences as a list; nothing for none."""
    items = "".join(f"<li>{escape(text)}</li>" for text in sentences)
    return f"<ul>{items}</ul>" if items else ""


def _frame(table: Table) -> pd.DataFrame:
    """Return a table of the terminal as rows for a page."""
    return pd.DataFrame({_plain(column.header): [_plain(cell) for cell in column.cells] for column in table.columns})


def _plain(cell: Any) -> str:
    """Return the text of a cell without its style."""
    return cell.plain if isinstance(cell, Text) else str(cell)
