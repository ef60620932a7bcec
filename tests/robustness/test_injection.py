"""Hostile names, titles and notes: nothing of them runs in a page or a picture, and no spreadsheet executes a cell."""

import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from antexp.design.order_file import read_order, write_order
from antexp.design.pilot_order import pilot_order, write_pilot
from antexp.errors import InputError, PlanError
from antexp.field.readings import read_readings
from antexp.plan.reader import plan_from_dict
from antexp.spreadsheet import csv_text, is_formula, plain_cell, safe_cell

PAGES = ("report.html", "choice.html", "club-page.html", "slide.html", "order.hanging-sheet.html",
         "order.reading-sheet.html", "order.card.html", "order.hanging-page.html", "order.reading-page.html")
OWN_SCRIPTS = {"choice.html": 1, "order.hanging-page.html": 1, "order.reading-page.html": 1}
WITH_NAMES = ("report.html", "choice.html", "order.hanging-sheet.html", "order.hanging-page.html")
# Scripts, handlers and links to scripts that a page holds, apart from the page's own script, which has no source and
# stands where its template puts it.
ACTIVE = """
var found = [];
document.querySelectorAll("*").forEach(function (element) {
  Array.from(element.attributes).forEach(function (each) {
    if (/^on/i.test(each.name)) found.push(element.tagName + " " + each.name);
    if (/^\\s*javascript:/i.test(each.value)) found.push(element.tagName + " " + each.value);
  });
});
return [window.hacked === undefined ? null : window.hacked, found,
        document.querySelectorAll("script:not([type='application/json'])").length,
        document.querySelectorAll("img, iframe, object, embed, base, b[onmouseover]").length];
"""


@pytest.mark.parametrize("name", PAGES)
def test_nothing_runs_in_a_page(browser, hostile_day, name):
    browser.get((hostile_day.folder / name).as_uri())
    hacked, active, scripts, loaded = browser.execute_script(ACTIVE)
    assert hacked is None
    assert active == []
    assert scripts == OWN_SCRIPTS.get(name, 0)
    assert loaded == 0
    if name in WITH_NAMES:
        if name == "order.hanging-page.html":  # it shows one wire at a time, from the first block on
            from selenium.webdriver.support.wait import WebDriverWait

            begin = browser.find_element("id", "begin")
            WebDriverWait(browser, 30).until(lambda _: begin.is_displayed())  # after its store was read
            begin.click()
        text = browser.execute_script("return document.documentElement.textContent;")
        assert browser.execute_script("return window.hacked === undefined;")
        shown = [wire for wire in hostile_day.names if " ".join(wire.split()) in " ".join(text.split())]
        assert len(shown) >= (1 if name == "order.hanging-page.html" else len(hostile_day.names))


def test_the_choices_own_script_runs_and_no_other(browser, hostile_day):
    """The page's policy names its script by digest: its table is sorted, a script put in beside it stays dead."""
    page = (hostile_day.folder / "choice.html").read_text(encoding="utf-8")
    other = hostile_day.folder.with_name("other.html")
    other.write_text(page.replace("</main>", "<script>window.hacked=9</script></main>"), encoding="utf-8")
    try:
        browser.get(other.as_uri())
        button = browser.find_element("css selector", "table.sortable th button")
        browser.execute_script("arguments[0].click()", button)
        assert button.find_element("xpath", "..").get_attribute("aria-sort")
        assert browser.execute_script("return window.hacked === undefined")
    finally:
        other.unlink()


def test_nothing_runs_in_a_picture(browser, hostile_day):
    pictures = sorted(hostile_day.folder.glob("*.svg"))
    assert {"gaps.svg", "day.svg", "spread.svg"} <= {path.name for path in pictures}
    for path in pictures:
        browser.get(path.as_uri())
        hacked, active, scripts, loaded = browser.execute_script(ACTIVE)
        assert (hacked, active, scripts, loaded) == (None, [], 0, 0), path.name
        assert browser.execute_script("return document.documentElement.tagName;").lower() == "svg"


def test_names_are_text_in_pictures(hostile_day):
    # a dollar sign would begin a formula in the drawing library, `$x^$` one that cannot be set
    assert "$x^$" in (hostile_day.folder / "gaps.svg").read_text(encoding="utf-8")


def test_pages_stay_in_their_folder(hostile_day):
    assert {path.name for path in hostile_day.folder.parent.iterdir()} == {hostile_day.folder.name}
    assert all(path.is_file() for path in hostile_day.folder.iterdir())


# ---- tables ----

# CWE-1236 and OWASP, "CSV Injection": the signs that begin a formula; full-width forms and a cell that begins after a
# semicolon are `common practice, no source`.
FORMULAS = ("=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1+1", "＋1", "－1", "＠A1",
            "a;=1+1", "a; @x", "'=1", "' =1", "\"=1\";=2")


def _begins_formula(cell: str) -> bool:
    """Tell what a spreadsheet would: a cell, or what follows a semicolon, that begins with a sign and is no number."""
    try:
        float(cell)
        return False
    except ValueError:
        return any(part.strip()[:1] in tuple("=+-@＝＋－＠") for part in cell.split(";") if part.strip())


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_is_no_formula_any_more_and_comes_back(text):
    cell = safe_cell(text)
    assert not _begins_formula(cell)
    assert plain_cell(cell) == text.replace("\t", " ").replace("\r", " ")


@given(st.text(st.sampled_from("=+-@＝＋－＠ ';,\"1a.e"), max_size=12) | st.text(st.characters(
    exclude_categories=("Cc", "Cs"), exclude_characters="\u2028\u2029"), max_size=20))
def test_any_text_is_safe_and_comes_back(text):
    assert not _begins_formula(safe_cell(text))
    assert plain_cell(safe_cell(text)) == text
    row = next(csv.DictReader(io.StringIO(csv_text(["note", "x"], [[text, 1]]))))
    assert plain_cell(row["note"]) == text


@pytest.mark.parametrize("name", [text for text in FORMULAS if text.isprintable()])
def test_no_wire_may_be_called_like_a_formula(name):
    with pytest.raises(PlanError, match=r"formula|blanks at its beginning"):
        plan_from_dict({"candidates": ["a wire", name]})


def _cells(path: Path) -> list[str]:
    with path.open(encoding="utf-8", newline="") as stream:
        return [cell for row in csv.reader(stream) for cell in row]


def test_an_orders_names_come_back_and_none_is_a_formula(hostile_day, tmp_path):
    order = hostile_day.order
    odd = dict(zip(order.table["candidate"].unique(), FORMULAS, strict=False))
    table = order.table.assign(candidate=order.table["candidate"].map(odd).str.strip(), specimen="=1", place="@p")
    write_order(type(order)(table, None, {}, None, ()), tmp_path / "order.csv")
    assert not [cell for cell in _cells(tmp_path / "order.csv") if _begins_formula(cell)]
    assert not [cell for cell in _cells(tmp_path / "order.reading-end.csv") if _begins_formula(cell)]
    again = read_order(tmp_path / "order.csv")
    assert again.table["candidate"].tolist() == table["candidate"].tolist()
    assert set(again.table["specimen"]) == {"=1"} and set(again.table["place"]) == {"@p"}


def test_an_order_that_is_written_keeps_hostile_names(hostile_day):
    assert set(hostile_day.order.table["candidate"]) == set(hostile_day.names)
    assert not [cell for cell in _cells(hostile_day.folder / "order.csv") if _begins_formula(cell)]


def test_exported_readings_hold_no_formula_and_give_the_same_names(hostile_day, tmp_path):
    rows = [{"swap": swap, "block": "1", "candidate": ("=1+1", "@x", "a;=2")[swap % 3], "specimen": "+s", "place": "-p",
             "level_db": -60.5 - swap, "note": hostile_day.note, "minutes": 7 * swap} for swap in range(1, 10)]
    path = tmp_path / "readings.csv"
    path.write_text(csv_text(list(rows[0]), (row.values() for row in rows)), encoding="utf-8")
    assert not [cell for cell in _cells(path) if _begins_formula(cell)]
    table = read_readings(path).table
    assert table["candidate"].tolist() == [row["candidate"] for row in rows]
    assert set(table["specimen"]) == {"+s"} and set(table["place"]) == {"-p"}
    assert table["level_db"].tolist() == [row["level_db"] for row in rows]


def test_a_pilots_form_holds_no_formula(hostile_day, tmp_path):
    *_, form = write_pilot(pilot_order(hostile_day.plan), tmp_path / "pilot.csv")
    cells = _cells(form)
    assert hostile_day.names[0] in cells and not [cell for cell in cells if _begins_formula(cell)]


@pytest.mark.parametrize("text", ["\x1b]0;title\x07", "a\x1b[31mred", "a\x9b31m", "a\x08b", "a\x00b"])
@pytest.mark.parametrize("kind", ["order", "readings", "bench book", "single hangings", "results.json"])
def test_nothing_that_steers_a_terminal_is_taken(readers, tmp_path, kind, text):
    reader = readers[kind]
    if kind == "results.json":
        content = json.dumps({**json.loads(reader.seeds[0]), "title": text}).encode()
    else:
        lines = reader.seeds[0].decode().split("\n")
        lines[1] += f",{text}"
        content = "\n".join(lines).encode()
    path = tmp_path / reader.name
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"control characters|NUL") as caught:
        reader.read(path)
    assert text not in str(caught.value)


def test_a_formula_is_told_from_a_number():
    assert not any(map(is_formula, ("-67.2", "+3", "1e-5", "-1E5", "S9+10", "2026-05-01", "", "a-b", "x=1")))
    assert all(map(is_formula, FORMULAS[:4]))
