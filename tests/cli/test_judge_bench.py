"""`antexp judge --bench`: the match of the antennas comes in, and a bad book is refused whole."""

from __future__ import annotations

import json

import numpy as np
import pytest


@pytest.fixture
def readings(tmp_path):
    random = np.random.default_rng(4)
    lines, swap = ["swap,block,candidate,minutes,level_db"], 0
    for block in range(1, 6):
        for position, name in enumerate(["bare", "covered", "bare"]):
            swap += 1
            level = -50 - 0.5 * (name == "covered") + random.normal(0, 0.2)
            lines.append(f"{swap},{block},{name},{7 * position},{level:.2f}")
    file = tmp_path / "readings.csv"
    file.write_text("\n".join(lines) + "\n")
    return file


def test_the_bench_book_gives_matched_gaps(antexp, readings, tmp_path):
    book = tmp_path / "bench.csv"
    book.write_text("candidate,swr,feed_ohm\nbare,,50\ncovered,2,\n")
    ran = antexp("judge", readings, "--bench", book, "--json")
    document = json.loads(ran.out)
    assert ran.status == 0
    budget, matched = document["gap_budgets"][0], document["matched_gaps"][0]
    assert budget["mismatch_from"] == ["bench book", "bench book"] and budget["swap_end"] == "source"
    # SWR 2 is 0.512 dB (SWR and mismatch table)
    assert matched["gap_db"] - document["gaps"][0]["gap_db"] == pytest.approx(0.5115, abs=1e-4)
    assert {"interval_db", "p_adjusted", "verdict", "as_used_verdict"} <= set(matched)
    text = antexp("judge", readings, "--bench", book).out
    assert "Where the gaps come from" in text


def test_without_any_match_nothing_is_shown(antexp, readings):
    ran = antexp("judge", readings, "--json")
    document = json.loads(ran.out)
    assert document["matched_gaps"] == [] and document["gap_budgets"] == []


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("covered,0.9,", "line 2, column swr"),
        ("covered,,62+9k", "line 2, column feed_ohm"),
        ("covered,,-50+3j", "line 2, column feed_ohm"),
        (",2,", "candidate is blank"),
        ("covered,,", "a row measures nothing"),
    ],
)
def test_a_bench_book_at_fault_is_refused(antexp, readings, tmp_path, row, said):
    book = tmp_path / "bench.csv"
    book.write_text(f"candidate,swr,feed_ohm\n{row}\n")
    ran = antexp("judge", readings, "--bench", book, "-o", tmp_path / "out")
    assert ran.status == 2 and said in ran.err and "Traceback" not in ran.err
    assert not (tmp_path / "out").exists(), "nothing written"


def test_a_bench_book_that_is_not_there(antexp, readings, tmp_path):
    ran = antexp("judge", readings, "--bench", tmp_path / "none.csv")
    assert ran.status == 2 and "none.csv" in ran.err
