"""Records of coarse meters: taken as ranges by the rule, said, and never surer than the step allows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.report.next_steps import next_steps


def record(step: float, gap: float = -2.6, seed: int = 2, rehang: float = 0.35) -> pd.DataFrame:
    """Two invented wires, three blocks of four swaps, three readings each, rounded to the step."""
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(3):
        for position, name in enumerate(random.permutation(["ref", "ref", "B", "B"])):
            swap += 1
            level = -74 + (gap if name == "B" else 0.0) + random.normal(0, rehang)
            rows += [(swap, block + 1, name, 7.0 * position, np.round((level + random.normal(0, 0.2)) / step) * step)
                     for _ in range(3)]  # fmt: skip
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


def as_ranges(table: pd.DataFrame, step: float) -> pd.DataFrame:
    return table.drop(columns="level_db").assign(
        level_low_db=table["level_db"] - step / 2, level_high_db=table["level_db"] + step / 2
    )


def as_s_units(table: pd.DataFrame) -> pd.DataFrame:
    """Whole S units of 6 dB about S9 = -73 dBm (IARU Region 1 Technical Recommendation R.1)."""
    units = np.round((table["level_db"] + 73) / 6 + 9).astype(int)
    return table.drop(columns="level_db").assign(level_s=[f"S{unit}" for unit in units])


def plan(folder, step: float):
    path = folder / "plan.toml"
    head = 'candidates = ["ref", "B"]\nfrequency_mhz = 7.1\nhours = 2\nmatter_db = 1\n'
    path.write_text(f"{head}[meter]\nstep_db = {step}\n", "utf-8")
    return path


def codes(result) -> set[str]:
    return {notice.code for notice in result.warnings}


def test_whole_s_units_cannot_tell_what_one_decibel_steps_can(tmp_path):
    fine = record(0.001)
    coarse = judge(as_s_units(fine), reference="ref", matter_db=1.0)
    stepped = fine.assign(level_db=np.round(fine["level_db"]))
    finer = judge(stepped, plan(tmp_path, 1.0), reference="ref")
    assert coarse.gaps["verdict"].tolist() == ["cannot tell"]
    assert finer.gaps["verdict"].iloc[0].startswith("real")
    for result in (coarse, finer):
        assert "coarse-meter" in codes(result)
        low, high = result.gaps["interval_db"].iloc[0]
        assert low < -2.6 < high
        assert result.gaps["resolution_db"].iloc[0] == pytest.approx((high - low) / 2)
    text = next(notice.text for notice in coarse.warnings if notice.code == "coarse-meter")
    assert "The meter, not the wires" in text


def test_ranges_are_judged_and_agree_with_levels_of_that_step(tmp_path):
    table = record(1.0)
    levels = judge(table, plan(tmp_path, 1.0), reference="ref")
    ranges = judge(as_ranges(table, 1.0), reference="ref", matter_db=1.0)
    np.testing.assert_allclose(ranges.gaps["gap_db"], levels.gaps["gap_db"], atol=1e-6)
    np.testing.assert_allclose(ranges.gaps["interval_db"].iloc[0], levels.gaps["interval_db"].iloc[0], atol=1e-5)


def test_narrow_ranges_give_the_ordinary_answer():
    table = record(1e-4)
    ranges, ordinary = judge(as_ranges(table, 1e-3), matter_db=1.0), judge(table, matter_db=1.0)
    assert "coarse-meter" not in codes(ordinary)
    np.testing.assert_allclose(ranges.gaps["gap_db"], ordinary.gaps["gap_db"], atol=1e-5)
    # limits are found to 1e-4 of the critical value
    np.testing.assert_allclose(ranges.gaps["interval_db"].iloc[0], ordinary.gaps["interval_db"].iloc[0], atol=1e-3)


def test_a_fine_step_leaves_the_ordinary_analysis_alone(tmp_path):
    table = record(0.1)
    with_step = judge(table, plan(tmp_path, 0.1), reference="ref")
    without = judge(table, reference="ref", matter_db=1.0)
    assert "coarse-meter" not in codes(with_step)
    np.testing.assert_array_equal(with_step.gaps["gap_db"], without.gaps["gap_db"])


def test_interval_and_adjusted_p_say_the_same(tmp_path):
    path = plan(tmp_path, 1.0)
    for seed in range(4):
        row = judge(record(1.0, gap=-0.8, seed=seed), path, reference="ref").gaps.iloc[0]
        assert (row["interval_db"][0] > 0 or row["interval_db"][1] < 0) == (row["p_adjusted"] < 0.05)


def test_a_flat_record_has_limits_of_at_least_the_step_and_no_gap(tmp_path):
    table = record(1.0).assign(level_db=-74.0)
    row = judge(table, plan(tmp_path, 6.0), reference="ref").gaps.iloc[0]
    assert np.isnan(row["gap_db"])
    assert row["verdict"] == "cannot tell"
    assert row["interval_db"][0] <= -6.0 < 6.0 <= row["interval_db"][1]
    wider = judge(table.iloc[[0, 3, 6, 9, 12, 15]].drop_duplicates("swap"), plan(tmp_path, 6.0), reference="ref",
                  drift="none").gaps.iloc[0]  # fmt: skip
    assert wider["interval_db"][1] > row["interval_db"][1]


def test_a_flat_record_of_ranges_is_flat_too():
    table = as_ranges(record(1.0).assign(level_db=-74.0), 2.0)
    result = judge(table, reference="ref", matter_db=1.0)
    assert "all-readings-equal" in codes(result)
    assert result.gaps["interval_db"].iloc[0][1] >= 2.0


def test_against_the_best_works_with_ranges(tmp_path):
    result = judge(record(1.0), plan(tmp_path, 1.0), reference="ref", compare="best")
    assert set(result.could_be_best) == {"ref"}
    assert len(result.gaps) == 2


@pytest.mark.parametrize(("step", "gap", "agrees"), [(1.0, -2.6, True), (6.0, -4.0, None)])
def test_beside_ranges_stands_the_analysis_that_ignores_the_step(step, gap, agrees):
    table = as_ranges(record(step, gap), step)
    result = judge(table, reference="ref", matter_db=1.0, second_opinions=True)
    first = result.second_opinions[0]
    assert first.method == "the readings as numbers, the step ignored"
    plain = judge(record(step, gap), reference="ref", matter_db=1.0)
    ours, theirs = float(result.gaps["gap_db"].iloc[0]), float(plain.gaps["gap_db"].iloc[0])
    assert first.numbers["largest_difference_db"] == pytest.approx(abs(ours - theirs), abs=1e-6)
    same = result.gaps["verdict"].iloc[0] == plain.gaps["verdict"].iloc[0]
    assert first.agrees is same
    assert ("no verdict would change" in first.text) == same
    assert agrees is None or first.agrees is agrees


def text_of(result, code: str) -> str:
    return next(notice.text for notice in result.warnings if notice.code == code)


def test_what_ranges_leave_out_is_said_with_what_was_done_instead(tmp_path):
    table, path = record(1.0), plan(tmp_path, 1.0)
    assert "ranges-know-less" not in codes(judge(table, path, reference="ref"))
    walk = judge(table, path, reference="ref", drift="wandering")
    assert "straight line in each block, not as a wandering path" in text_of(walk, "ranges-know-less")
    both = pd.concat([table.assign(receiver="a"), table.assign(receiver="b")], ignore_index=True)
    two = judge(both, path, reference="ref")
    assert "taken as scatter of readings" in text_of(two, "ranges-know-less")
    some = judge(both[(both["receiver"] == "a") | (both["swap"] > 2)], path, reference="ref")
    assert "taken as scatter of readings" in text_of(some, "ranges-know-less")
    assert walk.as_ranges and two.as_ranges and some.as_ranges


def test_enough_specimens_are_not_called_too_few_by_a_coarse_meter(tmp_path):
    table = record(1.0, rehang=0.1)
    number = table.groupby("candidate")["swap"].rank(method="dense").astype(int)
    table = table.assign(specimen=(number % 3 + 1).astype(str))
    many = judge(table, plan(tmp_path, 1.0), reference="ref", drift="none")
    assert many.as_ranges and set(many.gaps["scope"]) == {"these specimens"}
    assert "few-specimens" not in codes(many)
    assert "enough to speak of any" in text_of(many, "ranges-know-less")


def test_no_number_of_blocks_is_promised_where_the_step_hides_the_scatter():
    """The meter is the limit: its record does not show how hangings scatter."""
    folder = Path(__file__).parents[2] / "examples" / "s-meter"
    found = judge(folder / "readings.csv", folder / "plan.toml")
    assert found.as_ranges and found.spread.rehang_sd_db is None
    assert found.gaps["verdict"].tolist() == ["cannot tell"] and found.gaps["more_blocks"].tolist() == [None]
    assert "finer step first" in " ".join(next_steps(found))


@pytest.mark.parametrize("drift", ["none", "steady"])
def test_the_rule_holds_the_residual_scatter_of_swap_means_against_half_a_step(tmp_path, drift):
    """Least squares by numpy, a general library, on blocks, gap and slopes: 12 swaps leave 8, with slopes 5."""
    table = record(1e-6)
    means = table.groupby("swap", as_index=False).agg(
        block=("block", "first"), candidate=("candidate", "first"), minutes=("minutes", "first"), y=("level_db", "mean")
    )
    blocks = np.eye(3)[means["block"] - 1]
    slopes = blocks * means[["minutes"]].to_numpy() if drift == "steady" else np.zeros((12, 0))
    X = np.column_stack([blocks, slopes, means["candidate"] == "B"])
    left = {"none": 8, "steady": 5}[drift]
    scatter = np.sqrt(np.linalg.lstsq(X, means["y"], rcond=None)[1][0] / left)
    for step, coarse in ((1.98 * scatter, False), (2.02 * scatter, True)):
        found = judge(table, plan(tmp_path, step), reference="ref", drift=drift)
        assert found.as_ranges is coarse
        assert found.gaps["degrees_of_freedom"].iloc[0] == pytest.approx(left)


@pytest.mark.parametrize("seed", range(3))
def test_one_gap_alone_has_one_p(tmp_path, seed):
    for step in (1.0, 2.0):
        table = record(step, gap=-0.8, seed=seed)
        row = judge(table, plan(tmp_path, step), reference="ref", drift="none").gaps.iloc[0]
        assert 0 < row["p_value"] <= 1
        assert row["p_value"] == pytest.approx(row["p_adjusted"], rel=1e-6)


def test_a_flat_top_does_not_make_the_error_a_hundred_decibels(tmp_path):
    """The curvature alone would say 104 dB here; the likelihood has fallen for good within a step to each side."""
    table = record(2.0, gap=-0.8, seed=2)
    rows = judge(table, plan(tmp_path, 2.0), reference="ref", drift="none", compare="best").gaps
    # not that of the plain numbers either, which is 0.32 dB
    assert rows["standard_error_db"].between(0.4, 1.0).all()


def test_a_scatter_of_readings_is_shown_where_readings_repeat_and_cross_cells(tmp_path):
    table, path = record(1.0, gap=-0.8, seed=0), plan(tmp_path, 1.0)
    # 0.2 dB went into the record; 36 readings rounded to 1 dB tell it within a factor of two
    assert 0.1 < judge(table, path, reference="ref", drift="none").spread.reading_sd_db < 0.4
    once = judge(table.drop_duplicates("swap"), path, reference="ref", drift="none")
    assert once.as_ranges and once.spread.reading_sd_db is None
    hidden = judge(record(1.0, gap=-0.8, seed=1), path, reference="ref").spread
    assert hidden.reading_sd_db is None and hidden.rehang_sd_db is None


def test_a_range_without_width_is_a_plain_level():
    """Between others of 1 dB: both are as good as exact."""
    table = record(1.0)
    ranges = as_ranges(table, 1.0)
    ends = ["level_low_db", "level_high_db"]
    point, level = ranges.copy(), ranges.assign(level_db=np.nan)
    point.loc[4, ends] = table["level_db"][4]
    level.loc[4, ends] = np.nan
    level.loc[4, "level_db"] = table["level_db"][4]
    found, same = (judge(each, reference="ref", matter_db=1.0).gaps.iloc[0] for each in (point, level))
    assert found["gap_db"] == pytest.approx(same["gap_db"], abs=1e-4)
    assert found["interval_db"] == pytest.approx(same["interval_db"], abs=1e-3)


def test_ranges_beside_plain_levels_are_not_called_a_coarse_step():
    """The meter is fine; every third reading wavered and was written down as a range of 2 dB."""
    table = record(0.1)
    wavered = table.index % 3 == 0
    middle = table["level_db"]
    mixed = table.assign(level_db=middle.where(~wavered), level_low_db=(middle - 1).where(wavered),
                         level_high_db=(middle + 1).where(wavered))
    text = text_of(judge(mixed, reference="ref", matter_db=1.0), "coarse-meter")
    assert text.startswith("Readings known only to lie in a range (2 dB wide as a rule) were taken as ranges")
