"""The bench book: read, and refused with every fault at once."""

import numpy as np
import pandas as pd
import pytest

from antexp.errors import FileError, ReadingsError
from antexp.field.bench_book import read_bench_book
from antexp.plan.reader import plan_from_dict

PLAN = plan_from_dict({"candidates": [{"name": "copper", "specimens": 2}, {"name": "steel"}], "frequency_mhz": 14.2})
HEADER = "candidate,specimen,leg_m,resonance_mhz,swr,feed_ohm,height_m,where,note\n"


def faults_of(write, text, plan=PLAN):
    file = write(text, "bench.csv")
    with pytest.raises(ReadingsError) as caught:
        read_bench_book(file, plan)
    return [str(fault).replace(f"{file.parent}/", "") for fault in caught.value.faults]


def test_a_good_book(write):
    book = read_bench_book(write(HEADER + "copper,1,5.10,13.9,1.4,62+9j,8,feed,\ncopper,,5.05,14.05,,,8,,again\n"
                                 "steel,1,,,1.6,,,,\n"), PLAN)
    assert book.table["specimen"].tolist() == ["1", "1", "1"]
    assert book.table["leg_m"].tolist()[:2] == [5.10, 5.05] and np.isnan(book.table["leg_m"][2])
    assert book.table["feed_ohm"][0] == 62 + 9j and np.isnan(book.table["feed_ohm"][1])
    assert book.table["line"].tolist() == [2, 3, 4]
    assert len(book.sha256) == 64


def test_the_last_match_of_each_specimen_counts(write):
    book = read_bench_book(write(HEADER + "copper,1,,,1.8,,,,\ncopper,1,,,1.2,,,,\ncopper,2,,,,55-3j,,,\n"), PLAN)
    last = book.last_match()
    assert last["swr"].tolist()[0] == 1.2 and last["feed_ohm"][1] == 55 - 3j
    assert last["specimen"].tolist() == ["1", "2"]


def test_a_table_from_a_notebook():
    book = read_bench_book(pd.DataFrame({"candidate": ["copper"], "leg_m": [5.0], "resonance_mhz": [14.0]}))
    assert book.table["resonance_mhz"][0] == 14.0 and book.path is None


def test_every_fault_at_once_with_lines(write):
    faults = faults_of(write, HEADER + "copper,1,5.10,14100,,,,,\ncopper,1,5.1O,14.1,,,,,\nsteel,1,,,0.8,,,,\n"
                       "steel,1,,,,62+9k,,,\n,1,,,1.2,,,,\n")
    text = "\n".join(faults)
    assert ("bench.csv, line 2, column resonance_mhz: resonance_mhz is not a frequency in MHz: got 14100; allowed: MHz "
            "from 0.1 to 1000. If 14100 is in kHz, write 14.1.") in faults
    assert "line 3, column leg_m: leg_m is not a number" in text and '"5.1O"' in text
    assert 'line 4, column swr: swr is not possible: got "0.8"; allowed: a number of 1 or more' in text
    assert "line 5, column feed_ohm: feed_ohm is not an impedance" in text and "62+9j" in text
    assert "line 6: candidate is blank" in text


def test_frequency_in_hertz_is_guessed_aloud(write):
    assert "If 14100000 is in Hz, write 14.1." in faults_of(write, HEADER + "copper,1,5.1,14100000,,,,,\n")[0]


def test_unknown_names_offer_the_nearest(write):
    faults = faults_of(write, HEADER + "coper,1,,,1.2,,,,\nsteel,2,,,1.2,,,,\n")
    assert any("the plan has no such candidate" in fault and 'Did you mean "copper"?' in fault for fault in faults)
    assert any('no such specimen of "steel"' in fault and "allowed: 1" in fault for fault in faults)


def test_half_a_measurement_and_none(write):
    faults = faults_of(write, HEADER + "copper,1,,14.0,,,,,\ncopper,1,5.0,,,,,,\n")
    assert "line 2, column leg_m: a resonance has no length" in faults[0]
    assert "line 3: a row measures nothing" in faults[1]


def test_a_leg_in_centimetres_is_guessed_aloud(write):
    faults = faults_of(write, HEADER + "copper,1,505,14.0,,,,,\n")
    assert "leg and resonance do not belong together" in faults[0]
    assert "If 505 is in centimetres, write 5.05." in faults[0]


def test_missing_columns_and_near_names(write):
    assert "a column is missing: candidate" in faults_of(write, "candiate,swr\ncopper,1.2\n")[0]
    assert "a column is missing: a measurement" in faults_of(write, "candidate,note\ncopper,x\n")[0]
    assert any('nearly that of a known one: got "resonance_mHz"' in fault
               for fault in faults_of(write, "candidate,resonance_mHz,swr\ncopper,14,1.2\n"))


def test_no_such_book(tmp_path):
    with pytest.raises(FileError, match="there is no such bench book"):
        read_bench_book(tmp_path / "none.csv")
