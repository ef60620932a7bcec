"""How the documentation is built: ``python -m sphinx -W -b html docs docs/_build``."""

import re
import sys
from importlib.metadata import version as installed_version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))  # mathml.py

project = "antexp"
author = "The antexp developers"
copyright = "2026, the antexp developers"
release = installed_version("antexp")

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "mathml"]
html_math_renderer = "mathml"
myst_enable_extensions = ["dollarmath", "amsmath", "deflist"]
myst_heading_anchors = 3
smartquotes = False  # quotes in the pages are those of the plan file, to be copied
exclude_patterns = ["_build"]

autodoc_typehints = "none"
autodoc_member_order = "bysource"
napoleon_google_docstring = False

html_theme = "furo"
html_static_path = ["static"]
html_css_files = ["pages.css"]
html_title = f"antexp {release}"
html_copy_source = False
html_show_sourcelink = False


def _call_a_path_path_like(app, what, name, obj, options, lines):
    """Say path-like in types: the bare word would link to the attribute `path` of a plan."""
    lines[:] = [re.sub(r"(?<= : )path\b(?!-)|(?<= of )path(?= or )", "path-like", line) for line in lines]


def setup(app):
    """Register the hook, before the docstrings are taken apart."""
    app.connect("autodoc-process-docstring", _call_a_path_path_like, priority=100)
