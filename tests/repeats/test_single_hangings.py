"""A table of single hangings held against chance."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from antexp.errors import FileError, RepeatsError
from antexp.repeats.single_hangings import against_chance
from antexp.repeats.single_hangings_file import Hanging, read_single_hangings

CHECKS = Path(__file__).parents[1] / "reference"


def _hangings(levels, **more):
    return [Hanging(f"wire {i}", level, **more) for i, level in enumerate(levels)]


def test_critical_ranges_are_those_of_the_tables():
    """Outside references: Harter 1960 (case C03) and ISO 5725-6 critical range factors (case C12)."""
    harter = json.loads((CHECKS / "C03_studentised_range.json").read_text())["data"]["rows"]
    iso = json.loads((CHECKS / "C12_repeatability_limit.json").read_text())["data"]["critical_range_f"]
    rows = [(k, published) for k, df, published, _ in harter if df == "inf"] + [(n, computed) for n, _, computed in iso]
    for k, factor in rows:
        found = against_chance(_hangings(np.arange(k) * 0.1), rehang_sd_db=1.0, reading_sd_db=0.0)
        assert found.spread_limit_db == pytest.approx(factor, abs=0.0051)
        assert found.pairs["resolution_db"].to_numpy() == pytest.approx(found.spread_limit_db)


def test_ten_equal_wires_spread_as_simulated():
    """Method section 7: ten equal wires at 0.55 dB scatter spread 1.7 dB in the median; and simulated afresh."""
    found = against_chance(_hangings(np.zeros(10)), rehang_sd_db=0.55, reading_sd_db=0.0)
    assert found.spread_of_equal_db == pytest.approx(1.7, abs=0.05)
    spreads = np.ptp(0.55 * np.random.default_rng(1).standard_normal((10, 100_000)), axis=0)
    assert found.spread_of_equal_db == pytest.approx(np.median(spreads), abs=0.01)
    assert float(np.mean(spreads > found.spread_limit_db)) == pytest.approx(0.05, abs=0.0021)  # 3 standard errors


def test_a_gap_is_real_exactly_below_its_scatter():
    levels = [-60.0, -61.2, -63.5, -60.4]
    found = against_chance(_hangings(levels), rehang_sd_db=0.4, reading_sd_db=0.3)
    assert found.spread_db == pytest.approx(3.5)
    top = found.pairs.iloc[0]
    assert (top["candidate"], top["against"], top["gap_db"]) == ("wire 0", "wire 2", pytest.approx(3.5))
    for row in found.pairs.itertuples():
        edge = row.real_below_rehang_sd_db
        assert row.real == (edge > 0.4)
        assert row.real == (row.p_adjusted < 0.05)
        if edge > 0:
            below, above = (
                against_chance(_hangings(levels), rehang_sd_db=f * edge, reading_sd_db=0.3).pairs for f in (0.99, 1.01))
            mine = (below["candidate"] == row.candidate) & (below["against"] == row.against)
            assert bool(below.loc[mine, "real"].iloc[0]) and not bool(above.loc[mine, "real"].iloc[0])
    assert found.noise_above_rehang_sd_db == pytest.approx(top["real_below_rehang_sd_db"], rel=1e-6)
    assert list(found.by_scatter["pairs_real"]) == sorted(found.by_scatter["pairs_real"], reverse=True)


def test_ranges_widen_and_mismatch_is_given_back():
    plain = against_chance(_hangings([-60, -62]), rehang_sd_db=0.3, reading_sd_db=0)
    ranges = against_chance(_hangings([-60, -62], half_range_db=1.5), rehang_sd_db=0.3, reading_sd_db=0)
    # a level anywhere within ±1.5 dB: variance 1.5²/3 = 0.75 dB² (uniform distribution, GUM 4.3.7)
    assert ranges.spread_limit_db / plain.spread_limit_db == pytest.approx(math.sqrt(0.09 + 0.75) / 0.3)
    matched = against_chance([Hanging("a", -60, swr=1.0), Hanging("b", -61.249387, swr=3.0)])
    assert matched.spread_db == pytest.approx(0, abs=1e-5)


def _write(tmp_path, text):
    path = tmp_path / "table.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_reads_levels_ranges_and_s_units(tmp_path):
    path = _write(tmp_path, "candidate;level_db;level_low_db;level_high_db;level_s;note\n"
                            "copper;−61.5;;;;x\nsteel;;-66;-64;;\nalu;;;;S9+10;\n")
    rows = read_single_hangings(path)
    assert [(row.name, row.level_db, row.half_range_db) for row in rows] == [
        ("copper", -61.5, 0.0), ("steel", -65.0, 1.0), ("alu", 10.0, 3.0)]


def test_minus_dbm_turns_the_sign_and_is_asked_for(tmp_path):
    path = _write(tmp_path, "name,level_db\na,67\nb,69\n")
    assert [row.level_db for row in read_single_hangings(path, "minus dBm")] == [-67, -69]
    assert [row.level_db for row in read_single_hangings(path, "dB")] == [67, 69]
    with pytest.raises(RepeatsError, match="Does 67 mean −67 dBm"):
        read_single_hangings(path)


def test_a_table_of_one_row_is_refused(tmp_path):
    with pytest.raises(RepeatsError, match=r"too few rows: got 1 row; allowed: 2 to 100. One wire alone"):
        read_single_hangings(_write(tmp_path, "name,level_db\na,-67\n"))
    with pytest.raises(RepeatsError, match="too few rows"):
        against_chance(_hangings([-60]))


def test_all_faults_of_a_table_at_once(tmp_path):
    path = _write(tmp_path, "name,level_db,level_low_db,level_high_db,swr\n"
                            "a,-67,,,0.5\n,-66,,,\na,-6x,,,\nb,,-60,-62,\nc,,,,\nd,-6,-7,-5,\na,-60,,,\na,\"-6,1\",,,\n")
    with pytest.raises(RepeatsError) as caught:
        read_single_hangings(path)
    text = str(caught.value)
    for part in ("line 2, column swr: swr is impossible: got 0.5; allowed: 1 to 100",
                 "line 3: a row has no name", "line 4, column level_db: text stands where a number belongs: got '-6x'",
                 "line 5, columns level_low_db, level_high_db: a range needs a low and a high end: got -60 to -62",
                 "line 6: the level is blank", "line 7: the level is given twice", "decimal point, not a comma"):
        assert part in text
    assert len(caught.value.faults) == 7


def test_a_head_that_says_nothing_is_refused(tmp_path):
    with pytest.raises(RepeatsError) as caught:
        read_single_hangings(_write(tmp_path, "wire,dB\na,-67\n"))
    assert "no column of names" in str(caught.value) and "no column of levels" in str(caught.value)
    with pytest.raises(FileError, match="there is no such table of single hangings"):
        read_single_hangings(tmp_path / "none.csv")


def test_names_and_ratios_are_checked_over_the_table(tmp_path):
    with pytest.raises(RepeatsError, match=r"lines 2 and 3: a name occurs twice: got 'a'"):
        read_single_hangings(_write(tmp_path, "name,level_db\na,-67\na,-68\n"))
    with pytest.raises(RepeatsError, match="some rows have an swr and some have none: got 1 of 2"):
        read_single_hangings(_write(tmp_path, "name,level_db,swr\na,-67,1.5\nb,-68,\n"))
