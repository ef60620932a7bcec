"""What may be said, as files: a page for the club, a slide, a newsletter paragraph and a methods paragraph."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import Any

from markupsafe import Markup

from antexp.analysis.result import Judgement
from antexp.files import write_folder
from antexp.plan.model import Plan
from antexp.report.gap_figure import gap_figure
from antexp.report.numbers import decibels, percent
from antexp.report.page_templates import page_template
from antexp.report.paragraphs import bands_sentence, methods, newsletter
from antexp.report.pictures import inline_svg
from antexp.report.radio_figures import band_curves, frequency_strip_figure
from antexp.report.scope import scope_sentence
from antexp.report.statements import statements
from antexp.report.wording import answer

_ON_A_SLIDE, _GAPS_ON_A_SLIDE = 2, 10
_LONG = 420  # letters of statements beyond which they are set smaller


def club_page(judgement: Judgement, plan: Plan | None = None) -> str:
    """Return a page for the club as HTML that loads nothing from elsewhere.

    Parameters
    ----------
    judgement : Judgement
        Its record is not needed.
    plan : Plan, optional
        Gives band and height their numbers, and the wires of the strip over the bands.
    """
    bands, sentence = _bands(judgement, plan)
    return _render("club_page.html", judgement, plan, statements=statements(judgement, plan), bands=bands,
                   bands_sentence=sentence)


def slide(judgement: Judgement, plan: Plan | None = None) -> str:
    """Return one slide as HTML, 16 to 9, to be shown full screen or printed to a page."""
    said = statements(judgement, plan)
    # the largest gap and the best: what the room will talk about; the scope stands at the foot
    chosen = [said[0], said[-2]] if len(said) > _ON_A_SLIDE else list(said[:1])
    shown = _largest(judgement)
    left = len(judgement.family) - len(shown.family)
    letters = sum(len(each.may) + len(each.may_not) for each in chosen)
    return _render("slide.html", judgement, plan, picture_of=shown, statements=chosen, long=letters > _LONG,
                   shown=f"The picture shows the {len(shown.family)} largest of {len(judgement.family)} gaps."
                   if left else "")


def _largest(judgement: Judgement) -> Judgement:
    """Return a judgement with as many of its gaps as can be read from the last row, the largest."""
    sizes = judgement.family["gap_db"].astype(float).abs().sort_values(ascending=False, kind="stable")
    if len(sizes) <= _GAPS_ON_A_SLIDE:
        return judgement
    return replace(judgement, gaps=judgement.family.loc[sorted(sizes.index[:_GAPS_ON_A_SLIDE])])


def write_said(judgement: Judgement, folder: str | os.PathLike[str], plan: Plan | None = None) -> tuple[Path, ...]:
    """Write everything into a folder, all or none; return the files.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    return write_folder(folder, {
        "club-page.html": club_page(judgement, plan), "slide.html": slide(judgement, plan),
        "newsletter.txt": newsletter(judgement, plan), "methods.txt": methods(judgement, plan)})


def _bands(judgement: Judgement, plan: Plan | None) -> tuple[Markup | str, str]:
    """Return the strip over the bands and its sentence; empty where physics is silent."""
    if plan is None:
        return "", ""
    curves = band_curves(plan)
    sentence = bands_sentence(curves, plan.radio.frequency_mhz)
    if not sentence:
        return "", ""
    return Markup(inline_svg(frequency_strip_figure(curves, plan.radio.frequency_mhz), sentence, "bands")), sentence


def _render(name: str, judgement: Judgement, plan: Plan | None, picture_of: Judgement | None = None,
            **more: Any) -> str:
    """Fill a template, with escaping on and missing names an error."""
    text, scope = answer(judgement), scope_sentence(judgement.family, plan)
    picture = Markup(inline_svg(gap_figure(picture_of or judgement), text, "gaps"))
    return page_template(name).render(judgement=judgement, answer=text, scope=scope, gaps=picture, percent=percent,
                                      decibels=decibels, **more)
