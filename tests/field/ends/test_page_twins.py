"""What the pages do in the browser is what the terminal does in Python: book, levels, cells, clocks."""

import random

import pytest

from antexp.field.book_file import to_csv
from antexp.field.clocks import other_clock
from antexp.field.page_parts import source
from antexp.field.record_book import Book, again_leaves_out, wrong_wire_leaves_out
from antexp.field.typed_level import odd_question, parse_level
from antexp.spreadsheet import plain_cell, safe_cell

KINDS = ("reading", "noise", "wanders", "skip", "enough", "remark", "again", "wrong", "undo", "back")

PLAY = """
var book = { rows: [], undone: [] };
arguments[0].forEach(function (step) {
  var swap = step[0], kind = step[1], row = { swap: swap, what: kind, reading: "" };
  var own = function (row) { return row.swap === swap && row.left_out_by === ""; };
  if (kind === "undo") book = undo(book);
  else if (kind === "back") book = bringBack(book);
  else {
    var taken = book.rows.filter(function (r) { return r.swap === swap && r.reading; });
    if (kind === "reading" || kind === "noise") row.reading = String(1 + Math.max.apply(null, [0].concat(
      taken.map(function (r) { return Number(r.reading); }))));
    book = withEntry(book, [row], kind === "again" ? function (r) {
      return own(r) && ["reading", "wanders", "enough", "skip", "stop", "wrong"].indexOf(r.what) >= 0;
    } : kind === "wrong" ? function (r) { return own(r) && r.what === "reading"; } : null);
  }
});
return book.rows.map(function (r) { return [r.swap, r.what, r.reading, r.keep, r.entry, r.left_out_by]; });
"""


@pytest.fixture(scope="module")
def run_js(browser):
    scripts = "\n".join(source(name) for name in ("csv.js", "book.js", "clock.js", "levels.js"))
    browser.get("about:blank")
    return lambda script, *arguments: browser.execute_script(scripts + "\n" + script, *arguments)


def played(steps):
    book = Book()
    for swap, kind in steps:
        if kind == "undo":
            book = book.undo()
        elif kind == "back":
            book = book.bring_back()
        else:
            number = str(book.next_reading(int(swap))) if kind in ("reading", "noise") else ""
            leaves_out = {"again": again_leaves_out, "wrong": wrong_wire_leaves_out}.get(kind)
            book = book.with_entry([{"swap": swap, "what": kind, "reading": number}],
                                   leaves_out(int(swap)) if leaves_out else None)
    return [[row[name] for name in ("swap", "what", "reading", "keep", "entry", "left_out_by")] for row in book.rows]


def test_the_book_is_the_same(run_js):
    rng = random.Random(1)
    for _ in range(60):
        steps = [[rng.choice("123"), rng.choice(KINDS)] for _ in range(rng.randint(1, 30))]
        assert run_js(PLAY, steps) == played(steps), steps


TYPED = ["67", "67.2", "67,20", "-67", "−67,5", "+3", "0", "067", ",5", "67.", "", " ", "abc", "1,2,3", "672", "6 7",
         "1e3", "S7", "s9+10", "9+10", "9 + 20 dB", "S7+3", "S10", "9+70", "S9+0", "-0", "300", "300.1", "..", "+",
         "12a"]


@pytest.mark.parametrize("scale", ["dBm", "minus dBm", "dB", "attenuator", "S units"])
def test_levels_are_understood_the_same_way(run_js, scale):
    theirs = run_js("""return arguments[0].map(function (text) {
        var found = parseLevel(text, arguments[1]); return found.trouble ? null : [found.text, found.db];
    }.bind(null));""".replace("arguments[1]", f'"{scale}"').replace("}.bind(null))", "})"), TYPED)
    for text, found in zip(TYPED, theirs, strict=True):
        try:
            level = parse_level(text, scale)
            ours = [next(iter(level.cells.values())), level.db]
        except ValueError:
            ours = None
        assert ours == found, text


def test_the_same_levels_are_asked_about(run_js):
    rng = random.Random(2)
    for _ in range(100):
        own = [f"-{rng.uniform(60, 70):.1f}" for _ in range(rng.randint(0, 3))]
        every = own + [f"-{rng.uniform(50, 90):.1f}" for _ in range(rng.randint(0, 4))]
        level = parse_level(f"{rng.uniform(40, 100):.1f}", "dBm")
        rows = [[{"level_s": "", "level_db": text} for text in texts] for texts in (own, every)]
        theirs = run_js("return oddQuestion(arguments[0], arguments[1], arguments[2], 2, 20);", level.db, *rows)
        assert theirs == odd_question(level, *rows, 2.0)


CELLS = ["", "plain", "=1+1", "+3", "-67.2", "-x", "@a", "a,b", 'say "so"', " lead", "two\nlines", "\ttab", "'quoted",
         "S9+10", "-1-2", "=", "+", "ä—ö", "67.", ".5", "'=1", "''-x", "a;=1+1", "a; '@x;+1", "＝1", " =1", "3;-2",
         "1e5", "-1e5", "' =1", "'", "a=1", "-67;-68"]


def test_cells_are_written_the_same_way_and_read_back(run_js):
    text = run_js('return toCsv(["note"], arguments[0].map(function (note) { return { note: note }; }));', CELLS)
    ours = to_csv(("note",), [{"note": cell} for cell in CELLS])
    parsed = run_js("return fromCsv(arguments[0]).rows.map(function (row) { return row.note; });", ours)
    # Python's writer quotes less; what is read back is what counts, and blank rows are no rows
    assert parsed == run_js("return fromCsv(arguments[0]).rows.map(function (row) { return row.note; });", text)
    assert parsed == [plain_cell(safe_cell(cell)) for cell in CELLS if safe_cell(cell).strip()]


@pytest.mark.parametrize("text", ["10:32:05", "10.32", "9:05", "23:59:59", "00:00:01", "24:00", "10:60", "x", ""])
def test_a_spoken_clock_is_the_same_moment(run_js, text):
    from datetime import datetime

    now_ms = run_js("return new Date(2026, 4, 1, 0, 10, 0).getTime();")
    theirs = run_js("return otherClock(arguments[0], arguments[1]);", text, now_ms)
    ours = other_clock(text, datetime(2026, 5, 1, 0, 10).astimezone())
    assert (ours is None) == (theirs is None)
    if ours is not None:
        offset_s = (ours - datetime(2026, 5, 1, 0, 10).astimezone()).total_seconds()
        assert theirs - now_ms == pytest.approx(offset_s * 1000)
