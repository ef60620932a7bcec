"""Sheets: what stands on them, and that they print to A4 and Letter cleanly."""

import base64
import re
import shutil
import subprocess

import pytest

from antexp.field.facts import facts_of, find_plan
from antexp.field.run_sheet import field_card, hanging_sheet, paper_files, planned_time, reading_sheet, sheet_blocks
from antexp.field.swap_list import SwapList, read_swap_list
from antexp.plan.reader import plan_from_dict

PAPER_INCHES = {"A4": (8.268, 11.693), "Letter": (8.5, 11.0)}  # ISO 216; ANSI/ASME Y14.1


def words_of(page):
    """Return what a reader sees, roughly: the page without style and tags."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", re.sub(r"<style>.*?</style>", "", page, flags=re.S)))


def test_the_hanging_sheet_says_what_to_hang_and_marks_the_reference(swaps, facts):
    page = hanging_sheet(swaps, facts)
    text = words_of(page)
    for swap in swaps.swaps:
        assert f"{swap.word}" in text and swap.candidate in text
    assert text.count("REFERENCE") == 4
    assert page.count('<section class="block">') == 2
    # swap, then the boxes: SWR on the first hanging of a specimen in a block, two ticks on every row
    assert page.count('class="box"') == 8 and page.count('class="tick"') == 20


def test_first_hangings_are_those_of_a_specimen_in_its_block(swaps):
    first = [[row.first_hanging for row in block.rows] for block in sheet_blocks(swaps)]
    assert first == [[True, True, True, True, False], [True, True, True, True, False]]


def test_the_reading_sheet_and_the_card_name_no_wire(swaps, facts):
    for page in (reading_sheet(swaps, facts), field_card(swaps, facts)):
        lowered = page.lower()
        assert not [word for word in ("willow", "birch", "cedar", "hazel") if word in lowered]
    assert reading_sheet(swaps, facts).count('<span class="box"></span>') == 30
    assert "garlic" in reading_sheet(swaps, facts)


def test_the_cautions_stand_at_the_head_of_all(swaps, facts):
    for page in paper_files(swaps, facts).values():
        text = words_of(page)
        assert text.index("Before anything goes up") < text.index("Overhead lines")
        for word in ("thunder", "dummy load", "eye protection", "licence", "Local codes"):
            assert word in text
    plan = plan_from_dict({"candidates": ["a wire", "b wire"], "frequency_mhz": 10.12, "radio": {"height_m": 9}})
    # mast 9 m and halyard 9 m and a half wave of 14.8 m: 33 m, rounded up
    assert "at least 33 m" in words_of(hanging_sheet(swaps, facts_of(plan)))


def test_names_cannot_become_markup(order_csv, facts):
    order_csv.write_text(order_csv.read_text().replace("birch wire", "<b onclick=alert(1)>birch</b>"))
    page = hanging_sheet(read_swap_list(order_csv), facts)
    assert "<b onclick" not in page and "&lt;b onclick" in page


def test_long_names_are_set_smaller_so_that_a_block_fits_its_page(order_csv, facts):
    assert 'class="hang long"' not in hanging_sheet(read_swap_list(order_csv), facts)
    order_csv.write_text(order_csv.read_text().replace("birch wire", "birch wire that was left over from the old loft"))
    page = hanging_sheet(read_swap_list(order_csv), facts)
    assert '<span class="hang long">birch wire that was left over from the old loft</span>' in page
    assert '<span class="hang">' in page  # the others keep their size


def test_times_are_by_the_clock_where_the_order_knows_it(swaps):
    assert planned_time(570.0, 7.0) == "09:37" and planned_time(1435.0, 10.0) == "00:05"
    assert planned_time(None, 75.0) == "+1:15"
    clocked = sheet_blocks(SwapList(swaps.swaps, swaps.path, (570.0, 780.0)))
    assert [block.rows[1].when for block in clocked] == ["09:37", "13:07"] and clocked[0].by_clock
    assert [block.rows[1].when for block in sheet_blocks(swaps)] == ["+0:07", "+0:07"]


def test_many_readings_get_no_more_boxes_than_a_row_holds(swaps):
    plan = plan_from_dict({"candidates": ["a wire", "b wire"], "meter": {"scale": "dB", "readings": 20}})
    page = reading_sheet(swaps, facts_of(plan))
    assert "Read 20 times in dB, higher = stronger" in words_of(page)
    assert page.count('<span class="box"></span>') == 50


def test_the_plan_beside_the_order_is_found_by_its_digest_alone(order_csv, tmp_path):
    import hashlib

    plan = tmp_path / "any-name.toml"
    plan.write_text('candidates = ["willow wire", "birch wire"]\nmeter = "S-meter"\n')
    (tmp_path / "other.toml").write_text('candidates = ["x wire", "y wire"]\n')
    swaps = read_swap_list(order_csv)
    assert find_plan(swaps, None) is None
    known = SwapList(swaps.swaps, swaps.path, plan_sha256=hashlib.sha256(plan.read_bytes()).hexdigest())
    assert find_plan(known, None).meter.scale == "S units"
    assert "I assume" in facts_of(None).assumed[0]


@pytest.mark.parametrize("paper", list(PAPER_INCHES))
def test_each_block_is_a_page_and_nothing_runs_off_the_paper(browser, swaps, facts, tmp_path, paper):
    if not shutil.which("pdftotext"):
        pytest.skip("no pdftotext on this machine (Debian package poppler-utils)")
    width, height = PAPER_INCHES[paper]
    for ending, text in paper_files(swaps, facts).items():
        path = tmp_path / ending
        path.write_text(text, encoding="utf-8")
        browser.get(path.as_uri())
        printed = browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": width, "paperHeight": height})
        pdf = path.with_suffix(".pdf")
        pdf.write_bytes(base64.b64decode(printed["data"]))
        boxes = subprocess.run(["pdftotext", "-bbox", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
        pages = boxes.split("<page ")[1:]
        assert len(pages) == 3  # cautions and two blocks; the card: permissions, crew, packing list
        right = max(float(x) for x in re.findall(r'xMax="([\d.]+)"', boxes))
        assert right <= 72 * (width - 0.3)  # a printer's margin is left free
        if ending != "card.html":
            assert ["Block</word>" in page for page in pages] == [False, True, True]
