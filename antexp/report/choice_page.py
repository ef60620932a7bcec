"""What to buy as one self-contained page with a table that can be sorted, and its files."""

from __future__ import annotations

import math
import os
from itertools import groupby
from pathlib import Path
from typing import get_args

from markupsafe import Markup

from antexp.analysis.choice import Choice
from antexp.field.page_parts import policy_hash
from antexp.files import write_folder
from antexp.plan.model import Plan
from antexp.report.choice_figure import By, choice_figure
from antexp.report.choice_table import filled_columns, sorted_wires
from antexp.report.choice_wording import (
    choice_answer,
    choice_sentences,
    corrosion_lines,
    handling_lines,
    missing_keys,
    span_sentence,
    weak_sentences,
)
from antexp.report.numbers import percent
from antexp.report.page_templates import page_script, page_template
from antexp.report.pictures import as_png, settled_svg, svg_for_page
from antexp.report.scope import scope_sentence


def choice_page(choice: Choice, plan: Plan | None = None, sort: str | None = None,
                svg: dict[By, str] | None = None) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    choice : Choice
    plan : Plan, optional
        Gives the scope its numbers.
    sort : str, optional
        One of `antexp.report.choice_table.SORT_KEYS`.
    svg : dict, optional
        The pictures where they are drawn already, by what the gaps are drawn against.

    Returns
    -------
    str
        A whole document that loads nothing from elsewhere; every text from the user is escaped.
    """
    script = page_script("choice.js")
    bodies = [(standing, list(wires)) for standing, wires in
              groupby(sorted_wires(choice, sort), key=lambda wire: wire.standing)]
    title = choice_answer(choice)
    drawn = svg or {by: settled_svg(choice_figure(choice, by)) for by in pictures_of(choice)}
    return page_template("choice.html").render(
        script=Markup(script), script_hash=policy_hash(script), choice=choice, answer=title,
        scope=scope_sentence(choice.judgement.family, plan), sentences=choice_sentences(choice),
        columns=filled_columns(choice), bodies=bodies, number=_number,
        has_loads=any(column.loads for column in filled_columns(choice)), missing=missing_keys(choice),
        span=span_sentence(choice), weak=weak_sentences(choice),
        corrosion=corrosion_lines(choice), handling=handling_lines(choice), percent=percent,
        pictures={by: Markup(svg_for_page(drawn[by], title, by)) if by in drawn else "" for by in get_args(By)},
    )


def pictures_of(choice: Choice) -> tuple[By, ...]:
    """Return what the gaps can be drawn against: always price, mass where a mass is known."""
    return ("price", "mass") if any(wire.mass_g_per_m is not None for wire in choice.wires) else ("price",)


def choice_files(choice: Choice, plan: Plan | None = None, sort: str | None = None) -> dict[str, str | bytes]:
    """Return the files of a choice by name: the page, and the pictures as SVG and PNG."""
    axes = {by: choice_figure(choice, by) for by in pictures_of(choice)}
    svg = {by: settled_svg(each) for by, each in axes.items()}
    contents: dict[str, str | bytes] = {"choice.html": choice_page(choice, plan, sort, svg)}
    for by, each in axes.items():
        contents |= {f"choice-{by}.svg": svg[by], f"choice-{by}.png": as_png(each)}
    return contents


def write_choice(choice: Choice, folder: str | os.PathLike[str], plan: Plan | None = None,
                 sort: str | None = None) -> Path:
    """Write the page and its pictures into a folder, all or none; return the page.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    write_folder(folder, choice_files(choice, plan, sort))
    return Path(folder) / "choice.html"


def _number(value: float | None) -> str:
    """Write a number for the page's sorting; empty where there is none."""
    return "" if value is None or not math.isfinite(value) else f"{value:.9g}"
