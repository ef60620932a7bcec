"""Rendering of sheets and pages: templates with every value escaped, and the cautions at their head."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from importlib import resources

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from antexp.field.facts import FieldFacts
from antexp.plan.cautions import cautions
from antexp.plan.reader import plan_from_dict


@cache
def _environment() -> Environment:
    """Return the template environment; a missing value is a defect, not an empty space."""
    return Environment(
        loader=PackageLoader("antexp.field", "templates"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )


def render(template: str, **values: object) -> str:
    """Return a template filled in; the page's style sheets and scripts are put in by `part`."""
    return _environment().get_template(template).render(part=part, **values)


def part(name: str) -> Markup:
    """Return one of antexp's own style sheets or scripts for use inside a page; never the user's text."""
    return Markup(source(name))


def source(name: str) -> str:
    """Return the text of a file among the templates."""
    return resources.files("antexp.field").joinpath("templates", name).read_text(encoding="utf-8")


def policy_hash(text: str) -> str:
    """Return a script's or style's digest as a content security policy writes it (W3C CSP Level 3): no other runs."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def cautions_of(facts: FieldFacts) -> tuple[str, ...]:
    """Return the cautions for the head of sheets and pages; without a plan those that need no distance of it."""
    plan = facts.plan if facts.plan is not None else plan_from_dict({"candidates": ["one", "other"]})
    return tuple(caution.text for caution in cautions(plan))
