"""Figures as SVG and PNG, byte for byte the same for the same result."""

from __future__ import annotations

import io
import re

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from antexp.report.style import house_style


def as_svg(axes: Axes) -> str:
    """Return the figure that holds the axes as an SVG element, without XML prolog or date."""
    buffer = io.StringIO()
    with house_style():  # ids in the file follow the style's salt, so that the same picture is the same bytes
        _figure(axes).savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
    text = buffer.getvalue()
    return text[text.index("<svg") :].strip() + "\n"


def settled_svg(axes: Axes) -> str:
    """Return the SVG, and keep the layout from then on, so that a PNG of the same figure need not find it again."""
    text = as_svg(axes)
    _figure(axes).set_layout_engine("none")
    return text


def inline_svg(axes: Axes, title: str, prefix: str) -> str:
    """Return an SVG that may stand in a page beside others: fluid width, own ids, and a title for screen readers.

    Parameters
    ----------
    axes : Axes
        What to draw.
    title : str
        Text for readers who do not see the picture.
    prefix : str
        Put before every id, so that two pictures in one page do not share one.
    """
    return svg_for_page(as_svg(axes), title, prefix)


def svg_for_page(svg: str, title: str, prefix: str) -> str:
    """Return a drawn SVG so that it may stand in a page; see `inline_svg`."""
    text = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{prefix}-", svg)
    head, rest = text.split(">", 1)
    head = re.sub(r'\s(width|height)="[^"]*"', "", head)
    return f'{head} role="img" aria-label="{_attribute(title)}">{rest}'


def as_png(axes: Axes, dots_per_inch: int = 150) -> bytes:
    """Return the figure that holds the axes as PNG."""
    buffer = io.BytesIO()
    with house_style():
        _figure(axes).savefig(buffer, format="png", dpi=dots_per_inch, metadata={"Software": None})
    return buffer.getvalue()


def _figure(axes: Axes) -> Figure:
    """Return the top figure of axes, every text in it plain: a name between dollar signs is no formula."""
    figure = axes.figure
    while not isinstance(figure, Figure):
        figure = figure.get_figure()
    for text in figure.findobj(Text):
        text.set_parse_math(False)
    return figure


def _attribute(text: str) -> str:
    """Escape text for an attribute."""
    return text.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;").replace(">", "&gt;")
