"""A whole order: typed on the two pages, reloaded in the middle, joined and judged; the same as from the terminal."""

import json
from datetime import datetime, timedelta

import numpy as np
import pytest

import antexp
from antexp.design.order import make_order
from antexp.design.order_file import read_order, write_order
from antexp.field.companions import write_companions
from antexp.field.facts import facts_of, find_plan
from antexp.field.recorder import Settings, record
from antexp.field.swap_list import read_swap_list

# An invented day in a meadow, three blocks of four wires; the levels are drawn, the gaps known.
PLAN = """
title = "Is the willow wire better?"
candidates = ["willow wire", "birch wire", "cedar wire", "hazel wire"]
frequency_mhz = 10.12
matter_db = 1
meter = "spectrum analyser"
[field]
blocks = 3
"""
GAPS_DB = {"willow wire": 0.0, "birch wire": -2.0, "cedar wire": -0.3, "hazel wire": 1.0}
START = datetime.fromisoformat("2026-05-01T09:30:00+00:00")


@pytest.fixture
def day(tmp_path):
    """Return the folder of a day with plan, order, sheets and pages."""
    (tmp_path / "plan.toml").write_text(PLAN, encoding="utf-8")
    write_order(make_order(antexp.read_plan(tmp_path / "plan.toml")), tmp_path / "order.csv")
    return tmp_path


def levels_of(swaps):
    """Draw three readings a swap, as text with one decimal and no sign."""
    rng = np.random.default_rng(7)
    return {swap.swap: [f"{67 - GAPS_DB[swap.candidate] - rng.normal(0, 0.3) - noise:.1f}"
                        for noise in rng.normal(0, 0.15, 3)] for swap in swaps.swaps}


def minute_of(swaps, swap):
    return 90 * swaps.blocks.index(swap.block) + 7 * (swap.position - 1)


def moment(minutes):
    return (START + timedelta(minutes=minutes)).isoformat()


def type_reading_end(page, swaps, levels):
    for swap in swaps.swaps:
        if swap.position == 1:
            page.begin()
        for place, level in enumerate(levels[swap.swap]):
            page.set_clock(moment(minute_of(swaps, swap) + 3 + place / 2))
            page.level(level.replace(".", ",") if place == 1 else level)
        if swap.swap == len(swaps.swaps) // 2:
            page.reload()
    assert page.text("between-title") == "All swaps are done"


def type_hanging_end(page, swaps):
    for swap in swaps.swaps:
        if swap.position == 1:
            page.begin()
        page.set_clock(moment(minute_of(swaps, swap) + 2))
        assert swap.candidate in page.text("hang") and page.text("word") == swap.word
        if page.text("swr-label").startswith("SWR (first"):
            page.fill("swr", "1.2")
        page.press("Up and clear")
        if swap.swap == 3:
            page.reload()  # between up and down
        page.set_clock(moment(minute_of(swaps, swap) + 6))
        page.press("Source is in the dummy, confirmed: lower it")
    assert page.text("between-title") == "All swaps are done"


def type_in_the_terminal(path, swaps, facts, levels, script):
    lines, times = [], []
    for swap in swaps.swaps:
        for place, level in enumerate(levels[swap.swap]):
            lines.append(level)
            times.append(START + timedelta(minutes=minute_of(swaps, swap) + 3 + place / 2))
    record(Settings(path, swaps, facts, clock=iter(times).__next__), script([*lines, "q"]))


def test_two_pages_give_the_same_answer_as_the_terminal(day, browser, open_page, script, capsys):
    write_companions(day / "order.csv")
    swaps = read_swap_list(day / "order.csv")
    facts = facts_of(find_plan(swaps, None))
    assert facts.plan is not None  # found beside the order, by its digest
    levels = levels_of(swaps)
    reading = open_page("reading", swaps, facts)
    type_reading_end(reading, swaps, levels)
    reading_file = reading.export(day)
    hanging = open_page("hanging", swaps, facts)
    type_hanging_end(hanging, swaps)
    hanging_file = hanging.export(day)
    assert (reading_file.name, hanging_file.name) == ("order.reading-end.record.csv", "order.hanging-end.record.csv")

    names = [name.split()[0] for name in GAPS_DB]
    made = [day / f"order.{name}.html" for name in ("reading-page", "reading-sheet", "card")]
    for file in (reading_file, *made):
        assert not [name for name in names if name in file.read_text(encoding="utf-8").lower()]

    joined = day / "readings.csv"
    joined_by_command(day, reading_file, hanging_file, joined, capsys)
    type_in_the_terminal(day / "terminal.csv", swaps, facts, levels, script)
    plan, order = antexp.read_plan(day / "plan.toml"), read_order(day / "order.csv")
    from_pages = antexp.judge(joined, plan, order)
    from_reading_end = antexp.judge(reading_file, plan, order)
    from_terminal = antexp.judge(day / "terminal.csv", plan, order)
    for other in (from_pages, from_reading_end):
        assert np.array_equal(other.gaps["gap_db"], from_terminal.gaps["gap_db"])
        assert np.array_equal(other.gaps["standard_error_db"], from_terminal.gaps["standard_error_db"])
        assert list(other.gaps["verdict"]) == list(from_terminal.gaps["verdict"])
    found = dict(zip(from_pages.gaps["candidate"], from_pages.gaps["gap_db"], strict=True))
    assert found["birch wire"] == pytest.approx(-2.0, abs=1.0)  # the scatter of a swap is 0.3 dB


def joined_by_command(day, reading_file, hanging_file, joined, capsys):
    """Join the two files by the command, and read what it says."""
    from antexp.cli.join import command

    command(day / "order.csv", [reading_file, hanging_file], joined, json=True)
    document = json.loads(capsys.readouterr().out)
    assert document["warnings"] == []
    assert document["readings"] == 3 * document["swaps"]
