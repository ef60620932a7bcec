"""How the documentation is built: ``python -m sphinx -W -b html docs docs/_build``."""

from importlib.metadata import version as installed_version

project = "antexp"
author = "The antexp developers"
copyright = "2026, the antexp developers"
release = installed_version("antexp")

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "sphinx.ext.mathjax"]
myst_enable_extensions = ["dollarmath", "amsmath", "deflist"]
myst_heading_anchors = 3
exclude_patterns = ["_build"]

autodoc_typehints = "none"
autodoc_member_order = "bysource"
napoleon_google_docstring = False

html_theme = "furo"
html_title = f"antexp {release}"
html_copy_source = False
html_show_sourcelink = False
