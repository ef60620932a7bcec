"""What people see: sentences, tables, pictures and the page."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from io import StringIO
from itertools import pairwise

import pandas as pd
import pytest
from rich.console import Console

from antexp.analysis.judge import judge
from antexp.analysis.result import Opinion
from antexp.report import numbers
from antexp.report.day_figure import day_figure
from antexp.report.gap_figure import gap_figure
from antexp.report.gap_files import GAPS_CSV, gaps_csv
from antexp.report.next_steps import next_steps, noticeable
from antexp.report.page import report_page
from antexp.report.pictures import as_png, as_svg
from antexp.report.spread_figure import spread_figure
from antexp.report.tables import gap_table, spread_rows, statistician_table
from antexp.report.terminal import print_judgement
from antexp.report.wording import answer, best, findings, question
from antexp.report.write import write_report


@pytest.fixture(scope="module")
def judgement(record):
    return judge(record(["bare", "clad", "strand", "steel"]), matter_db=1.0)


class Balanced(HTMLParser):
    """Fails on a tag that closes out of order, and collects what a page would load."""

    VOID = frozenset({"meta", "link", "br", "img", "input", "hr", "path", "use", "rect"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.loads: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag, attrs):
        links = [value for name, value in attrs if name in ("src", "href", "xlink:href") and value]
        self.loads += [value for value in links if not value.startswith("#")]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag not in self.VOID:
            assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def parsed(html: str) -> Balanced:
    page = Balanced()
    page.feed(html)
    assert page.open == []
    return page


def test_the_answer_is_one_sentence_whose_counts_add_up(judgement):
    text = answer(judgement)
    assert text.count(".") == 1 or text.endswith(".")
    counts = [int(number) for number in re.findall(r"\b(\d+) (?:is|are|stays|stay)\b", text)]
    assert sum(counts) == len(judgement.family)


def test_findings_name_every_candidate_once(judgement):
    text = " ".join(findings(judgement))
    for name in ("clad", "strand", "steel"):
        assert text.count(f"“{name}”") == 1
    assert "−2.4" in text or "−2.3" in text or "−2.5" in text


def test_one_gap_gets_a_sentence_of_its_own(record):
    two = judge(record(["bare", "clad"]), matter_db=0.1)
    said = r"“clad” is weaker than “bare” by 0\.1 dB or more: about \d\.\d\d dB \(between \d\.\d\d and \d\.\d\d\)\."
    assert re.fullmatch(said, answer(two))
    assert "differ by less than 3 dB, if at all" in answer(replace(two, matter_db=3.0, gaps=two.gaps.assign(
        verdict="no gap that matters")))


def test_gaps_that_share_a_verdict_are_said_at_once(judgement):
    alike = replace(judgement, gaps=judgement.gaps.assign(verdict="real and it matters"))
    assert answer(alike).startswith("All 3 gaps to the reference “bare” are real and 1 dB or more")


def test_many_names_are_cut_short_in_sentences_and_whole_in_the_table(record):
    names = [f"wire {i}" for i in range(14)]
    many = judge(record(names, blocks=3), matter_db=1.0)
    many = replace(many, gaps=many.gaps.assign(verdict="real and it matters"))
    assert " and 7 more." in findings(many)[0] and findings(many)[0].count("“wire") == 6
    assert set(gap_table(many)["candidate"]) == set(names[1:])


def test_the_resolution_is_a_range_where_gaps_differ_in_it(judgement):
    widths = judgement.family["resolution_db"].tolist()
    low, high = numbers.decibels(min(widths)), numbers.decibels(max(widths))
    said = findings(judgement)[-1]
    assert f"{low} to {high} dB, depending on the gap" in said if low != high else f" {low} dB;" in said
    uneven = replace(judgement, gaps=judgement.gaps.assign(resolution_db=[0.5, 0.6, 0.7]))
    assert "0.50 to 0.70 dB, depending on the gap" in findings(uneven)[-1]


def test_what_next_says_what_would_settle_and_is_silent_where_nothing_is_open(judgement):
    rows = judgement.gaps
    opened = replace(judgement, gaps=rows.assign(verdict="cannot tell", more_blocks=pd.Series([3] * 3, dtype=object)))
    assert "about 3 more blocks like these" in " ".join(next_steps(opened))
    closed = " ".join(next_steps(replace(judgement, gaps=rows.assign(verdict="no gap that matters"))))
    assert "no more swaps are needed" in closed and "halve the limits" not in closed
    near = replace(judgement, gaps=rows.assign(verdict="real, may or may not matter", gap_db=-1.0))
    assert "Say “about 1 dB”" in " ".join(next_steps(near))


def test_what_a_day_notices_is_said_with_what_just_the_gap_that_matters_would_take(judgement):
    assert "on 80 of 100 such days. That is enough for the 1 dB" in noticeable(judgement)
    coarse = replace(judgement, gaps=judgement.gaps.assign(detectable_db=2.0))
    found = re.search(r"about (\d+) blocks instead of 4", noticeable(coarse))
    # half widths shrink with the square root of the blocks: twice as fine needs about four times as many
    assert found and 13 <= int(found.group(1)) <= 17


def test_gaps_for_a_spreadsheet_are_unrounded_and_execute_nothing(judgement):
    evil = replace(judgement, gaps=judgement.gaps.assign(candidate=["=1+1", "+clad", "plain"]))
    table = pd.read_csv(StringIO(gaps_csv(evil)))
    assert list(table.columns) == list(GAPS_CSV)
    assert set(table["candidate"]) == {"'=1+1", "'+clad", "plain"}
    by_gap = evil.gaps.sort_values("gap_db", ascending=False)
    assert table["gap_db"].tolist() == pytest.approx(by_gap["gap_db"].tolist(), rel=1e-12)
    assert table["low_db"].tolist() == pytest.approx([low for low, _ in by_gap["interval_db"]], rel=1e-12)


def test_cautions_method_and_sources_stand_in_the_page_and_p_values_on_the_last(judgement):
    html = report_page(judgement)
    before, after = html.split("For the statistician")
    for word in ("power lines", "lightning", "masts", "Transmit only with a licence", "exposure", "Local codes",
                 "How it was done", "doi:10.2307/2533558", "What next"):
        assert word in before, word
    assert not re.search(r"\bp = |degrees of freedom|likelihood", re.sub(r"<svg.*?</svg>", "", before, flags=re.S))
    assert "p adjusted" in after and "log-likelihood" in after and judgement.provenance["readings_sha256"] in after


def test_question_and_best(judgement):
    assert "4 candidates" in question(judgement)
    assert "bare" in best(judgement)


def test_tables_round_and_nothing_else_does(judgement):
    table = gap_table(judgement)
    assert list(table.columns) == ["candidate", "gap dB", "between", "resolves dB", "verdict"]
    assert all(re.fullmatch(r"[+−]\d\.\d\d", cell) for cell in table["gap dB"])
    assert len(statistician_table(judgement)) == len(judgement.gaps)
    assert ("smallest gap that matters", 1.0, "yardstick") in spread_rows(judgement)


@pytest.mark.parametrize(
    ("value", "text"), [(1.234, "1.23"), (-0.004, "0.00"), (float("nan"), "–"), (None, "–"), (-2.0, "−2.00")]
)
def test_decibels_have_two_digits_a_true_minus_and_no_minus_before_zero(value, text):
    assert numbers.decibels(value) == text


def test_a_small_p_is_never_zero():
    assert numbers.probability(1e-9) == "below 0.0001"
    assert [numbers.probability(p) for p in (0.994, 0.996, 1.0)] == ["0.99", "above 0.99", "above 0.99"]


def test_lists_end_in_and():
    assert numbers.joined(["a"]) == "a"
    assert numbers.joined(["a", "b", "c"]) == "a, b and c"


def test_the_terminal_shows_answer_table_and_report(judgement, tmp_path):
    out = StringIO()
    print_judgement(judgement, tmp_path / "report.html", Console(file=out, width=100))
    text = out.getvalue()
    assert text.startswith("Of 3 gaps")
    assert "steel" in text and "report.html" in text and "What to know beside the numbers" in text
    assert text.index("What to know") < text.index("What next") < text.index("report.html")


def test_the_terminal_gives_each_second_opinion_a_line_and_its_reasons_where_it_differs(judgement):
    opinions = (Opinion("one way", True, "Agrees to 0.001 dB.", {}), Opinion("another", False, "Off by 2 dB.", {}),
                Opinion("a third", None, "Not made: too few swaps.", {}))
    for asked, line in ((judgement, "-o DIR"), (replace(judgement, second_opinions=opinions), "one way: agrees\n")):
        out = StringIO()
        print_judgement(asked, None, Console(file=out, width=100))
        text = "\n".join(each.rstrip() for each in out.getvalue().splitlines())
        assert line in text
        for reason in ("another: Off by 2 dB.", "a third: Not made: too few swaps."):
            assert (reason in text) == (asked is not judgement)


def test_a_narrow_terminal_keeps_the_numbers_whole(judgement):
    out = StringIO()
    print_judgement(judgement, None, Console(file=out, width=60))
    for row in gap_table(judgement).to_dict(orient="records"):
        assert row["gap dB"] in out.getvalue()


@pytest.mark.parametrize("draw", [gap_figure, day_figure, spread_figure])
def test_pictures_have_units_and_no_label_leaves_the_canvas(judgement, draw):
    axes = draw(judgement)
    assert "dB" in axes.get_xlabel() + axes.get_ylabel()
    figure = axes.figure
    figure.canvas.draw()
    width, height = figure.canvas.get_width_height()
    # matplotlib keeps labels of ticks beyond the axes, which it does not draw
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    across = [label for label in axes.get_xticklabels() if left <= label.get_position()[0] <= right]
    up = [label for label in axes.get_yticklabels() if low <= label.get_position()[1] <= high]
    for text in [*across, *up, axes.xaxis.label, axes.yaxis.label]:
        box = text.get_window_extent()
        if text.get_text():
            assert box.x0 >= -1 and box.x1 <= width + 1 and box.y0 >= -1 and box.y1 <= height + 1, text.get_text()


def test_many_candidates_with_long_names_do_not_overlap(record):
    names = [f"candidate number {i} with quite a long name of its own" for i in range(12)]
    axes = gap_figure(judge(record(names, blocks=3), matter_db=1.0))
    axes.figure.canvas.draw()
    boxes = sorted((label.get_window_extent() for label in axes.get_yticklabels()), key=lambda box: box.y0)
    assert all(low.y1 <= high.y0 + 1 for low, high in pairwise(boxes))


def test_pictures_are_the_same_bytes_twice(judgement):
    assert as_svg(gap_figure(judgement)) == as_svg(gap_figure(judgement))
    assert as_png(day_figure(judgement)) == as_png(day_figure(judgement))


def test_the_page_is_whole_and_loads_nothing(judgement):
    page = parsed(report_page(judgement))
    assert page.loads == []
    text = " ".join(page.text)
    assert answer(judgement) in text
    for notice in judgement.warnings:
        assert notice.text in text


def test_names_cannot_bring_script_or_markup_into_the_page(record):
    evil = '<script>alert("x")</script>'
    html = report_page(judge(record(["bare", evil, "a & b"]), matter_db=1.0))
    assert "<script" not in html
    assert parsed(html)


def test_files_are_written_and_written_again(judgement, tmp_path):
    report = write_report(judgement, tmp_path / "new" / "folder")
    names = {path.name for path in report.parent.iterdir()}
    pictures = {"gaps", "day", "spread", *(f"check-{check.name}" for check in judgement.checks)}
    assert names == {"results.json", "report.html", "gaps.csv"} | {
        f"{name}.{kind}" for name in pictures for kind in ("svg", "png")}
    before = {path.name: path.read_bytes() for path in report.parent.iterdir()}
    write_report(judgement, report.parent)
    assert before == {path.name: path.read_bytes() for path in report.parent.iterdir()}
