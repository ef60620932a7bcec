"""What physics expects and the trim, as people read them."""

import io

import pandas as pd
from rich.console import Console

from antexp.field.bench_book import read_bench_book
from antexp.field.trim import trim_sheet
from antexp.plan.expected_losses import expected_losses
from antexp.plan.reader import plan_from_dict
from antexp.report.expect_text import print_expected, write_expected_pictures
from antexp.report.trim_text import print_trim

PLAN = plan_from_dict({
    "candidates": [{"name": "copper", "material": "copper", "diameter_mm": 1.5},
                   {"name": "steel", "material": "steel", "diameter_mm": 2.0, "swr": 1.5}, {"name": "unknown"}],
    "frequency_mhz": 14.2, "matter_db": 1.0})


def printed(show, *given):
    console = Console(file=io.StringIO(), width=100, highlight=False)
    show(*given, console=console)
    return console.file.getvalue()


def test_expectation_is_answer_first():
    text = printed(print_expected, expected_losses(PLAN, 0.9))
    assert text.startswith("Physics expects the candidates within 1.16 dB of each other as a half-wave dipole at ")
    assert "steel" in text and "0.18" in text, "mismatch loss of SWR 1.5"
    assert "Note: Physics says nothing about “unknown”" in text


def test_nothing_to_compare_is_said():
    text = printed(print_expected, expected_losses(plan_from_dict({"candidates": ["a", "b"]})))
    assert text.startswith("Physics cannot compare the candidates: it needs frequency, material and diameter")


def test_pictures_are_written_together(tmp_path):
    written = write_expected_pictures(PLAN, expected_losses(PLAN), tmp_path / "out")
    assert sorted(path.name for path in written) == ["bands.png", "bands.svg", "expected-loss.png", "expected-loss.svg"]
    assert all(path.stat().st_size > 1000 for path in written)


def test_trim_has_boxes_to_tick():
    book = read_bench_book(pd.DataFrame({"candidate": ["copper"], "leg_m": [5.1], "resonance_mhz": [13.9]}))
    text = printed(print_trim, trim_sheet(PLAN, book))
    assert text.startswith("For 14.2 MHz at most 10.8 cm off a leg (copper, specimen 1); leaving it would cost")
    assert "☐ “copper”, specimen 1: fold back 0.108 m" in text
    assert printed(print_trim, trim_sheet(PLAN)).startswith("Nothing has been measured yet")
