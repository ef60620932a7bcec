"""The reference page of `results.json` and of the other documents, made from what the results say of themselves."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from antexp.analysis.archive import Kept
from antexp.analysis.choice import IN_THE_GROUP, OPEN, STANDINGS, TOO_WEAK, WEAKER, Choice, Wire
from antexp.analysis.compare_days import DayComparison
from antexp.analysis.pilot_result import Pilot
from antexp.analysis.result import Check, DriftSeen, Judgement, Opinion, Spread
from antexp.analysis.wire_loads import WireLoad
from antexp.columns import EXPECTED_LOSSES, GAPS, ORDER_GAPS, REPEATS, TRIM
from antexp.design.order_document import Order
from antexp.field.doubts import ReadingsCheck
from antexp.plan.range_check import RangeCheck
from antexp.repeats.answer import Answer
from antexp.repeats.bare_gap import BareGap
from antexp.repeats.single_hangings import TableAgainstChance
from antexp.report.docstring_fields import fields_of
from antexp.report.gap_files import GAPS_CSV
from antexp.report.markdown import code, plain, table
from antexp.report.reference_files import columns_table

_HEAD = """# Results and other documents

The keys of `results.json`, which `antexp judge -o DIR` writes and `antexp judge --json` prints, and of what the other
commands print with `--json`. Numbers are not rounded; what is not known is `null`.
"""

_BESIDE = """## gaps.csv, gap-budget.csv and the pictures

`antexp judge -o DIR` and `antexp.write_report` write them beside `results.json` and `report.html`. `gaps.csv` is for a
spreadsheet: one row a gap and scope, the strongest first, numbers not rounded, what is not known a blank cell, and
texts that no spreadsheet takes for a formula (such a text begins with a quote mark). `gap-budget.csv`, where something
is known of where the gaps come from, has the keys of `gap_budgets` as columns. Every picture of the report is there as
SVG and PNG: `gaps`, `day`, `spread`, and where there is something to draw `gap-budget`, `expected-measured`,
`receivers` and `check-…`, one for each question to the residuals."""

_WARNINGS = ("list", "Each with `code`, one of the [warning codes](warnings.md), and `text`, what it means here; some "
             "with `gaps`, those it is about, as candidate and against.")
_JSON_KINDS = ((r"^DataFrame.*", "list of rows"), (r"^ndarray.*", "list of lists"), (r"^dict.*", "object"),
               (r"^(tuple|list) of (?!None)[A-Z]\w+", "list of objects"), (r"\bNone\b", "null"),
               (r"\b[A-Z]\w+\b", "object"), (r"\btuple\b", "list"), (r"\bstr\b", "text"),
               (r"\bint\b", "whole number"), (r"\bfloat\b", "number"), (r"\bbool\b", "true or false"))


def json_kind(kind: str) -> str:
    """Return a Python kind in the words of JSON."""
    if kind.startswith("{"):
        return kind  # its words, one of which it is
    for pattern, word in _JSON_KINDS:
        kind = re.sub(pattern, word, kind)
    return kind


@dataclass(frozen=True)
class Document:
    """One document, or a part of one.

    Attributes
    ----------
    heading : str
        What it is called.
    described : type
        The result whose fields it holds.
    without : tuple of str
        Fields that the document does not hold.
    besides : dict of str to (str, str)
        Keys with no field of that name: kind and meaning.
    """

    heading: str
    described: type
    without: tuple[str, ...] = ()
    besides: Mapping[str, tuple[str, str]] = field(default_factory=dict)

    def keys(self) -> dict[str, tuple[str, str]]:
        """Return kind and meaning by key."""
        own = {name: (json_kind(kind), re.sub(r"\bNone\b", "null", meaning))
               for name, (kind, meaning) in fields_of(self.described).items() if name not in self.without}
        return {**own, **self.besides}

    def to_markdown(self) -> str:
        """Return its section of the page."""
        rows = [(code(name), plain(meaning), kind) for name, (kind, meaning) in self.keys().items()]
        return f"## {self.heading}\n\n{table(('key', 'meaning', 'kind'), rows)}"


RESULTS = Document("results.json", Judgement, ("day", "budgets", "plan"), {
    "gaps": ("list of rows", "One row a comparison and scope, see below."),
    "matched_gaps": ("list of rows", "Gaps with the mismatch taken out, where feed impedances or SWR are known."),
    "gap_budgets": ("list of rows", "Each gap by its shares: mismatch, wire, height, the rest."),
    "warnings": _WARNINGS,
})
DOCUMENTS = (
    RESULTS,
    Document("Keys of spread", Spread),
    Document("Keys of drift", DriftSeen),
    Document("Items of checks", Check, ("data",)),
    Document("Items of second_opinions", Opinion),
    Document("antexp check PLAN", RangeCheck, (), {
        "expected": ("list of rows", "As `candidates` of `antexp expect`."),
        "sentences": ("list of text", "What physics expects, in words."), "warnings": _WARNINGS,
        "detectable_db": ("number or null", "The true gap that the day as planned notices.")}),
    Document("antexp check READINGS", ReadingsCheck, ("name",), {
        "readings_file": ("text", "The file, or \"the readings table\"."),
        "can_be_judged": ("true or false", "Whether there is no fault.")}),
    Document("antexp order", Order, (
        "table", "recipe", "warnings", "minutes_per_swap", "block_starts", "plan_sha256", "sha256"), {
        "seed": ("whole number", "Of the draw."),
        "swaps": ("whole number", "How many."), "blocks": ("whole number", "How many."),
        "hours": ("number", "Of swapping, breaks not counted."), "warnings": _WARNINGS,
        "blocks_are": ("text", "Complete, balanced incomplete or incomplete."),
        "timetable": ("list of rows", "One entry a block."),
        "follows": ("object", "For each candidate how often it hangs directly after each other."),
        "hang_again": ("list", "Swaps at which the hanging antenna is lowered and hung again."),
        "never_in_one_block": ("list", "Pairs that only others tie together."),
        "rules": ("list of text", "What every order of the set keeps.")}),
    Document("antexp repeats", Answer, ("order",), {"warnings": _WARNINGS}),
    Document("antexp gap DB", BareGap),
    Document("antexp gap --table FILE", TableAgainstChance, ("scatter",), {
        "hangings": ("whole number", "Rows of the table."),
        "rehang_sd_db": ("number, dB", "Taken as known."), "reading_sd_db": ("number, dB", "Taken as known."),
        "readings": ("whole number", "Of each hanging.")}),
    Document("antexp pilot", Pilot, ("rehang", "reading", "still"), {
        "rehang_sd_db": ("object", "Scatter between hangings: `sd_db`, limits and degrees of freedom."),
        "reading_sd_db": ("object or null", "Scatter of readings within a swap, likewise."),
        "still_sd_db": ("object or null", "Scatter of the hold-still readings about a line, likewise."),
        "for_the_plan": ("text", "The spreads as lines to paste into the plan.")}),
    Document("antexp choose", Choice, ("judgement", "swap_minutes"), {
        **{key: RESULTS.keys()[key] for key in ("title", "reference", "confidence", "matter_db", "could_be_best")},
        **{key: ("list of text", f"The wires of which one says: {STANDINGS[standing]}.")
           for key, standing in (("group", IN_THE_GROUP), ("open", OPEN), ("weaker", WEAKER), ("too_weak", TOO_WEAK))},
        "minutes_per_swap": ("number or null, minutes", "Median over all timed swaps."),
        "swaps_timed": ("whole number", "How many that rests on."), "warnings": _WARNINGS}),
    Document("Items of wires", Wire, ("load",), {
        **Document("", WireLoad).keys(),
        "corrosion": ("object", "By where it will live: `place`, `low` and `high` (ISO 9223), `text`, `years`.")}),
    Document("antexp compare", DayComparison, ("table",), {
        "changes": ("list of rows", f"One row a wire: {fields_of(DayComparison)['table'][1]}")}),
    Document("antexp keep, antexp open", Kept),
)

_ROWS = {
    GAPS: "`gaps` of `results.json`",
    REPEATS: "`table` of `antexp repeats`",
    ORDER_GAPS: "`gaps` of `antexp order`",
    EXPECTED_LOSSES: "`candidates` of `antexp expect`",
    TRIM: "`candidates` of `antexp trim`",
}


def results_page() -> str:
    """Return the page as Markdown."""
    rows = [f"## Rows of {each.name}\n\n{where}; one row is {each.row}.\n\n{columns_table(each)}"
            for each, where in _ROWS.items()]
    others = [each.to_markdown() for each in DOCUMENTS[1:]]
    return "\n".join([_HEAD, RESULTS.to_markdown(), rows[0], _spreadsheet(), *others, *rows[1:]])


def _spreadsheet() -> str:
    """Return the section on the tables for a spreadsheet, and on the pictures."""
    columns = table(("column", "meaning"), [(code(name), plain(meaning)) for name, meaning in GAPS_CSV.items()])
    return f"{_BESIDE}\n\n{columns}"
