"""Gap budgets and matched gaps: right shares from the right source, wider by what was measured, silent otherwise."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.budget_result import MATCHED_COLUMNS
from antexp.analysis.judge import judge
from antexp.errors import ReadingsError
from antexp.mixed.verdict import NO_GAP_THAT_MATTERS, REAL
from antexp.plan.height_slope import height_slope
from antexp.plan.reader import plan_from_dict
from antexp.radio.mismatch import mismatch_loss_uncertainty_db

WIRES = ["bare", "covered", "steel"]


def record(gaps_db: dict[str, float], *, blocks: int = 5, specimens: int = 1, seed: int = 1, **columns) -> pd.DataFrame:
    """Invented levels; each further column maps a candidate to its value."""
    random = np.random.default_rng(seed)
    names = list(gaps_db)
    rows, swap = [], 0
    for block in range(blocks):
        for position, name in enumerate([names[0], *random.permutation(names[1:]), names[0]]):
            swap += 1
            level = -50 + gaps_db[str(name)] + random.normal(0, 0.15)
            specimen = str(1 + (block + position // 2) % specimens)
            rows += [(swap, block + 1, name, specimen, 7.0 * position, level + random.normal(0, 0.05))
                     for _ in range(2)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "specimen", "minutes", "level_db"])
    for column, values in columns.items():
        table[column] = table["candidate"].map(values)
    return table


def plan(**more):
    long = {
        "candidates": [{"name": "bare", "material": "copper", "diameter_mm": 1.5},
                       {"name": "covered", "material": "copper", "diameter_mm": 1.5},
                       {"name": "steel", "material": "steel", "diameter_mm": 1.5}],
        "radio": {"frequency_mhz": 14.2}, "question": {"matter_db": 1.0},
    }  # fmt: skip
    for table, keys in more.items():
        long[table] = {**long.get(table, {}), **keys} if isinstance(keys, dict) else keys
    return plan_from_dict(long)


def codes(judgement):
    return [notice.code for notice in judgement.warnings]


def budget_of(judgement, candidate):
    return next(row for row in judgement.to_dict()["gap_budgets"] if row["candidate"] == candidate)


def test_matched_gap_gives_back_what_the_swr_table_says():
    # SWR 2 is 0.512 dB of mismatch loss, SWR 1 none (SWR and mismatch table in every handbook)
    result = judge(record({"bare": 0.0, "covered": -0.5}, swr={"bare": 1.0, "covered": 2.0}), matter_db=1.0)
    row, used = result.budgets.matched.iloc[0], result.family.iloc[0]
    assert row["gap_db"] - used["gap_db"] == pytest.approx(0.5115, abs=1e-4)
    assert row["as_used_gap_db"] == used["gap_db"] and row["as_used_verdict"] == used["verdict"]
    assert budget_of(result, "covered")["mismatch_db"] == pytest.approx(-0.5115, abs=1e-4)
    assert budget_of(result, "covered")["conductor_db"] is None, "no plan, no metal"


def test_uncertainty_of_the_measurement_is_carried_into_the_matched_gap():
    result = judge(record({"bare": 0.0, "covered": -0.5}, swr={"bare": 1.2, "covered": 2.0}))
    row, used = result.budgets.matched.iloc[0], result.family.iloc[0]
    # GUM 5.1.2; reflection 1/3 at SWR 2 and 1/11 at 1.2
    u = mismatch_loss_uncertainty_db([1 / 3, 1 / 11])
    assert row["standard_error_db"] == pytest.approx(np.sqrt(used["standard_error_db"] ** 2 + (u**2).sum()))
    # GUM G.4.1 with infinite degrees of freedom for the instrument
    share = (row["standard_error_db"] / used["standard_error_db"]) ** 4
    assert row["degrees_of_freedom"] == pytest.approx(used["degrees_of_freedom"] * share)
    assert row["resolution_db"] > used["resolution_db"], "a correction never makes a gap surer"


def test_an_impedance_against_the_plans_source():
    # 100 Ω on 50 Ω is SWR 2; on a source of 100 Ω it is matched
    table = record({"bare": 0.0, "covered": 0.0}, feed_ohm={"bare": 100 + 0j, "covered": 50 + 0j})
    assert budget_of(judge(table), "covered")["mismatch_db"] == pytest.approx(0.5115, abs=1e-4)
    other = judge(table, plan(radio={"source_impedance_ohm": 100.0, "swap_end": "receiver"}))
    row = budget_of(other, "covered")
    assert row["mismatch_db"] == pytest.approx(-0.5115, abs=1e-4)
    assert (row["swap_end"], row["source_impedance_ohm"]) == ("receiver", 100.0)


def test_readings_before_the_bench_book_before_the_plan():
    gaps = {"bare": 0.0, "covered": 0.0, "steel": 0.0}
    known = plan(candidates=[{"name": name, "swr": 3.0} for name in WIRES])
    bench = pd.DataFrame({"candidate": ["covered", "steel", "steel"], "swr": ["1.5", "9", "2"]})
    table = record(gaps, swr={"bare": np.nan, "covered": np.nan, "steel": 1.0})
    from antexp.field.bench_book import read_bench_book

    budgets = judge(table, known, bench=read_bench_book(bench)).budgets
    assert budgets.mismatch_from == {"bare": "plan", "covered": "bench book", "steel": "readings"}
    # 1.249, 0.177 and 0 dB: SWR table
    assert [budgets.mismatch_loss_db[name] for name in WIRES] == pytest.approx([1.2494, 0.1773, 0.0], abs=1e-4)


def test_the_last_match_of_the_bench_book_counts(tmp_path):
    book = tmp_path / "bench.csv"
    book.write_text("candidate,swr\nbare,1\ncovered,9\ncovered,2\n")
    result = judge(record({"bare": 0.0, "covered": -0.5}), bench=book)
    assert budget_of(result, "covered")["mismatch_db"] == pytest.approx(-0.5115, abs=1e-4)


def test_mean_over_swaps_of_a_specimen_and_one_row_of_a_swap_is_enough():
    table = record({"bare": 0.0, "covered": -0.5}, swr={"bare": 1.0, "covered": np.nan})
    first = table[table["candidate"] == "covered"].drop_duplicates("swap").index
    table.loc[first, "swr"] = [1.5, 2.0, 3.0, np.nan, np.nan]
    found = judge(table).budgets.mismatch_loss_db["covered"]
    assert found == pytest.approx((0.1773 + 0.5115 + 1.2494) / 3, abs=1e-4), "SWR table"


def test_a_candidate_is_known_only_when_every_specimen_is():
    gaps = {"bare": 0.0, "covered": -0.5}
    table = record(gaps, blocks=6, specimens=2, swr={"bare": 1.0, "covered": 2.0})
    assert set(judge(table, drift="none").budgets.mismatch_from) == {"bare", "covered"}
    table.loc[(table["candidate"] == "covered") & (table["specimen"] == "2"), "swr"] = np.nan
    assert judge(table, drift="none").budgets is None, "a gap with one end known is not known"


def test_nothing_known_nothing_shown():
    result = judge(record({"bare": 0.0, "covered": -0.5}), matter_db=1.0)
    assert result.budgets is None
    document = json.loads(result.to_json())
    assert document["matched_gaps"] == [] and document["gap_budgets"] == []


def test_shares_add_up_and_are_plain_json():
    known = plan(candidates=[{"name": "bare", "material": "copper", "diameter_mm": 1.5, "swr": 1.1},
                             {"name": "covered", "material": "copper", "diameter_mm": 1.5, "swr": 1.8},
                             {"name": "steel", "material": "steel", "diameter_mm": 1.5}])
    result = judge(record({"bare": 0.0, "covered": -0.4, "steel": -1.0}), known)
    for row in json.loads(result.to_json())["gap_budgets"]:
        shares = [row[key] or 0.0 for key in ("mismatch_db", "conductor_db", "height_and_sag_db", "unexplained_db")]
        assert sum(shares) == pytest.approx(row["measured_db"])
    steel = budget_of(result, "steel")
    assert steel["mismatch_db"] is None and steel["mismatch_from"] == [None, "plan"]
    assert steel["conductor_range_db"][0] < steel["conductor_db"] < steel["conductor_range_db"][1] < 0


def test_gaps_between_any_two_are_those_to_the_reference_subtracted():
    gaps = {"bare": 0.0, "covered": -0.4, "steel": -1.0}
    table = record(gaps, swr={"bare": 1.1, "covered": 1.8, "steel": 1.4})
    to_reference = {row["candidate"]: row for row in judge(table, plan()).budgets.rows()}
    pairs = judge(table, plan(), compare="each-other").budgets
    row = next(row for row in pairs.rows() if (row["candidate"], row["against"]) == ("covered", "steel"))
    for key in ("measured_db", "mismatch_db", "conductor_db", "unexplained_db"):
        assert row[key] == pytest.approx(to_reference["covered"][key] - to_reference["steel"][key], abs=1e-6)
    matched = pairs.matched.set_index(["candidate", "against"])["gap_db"]
    assert matched["bare", "covered"] + matched["covered", "steel"] == pytest.approx(matched["bare", "steel"])


def test_with_the_best_the_budgets_are_those_to_the_reference():
    result = judge(record({"bare": 0.0, "covered": -0.4, "steel": -1.0}), plan(), compare="best")
    assert [row["against"] for row in result.budgets.rows()] == ["bare", "bare"]


RANGE = {"distance_m": 500, "height_m": 8, "receive_height_m": 6, "ground": "medium dry"}


def test_height_that_goes_with_the_wire():
    table = record({"bare": 0.0, "covered": -0.1}, height_m={"bare": 8.0, "covered": 7.5})
    low, slope, high = height_slope(plan(radio=RANGE))
    assert low < slope < high and slope > 0, "a horizontal wire over ground gains with height"
    row = budget_of(judge(table, plan(radio=RANGE)), "covered")
    assert row["height_and_sag_db"] == pytest.approx(-0.5 * slope)
    # half of each range over √3 (GUM 4.3.7): the slope's, and 5 cm for each of the two heights
    expected = np.hypot(0.5 * (high - low) / np.sqrt(12), slope * np.sqrt(2 * 0.05**2 / 3))
    assert row["height_and_sag_uncertainty_db"] == pytest.approx(expected)
    swapped = height_slope(plan(radio={**RANGE, "swap_end": "receiver", "height_m": 6, "receive_height_m": 8}))
    assert swapped == pytest.approx((low, slope, high)), "the slope is that of the antenna which is swapped"


@pytest.mark.parametrize("height_m", [8, 12])
def test_sag_of_a_heavy_wire_stands_in_the_budget(height_m):
    wires = [{"name": "bare", "material": "copper", "diameter_mm": 1.5, "mass_g_per_m": 16},
             {"name": "covered", "material": "copper", "diameter_mm": 1.5, "mass_g_per_m": 60}]
    heavy = plan(candidates=wires, radio={**RANGE, "height_m": height_m}, field={"tension_n": 30})
    row = budget_of(judge(record({"bare": 0.0, "covered": -0.1}), heavy), "covered")
    low, slope, high = height_slope(heavy)
    # w·L²/(8T), and 8/π² of it for a cosine of current; L half a wavelength
    length = 299.792458 / 14.2 / 2
    sag = 44e-3 * 9.80665 * length**2 / (8 * 30) * 8 / np.pi**2
    assert row["height_and_sag_db"] == pytest.approx(-slope * sag, rel=0.1), "the element is a little short of λ/2"
    # half of each range over √3 (GUM 4.3.7): the slope's, and a pull within a fifth of what was planned
    share = row["height_and_sag_db"]
    expected = np.hypot(share / slope * (high - low) / np.sqrt(12), share * 0.2 / np.sqrt(3))
    assert row["height_and_sag_uncertainty_db"] == pytest.approx(expected)


def test_a_poor_crimp_is_pointed_at_and_honest_wires_are_not():
    poor = judge(record({"bare": 0.0, "covered": -0.9}), plan(), matter_db=1.0)
    notice = next(notice for notice in poor.warnings if notice.code == "gap-not-explained")
    assert "“covered” against “bare”" in notice.text and "crimps" in notice.text
    assert "was not measured" in notice.text
    assert budget_of(poor, "covered")["unexplained_too_large"] is True
    honest = [judge(record({"bare": 0.0, "covered": 0.0}, seed=seed), plan()) for seed in range(20)]
    # at 95 % for all together one in twenty is expected; five or more have a chance of 0.3 %
    assert sum("gap-not-explained" in codes(each) for each in honest) < 5


def test_without_the_metal_nothing_is_called_too_large():
    bare = plan(candidates=WIRES)
    result = judge(record({"bare": 0.0, "covered": -3.0}, swr={"bare": 1.0, "covered": 1.1}), bare)
    assert "gap-not-explained" not in codes(result)


def test_a_verdict_that_mismatch_decides_is_said():
    table = record({"bare": 0.0, "covered": -1.25}, swr={"bare": 1.0, "covered": 3.0}, seed=3)
    result = judge(table, matter_db=1.0)
    notice = next(notice for notice in result.warnings if notice.code == "mismatch-decides")
    assert "as used −1" in notice.text and "hold as used" in notice.text
    # SWR 3 takes 1.249 dB (SWR table), so that matched the gap is nothing
    used, matched = result.family.iloc[0]["verdict"], result.budgets.matched.iloc[0]["verdict"]
    assert used in REAL and matched == NO_GAP_THAT_MATTERS
    assert f"“{used}”, matched" in notice.text and notice.text.count(f"“{NO_GAP_THAT_MATTERS}”") == 1
    assert list(result.budgets.matched.columns) == list(MATCHED_COLUMNS)


def test_matched_limits_hold_for_all_asked_gaps_together():
    gaps = {"bare": 0.0, "covered": -0.5, "steel": -1.0}
    some = judge(record(gaps, swr={"bare": 1.0, "covered": 2.0, "steel": np.nan})).budgets.matched
    every = judge(record(gaps, swr={"bare": 1.0, "covered": 2.0, "steel": 1.0})).budgets.matched
    assert some["candidate"].tolist() == ["covered"] and every["candidate"].tolist() == ["covered", "steel"]
    # not a family of one: nearly as wide as with all mismatches known (correlation differs by what they share)
    assert some.iloc[0]["resolution_db"] == pytest.approx(every.iloc[0]["resolution_db"], rel=0.02)


def test_ranges_are_taken_apart_too():
    table = record({"bare": 0.0, "covered": -3.0}, blocks=6, swr={"bare": 1.0, "covered": 2.0})
    table["level_low_db"] = np.floor(table["level_db"] / 2) * 2
    table["level_high_db"] = table["level_low_db"] + 2
    result = judge(table.drop(columns="level_db"))
    assert "coarse-meter" in codes(result)
    assert result.budgets.matched.iloc[0]["gap_db"] - result.family.iloc[0]["gap_db"] == pytest.approx(0.5115, abs=1e-4)


def test_bench_measurements_that_may_not_hold_aloft(tmp_path):
    book = tmp_path / "bench.csv"
    book.write_text("candidate,swr,height_m,where\nbare,1.1,2,test post\ncovered,1.8,8,end of the coax\nsteal,2,8,\n")
    result = judge(record({"bare": 0.0, "covered": -0.4}), bench=book)
    assert "bench-not-in-record" in codes(result) and "analyser-behind-line" in codes(result)
    assert "“steal”" in next(n.text for n in result.warnings if n.code == "bench-not-in-record")
    book.write_text(book.read_text().replace("steal", "steel"))
    result = judge(record({"bare": 0.0, "covered": -0.4}), plan(radio=RANGE), bench=book)
    assert "“bare” was measured at another height than the test's 8 m" in next(
        n.text for n in result.warnings if n.code == "bench-height")


def test_a_bench_book_at_fault_is_refused_with_its_line(tmp_path):
    book = tmp_path / "bench.csv"
    book.write_text("candidate,swr,feed_ohm\nbare,0.8,\ncoverd,,62+9k\n")
    with pytest.raises(ReadingsError) as caught:
        judge(record({"bare": 0.0, "covered": -0.4}), plan(), bench=book)
    text = str(caught.value)
    assert "line 2, column swr" in text and "line 3, column feed_ohm" in text and "covered" in text
