"""What people read about a bare number and about a table of single hangings."""

import io
import tomllib

from rich.console import Console

from antexp.repeats.bare_gap import bare_gap
from antexp.repeats.settling_plan import settling_plan
from antexp.repeats.single_hangings import against_chance
from antexp.repeats.single_hangings_file import Hanging
from antexp.report.gap_text import gap_answer, gap_sentences, print_table_against_chance, table_answer


def test_chance_or_more_is_the_first_thing_said():
    assert gap_answer(bare_gap(0.3)) == (
        "+0.30 dB between two wires hung once each may be chance: two equal wires differ by as much in 62 % of such "
        "comparisons.")
    assert gap_answer(bare_gap(-3, hangings=3)).startswith("−3.00 dB between two wires hung 3 times each is more than")
    assert "fewer than 1 of 10,000" in gap_answer(bare_gap(-3, hangings=3))


def test_mismatch_single_hanging_and_repeats_are_said():
    text = " ".join(gap_sentences(bare_gap(1.5, swr=(1, 3))))
    assert "Of the +1.50 dB given, +1.25 dB are mismatch" in text
    assert "stands and falls with the spread put in" in text
    assert "hang each wire 47 times, in fair order" in text
    assert "A gap of nothing at all cannot be settled" in " ".join(gap_sentences(bare_gap(0, hangings=2)))


def test_a_table_is_answered_with_what_equal_wires_do():
    equal = against_chance([Hanging(f"wire {i}", level) for i, level in enumerate((-60.0, -60.4, -59.8))])
    assert table_answer(equal) == (
        "The 3 wires spread over 0.60 dB, and chance alone does that: 3 equal wires, hung once each, spread over "
        "0.68 dB in the median and stay below 1.43 dB in 95 % of tables.")
    console = Console(file=io.StringIO(), width=100)
    print_table_against_chance(equal, settling_plan(equal, 1.0), console)
    printed = console.file.getvalue()
    assert "No SWR was given: mismatch is part of these gaps." in printed
    assert "What would settle it: 4 blocks in fair order" in printed and "rehang_sd_db = 0.35" in printed
    assert "never" in printed and "I assume a re-hanging scatter of 0.35 dB" in printed


def test_the_plan_that_settles_a_table_can_be_pasted_from_a_narrow_terminal():
    levels = {"a wire with a long name": -52.1, "another with a long name": -53.9, "a third one": -52.6}
    found = against_chance([Hanging(name, level) for name, level in levels.items()])
    console = Console(width=40, file=io.StringIO())
    print_table_against_chance(found, settling_plan(found), console)
    text = console.file.getvalue()
    pasted = text[text.index("    candidates"):text.index("  I assume")]
    assert tomllib.loads(pasted)["candidates"] == list(levels)
