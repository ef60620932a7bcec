"""The room's pages as templates: every name escaped, a missing one an error."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

_FOLDER = PackageLoader("antexp.report", "templates")


@cache
def _pages() -> Environment:
    return Environment(loader=_FOLDER, autoescape=True, undefined=StrictUndefined, trim_blocks=True)


def page_template(name: str) -> Template:
    """Load a template by its file's name; ``frame.html`` is what all of them stand in."""
    return _pages().get_template(name)


def page_script(name: str) -> str:
    """Return a script of a page, letter by letter: the page's policy names it by its digest."""
    return _FOLDER.get_source(_pages(), name)[0]
