"""The two pages for telephone, tablet or laptop: one file each, nothing loaded from anywhere, nothing to install."""

from __future__ import annotations

import json
from typing import Any

from markupsafe import Markup

from antexp.field.book_columns import HANGING_COLUMNS, MORE_WHEN_WANDERING, READING_COLUMNS, SLIP_DB
from antexp.field.facts import FieldFacts
from antexp.field.page_parts import cautions_of, policy_hash, render, source
from antexp.field.run_sheet import SCALE_WORDS, reading_view
from antexp.field.swap_list import SwapList, companion_path

_SHARED_SCRIPTS = ("csv.js", "book.js", "clock.js", "levels.js", "keep.js", "screen.js", "panels.js", "files.js")


def entry_pages(swaps: SwapList, facts: FieldFacts) -> dict[str, str]:
    """Return the pages by their file name's ending; without names only the reading end's."""
    reading = {"reading-page.html": reading_page(swaps, facts)}
    return {"hanging-page.html": hanging_page(swaps, facts), **reading} if swaps.has_names else reading


def reading_page(swaps: SwapList, facts: FieldFacts) -> str:
    """Return the reading end's page; unless the plan says ``blind = false`` it has no names in it."""
    unit, hint = SCALE_WORDS[facts.scale]
    hint = f"{hint[0].upper()}{hint[1:]}; decimal comma or point." if facts.scale != "dBm" else (
        "The minus sign is there already; decimal comma or point. Type + or − first to set the sign yourself.")
    view = reading_view(swaps, facts)
    return _page("reading_page.html", "Reading end", facts, {
        **_day(view, "reading", READING_COLUMNS), "scale": facts.scale, "unit": unit, "hint": hint,
        "readings": facts.readings, "odd_db": facts.odd_db, "slip_db": SLIP_DB,
        "more_when_wandering": MORE_WHEN_WANDERING,
    }, "reading.js")


def hanging_page(swaps: SwapList, facts: FieldFacts) -> str:
    """Return the hanging end's page, HTML complete in itself; its swaps have names."""
    return _page("hanging_page.html", "Hanging end", facts, {
        **_day(swaps, "hanging", HANGING_COLUMNS),
        "several_places": len({swap.place for swap in swaps.swaps}) > 1,
    }, "hanging.js")


def _day(swaps: SwapList, end: str, columns: tuple[str, ...]) -> dict[str, Any]:
    """Return what a page knows of the day."""
    names = ("candidate", "specimen", "place", "role") if swaps.has_names else ()
    shown = ("swap", "block", "minutes", "word", *names)
    return {
        "end": end,
        "fingerprint": swaps.fingerprint,
        "file": companion_path(swaps.path, f"{end}-end.record.csv").name,
        "columns": columns,
        "minutes_per_swap": swaps.minutes_per_swap,
        "swaps": [{name: getattr(swap, name) for name in shown} for swap in swaps.swaps],
    }


def _page(template: str, heading: str, facts: FieldFacts, day: dict[str, Any], own_script: str) -> str:
    """Put a page together; its policy lets run only the script and style that stand in it."""
    style = source("page.css")
    script = ("\n(function () {\n\"use strict\";\n"
              + "\n".join(source(name) for name in (*_SHARED_SCRIPTS, own_script)) + "})();\n")
    return render(
        template, heading=heading, cautions=cautions_of(facts), day=json_in_html(day), style=Markup(style),
        script=Markup(script), style_hash=policy_hash(style), script_hash=policy_hash(script),
    )


def json_in_html(value: object) -> Markup:
    """Return a value as JSON that cannot end the script element it stands in, whatever names it holds."""
    text = json.dumps(value, ensure_ascii=True)
    for letter, code in (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026")):
        text = text.replace(letter, code)
    return Markup(text)  # no letter of it can open or close markup
