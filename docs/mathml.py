"""Equations as MathML in the page itself, so that the site shows them with no network and no script.

Browsers draw MathML on their own; `latex2mathml` writes it. What it does not know it passes on with its backslash; that
is a warning here, and the build takes warnings as errors.
"""

from __future__ import annotations

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.util import logging
from sphinx.writers.html5 import HTML5Translator

_LOGGER = logging.getLogger(__name__)


def mathml(node: nodes.Node, display: str) -> str:
    """Return a node's TeX as MathML."""
    made = str(convert(node.astext(), display=display))
    if "\\" in made:
        _LOGGER.warning("an equation has a command that MathML does not get: %s", node.astext(), location=node)
    return made


def visit_inline(translator: HTML5Translator, node: nodes.Node) -> None:
    """Write an equation within a line."""
    translator.body.append(mathml(node, "inline"))
    raise nodes.SkipNode


def visit_block(translator: HTML5Translator, node: nodes.Node) -> None:
    """Write an equation of its own; on a narrow screen it scrolls."""
    translator.body.append(f'<div class="equation">{mathml(node, "block")}</div>\n')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, object]:
    """Register the renderer under the name that ``html_math_renderer`` gives."""
    app.add_html_math_renderer("mathml", inline_renderers=(visit_inline, None), block_renderers=(visit_block, None))
    return {"version": "1", "parallel_read_safe": True, "parallel_write_safe": True}
