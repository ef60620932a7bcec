"""What people see when they choose: sentences, table, picture, page."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pandas as pd
import pytest
from rich.console import Console

from antexp.analysis.choice import IN_THE_GROUP, choose
from antexp.analysis.wire_loads import WireLoad
from antexp.plan.reader import plan_from_dict
from antexp.report.choice_figure import choice_figure
from antexp.report.choice_page import choice_page, write_choice
from antexp.report.choice_table import CHOICE_COLUMNS, SORT_KEYS, choice_table, sorted_wires
from antexp.report.choice_text import print_choice
from antexp.report.choice_wording import choice_answer, choice_sentences, missing_keys, span_sentence
from antexp.report.pictures import as_svg

LEVELS = {"bare": 0.0, "clad": -0.05, "strand & <b>": 0.05, "steel": -3.0}


@pytest.fixture(scope="module")
def plan():
    keys = {"bare": (0.5, 7.0), "clad": (0.3, 4.0), "strand & <b>": (None, None), "steel": (0.2, 3.9)}
    return plan_from_dict({
        "candidates": [{"name": name, "price_per_m": price, "mass_g_per_m": mass, "breaking_load_n": 200}
                       for name, (price, mass) in keys.items()],
        "frequency_mhz": 14.2, "matter_db": 1, "radio": {"height_m": 8}, "field": {"tension_n": 20}})


@pytest.fixture(scope="module")
def choice(plan):
    random = np.random.default_rng(5)
    rows, swap = [], 0
    for block in range(5):
        for position, name in enumerate(["bare", *random.permutation(list(LEVELS)[1:]), "bare"]):
            swap += 1
            rows.append((swap, block, name, 7.0 * position, -50 + LEVELS[str(name)] + random.normal(0, 0.15)))
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    return choose(table, plan, gust_m_per_s=20)


def test_the_electrical_answer_comes_first_and_names_the_gap(choice):
    assert choice_answer(choice).startswith("These three cannot be told apart; any gap between them is under 1 dB: ")
    assert "steel" not in choice_answer(choice)


def test_nothing_is_weighed_for_the_user(choice):
    said = " ".join(choice_sentences(choice))
    assert "adds up no points" in said
    assert "Cheapest of the group: “clad” (0.30 a metre)" in said
    assert not [column for column in CHOICE_COLUMNS if "score" in column.head]


def test_what_is_missing_is_named(choice):
    assert "price_per_m" in missing_keys(choice) and "breaking_load_n" not in missing_keys(choice)


@pytest.mark.parametrize("key", SORT_KEYS)
def test_sorting_keeps_the_group_together_and_blanks_last(choice, key):
    wires = sorted_wires(choice, key)
    assert [wire.standing for wire in wires[:3]] == [IN_THE_GROUP] * 3
    column = next(column for column in CHOICE_COLUMNS if column.key == key)
    values = [column.value(wire) for wire in wires[:3]]
    known = [value for value in values if value is not None]
    assert values[: len(known)] == known
    assert known == sorted(known, reverse=column.high_first)


def test_the_table_leaves_out_columns_that_hold_nothing(choice):
    table = choice_table(choice)
    assert "handling 1…5" not in table and "price a m" in table
    assert table.loc[table["wire"] == "bare", "price a m"].item() == "0.50"


def test_the_picture_draws_the_group_inside_its_band(choice):
    axes = choice_figure(choice)
    thick = [line for line in axes.lines if line.get_linewidth() == 4.2]
    assert len(thick) == 3
    assert all(min(line.get_ydata()) > -1.0 for line in thick)
    assert "no price given" in [text.get_text() for text in axes.texts]
    assert as_svg(choice_figure(choice)) == as_svg(choice_figure(choice))


class Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.loads = [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.loads += [value for name, value in attrs if name in ("src", "href", "xlink:href") and value[:1] != "#"]


def test_the_page_loads_nothing_escapes_names_and_shows_cautions_beside_loads(choice, plan):
    html = choice_page(choice, plan)
    page = Page()
    page.feed(html)
    assert page.loads == []
    assert "strand &amp; &lt;b&gt;" in html and "<b>" not in html
    assert "14.2 MHz, 8 m high" in html
    loads = html.index("Sag, pull and wind")
    assert loads < html.index("local codes and licensed practice", loads) < html.index("safety factor</button>")
    heads = re.findall(r"<button[^>]*>([^<]*)</button>", html)
    assert {"price a m", "g a m", "breaks at N", "sag m", "pull N", "safety factor"} <= set(heads)


def test_the_files(choice, plan, tmp_path):
    write_choice(choice, tmp_path / "new", plan)
    assert {path.name for path in (tmp_path / "new").iterdir()} == {
        "choice.html", "choice-price.svg", "choice-price.png", "choice-mass.svg", "choice-mass.png"}


@pytest.mark.parametrize("width", [60, 80, 100, 160])
def test_the_terminal_shows_every_column_at_any_width(choice, plan, width):
    from io import StringIO

    from rich.console import Console

    from antexp.report.choice_text import print_choice

    console = Console(file=StringIO(), width=width)
    print_choice(choice, plan, console=console)
    text = console.file.getvalue()
    assert max(map(len, text.splitlines())) <= width
    for cell in choice_table(choice).drop(columns=["wire", "standing"]).iloc[0]:
        assert cell in text, cell


def test_small_gaps_are_called_real_only_where_a_verdict_says_so(choice):
    """Leaving those that may be the best is no proof of a gap; equal wires must stay "cannot be told apart"."""
    names = tuple(name for name in choice.judgement.could_be_best if name != choice.group[0])
    fewer = replace(choice, judgement=replace(choice.judgement, could_be_best=names))
    assert "cannot be told apart" in choice_answer(fewer)
    first = replace(choice.wires[0], verdict="real but too small to matter")
    assert "some of the small gaps between them are real" in choice_answer(replace(choice, wires=(first,
                                                                                               *choice.wires[1:])))


def test_a_span_without_masses_asks_for_them_and_shows_no_empty_table(choice, capsys):
    bare = replace(choice, wires=tuple(replace(wire, breaking_load_n=None, load=WireLoad()) for wire in choice.wires))
    assert "give mass_g_per_m, breaking_load_n and diameter_mm" in span_sentence(bare)
    print_choice(bare, console=Console(width=80, highlight=False))
    assert "safety factor" not in capsys.readouterr().out


def test_without_any_price_no_number_stands_at_the_axis(choice):
    bare = replace(choice, wires=tuple(replace(wire, price_per_m=None) for wire in choice.wires))
    axes = choice_figure(bare, "price")
    assert len(axes.get_xticks()) == 0 and "none given" in axes.get_xlabel()


def test_many_long_names_overlap_nothing_and_what_is_not_drawn_is_counted(choice):
    many = tuple(replace(choice.wires[place % 4], name=f"wire {place} of a long kind, stranded and covered, 1 mm")
                 for place in range(30))
    figure = choice_figure(replace(choice, wires=many), "price").figure
    figure.canvas.draw()
    names, key = (legend.get_window_extent() for legend in figure.legends)
    assert not names.overlaps(key) and names.y0 >= 0 and names.x1 <= figure.bbox.x1
    assert any(text.get_text() == "10 more are not drawn: see the table" for text in figure.legends[1].get_texts())
