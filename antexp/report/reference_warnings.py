"""The reference page of warning codes, made from the codes and their meanings."""

from __future__ import annotations

from antexp.field.doubt import EFFECTS
from antexp.notices import CODES
from antexp.report.markdown import code, plain, table

_HEAD = """# Warning codes

A warning is data: a code that scripts can rely on, and a text that says what it means for this plan or record. A
warning never stops anything; what stops is a fault, with exit status 2.
"""


def warnings_page() -> str:
    """Return the page as Markdown."""
    codes = table(("code", "meaning"), [(code(name), plain(meaning)) for name, meaning in CODES.items()])
    doubts = table(("code", "what it does to the judgement"),
                   [(code(name), plain(effect)) for name, effect in EFFECTS.items()])
    return (f"{_HEAD}\n## Warnings\n\nIn `warnings` of `results.json` and of other documents.\n\n{codes}\n"
            f"## Doubts about a readings file\n\nIn `doubts` of `antexp check READINGS --json`.\n\n{doubts}")
