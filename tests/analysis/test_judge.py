"""What a judgement says of a record: scopes, verdicts, warnings, and what it refuses."""

from __future__ import annotations

import json
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.comparisons import Estimates, family_limits, joined
from antexp.analysis.judge import judge
from antexp.analysis.more_blocks import more_blocks
from antexp.design.random_terms import walk_loadings
from antexp.errors import JudgementError

GAPS = {"ref": 0.0, "B": -2.5, "C": -0.1, "D": 0.0}


def record(
    blocks: int = 5,
    readings: int = 3,
    rehang: float = 0.2,
    reading: float = 0.2,
    specimens: int = 1,
    slope: float = 0.0,
    seed: int = 3,
) -> pd.DataFrame:
    """Invented blocks: the reference at both ends, the others in random order between."""
    random = np.random.default_rng(seed)
    own = {(name, s): random.normal(0, 0.15) for name in GAPS for s in range(specimens)}
    rows, swap = [], 0
    for block in range(blocks):
        level = -50 + random.normal(0, 1)
        for position, name in enumerate(["ref", *random.permutation(["B", "C", "D"]), "ref"]):
            swap += 1
            specimen = (block + position) % specimens
            hang = level + GAPS[str(name)] + slope * position * 7 / 60 + random.normal(0, rehang)
            hang += own[str(name), specimen] if specimens > 1 else 0.0
            rows += [
                (swap, f"b{block + 1}", name, f"s{specimen}", 7.0 * position, hang + random.normal(0, reading))
                for _ in range(readings)
            ]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "specimen", "minutes", "level_db"])


def codes(result) -> set[str]:
    return {notice.code for notice in result.warnings}


def test_verdicts_of_a_clear_record():
    result = judge(record(), matter_db=1.0)
    verdicts = dict(zip(result.gaps["candidate"], result.gaps["verdict"], strict=True))
    assert verdicts == {"B": "real and it matters", "C": "no gap that matters", "D": "no gap that matters"}
    assert result.reference == "ref"
    assert set(result.could_be_best) >= {"ref", "D"}
    assert "B" not in result.could_be_best


def test_interval_and_adjusted_p_say_the_same():
    for seed in range(4):
        result = judge(record(seed=seed, rehang=0.8), matter_db=1.0)
        for row in result.gaps.itertuples():
            outside = row.interval_db[0] > 0 or row.interval_db[1] < 0
            assert outside == (row.p_adjusted < 1 - result.confidence)
            assert row.resolution_db == pytest.approx((row.interval_db[1] - row.interval_db[0]) / 2)
            assert row.detectable_db > row.resolution_db


def test_the_drift_is_found_block_by_block():
    result = judge(record(slope=3.0, rehang=0.02, reading=0.02), matter_db=1.0)
    assert set(result.drift.db_per_hour) == {"b1", "b2", "b3", "b4", "b5"}
    # re-hanging scatter of 0.02 dB over 28 minutes leaves the slope uncertain by some 0.05 dB an hour
    np.testing.assert_allclose(list(result.drift.db_per_hour.values()), 3.0, atol=0.25)


def test_specimens_widen_the_scope_and_the_other_scope_stands_beside():
    result = judge(record(blocks=8, specimens=2), matter_db=1.0)
    family = result.family
    assert set(family["scope"]) == {"any specimen"}
    beside = result.gaps[~result.gaps["counts"]]
    assert set(beside["scope"]) == {"these specimens"}
    assert beside["verdict"].isna().all()
    assert result.gaps["candidate"].tolist() == [name for name in result.candidates[1:] for _ in range(2)]
    assert result.gaps["counts"].tolist() == [True, False] * 3
    best = judge(record(blocks=8, specimens=2), matter_db=1.0, compare="best")
    assert set(best.gaps["scope"]) == {"any specimen"}
    assert result.spread.specimen_sd_db is not None
    assert "one-specimen-each" not in codes(result)


def test_other_methods_are_asked_in_the_scope_of_the_verdicts(monkeypatch):
    asked = []
    monkeypatch.setattr("antexp.analysis.judge.second_opinions_of", lambda one, order: asked.append(one) or ())
    for table in (record(blocks=8, specimens=2), record()):
        judge(table, matter_db=1.0, second_opinions=True)
    scopes = [[(fit.scope, len(pairs)) for fit, pairs in each.parts] for each in asked]
    assert scopes == [[("any specimen", 3)], [("these specimens", 3)]]


def test_few_specimens_are_said():
    table = record(blocks=6)
    table.loc[(table["candidate"] == "B") & table["block"].isin(["b4", "b5", "b6"]), "specimen"] = "s9"
    result = judge(table, matter_db=1.0)
    assert "few-specimens" in codes(result)
    assert set(result.gaps["scope"]) == {"these specimens"}


def test_one_reading_a_swap_is_one_scatter():
    result = judge(record(readings=1), matter_db=1.0)
    assert "one-reading-per-swap" in codes(result)
    assert result.spread.reading_sd_db is None
    assert result.spread.rehang_sd_db > 0


def test_swap_scatter_at_zero_is_said_and_shown_as_zero():
    table = record(rehang=0.05, reading=0.0)
    # three readings 1 dB apart would scatter swap means by 0.58 dB; they scatter by 0.05
    table["level_db"] += np.tile([-1.0, 0.0, 1.0], len(table) // 3)
    result = judge(table, matter_db=1.0)
    assert "swap-scatter-at-zero" in codes(result)
    assert result.spread.rehang_sd_db == 0.0
    assert (result.gaps["standard_error_db"] > 0).all()


def test_without_matter_db_only_two_verdicts_and_a_warning():
    result = judge(record())
    assert "no-matter-db" in codes(result)
    assert set(result.gaps["verdict"]) <= {"real, may or may not matter", "cannot tell"}
    assert result.matter_db is None


def test_few_degrees_of_freedom_are_said():
    result = judge(record(blocks=2), drift="steady", matter_db=1.0)
    assert "few-degrees-of-freedom" in codes(result)


def test_a_candidate_tied_to_time_is_named():
    # B always last but one, C always first after the reference: B against ref leans on the slope
    rows, swap = [], 0
    random = np.random.default_rng(1)
    for block in range(6):
        for position, name in enumerate(["ref", "ref", "C", "B", "B"]):
            swap += 1
            rows.append((swap, block, name, 7.0 * position, -50 + random.normal(0, 0.3)))
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    result = judge(table, matter_db=1.0)
    text = next(notice.text for notice in result.warnings if notice.code == "tied-to-time")
    assert "“B” against “ref”" in text


def test_blocks_of_two_swaps_carry_no_slope():
    random = np.random.default_rng(2)
    rows = [
        (2 * block + position + 1, block, name, 7.0 * position, -50 + random.normal(0, 0.3))
        for block in range(8)
        for position, name in enumerate(random.permutation(["ref", "B"]))
    ]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    result = judge(table, reference="ref", matter_db=1.0)
    assert "small-block" in codes(result)
    assert result.drift.db_per_hour == {}
    # 16 swaps, 8 blocks and 1 gap leave 7: the paired t-test
    assert result.gaps["degrees_of_freedom"].iloc[0] == pytest.approx(7)


def test_two_wires_in_pairs_are_the_paired_t_test():
    """scipy.stats.ttest_rel, a general library, on blocks of two single readings."""
    from scipy import stats

    random = np.random.default_rng(9)
    first, second = random.normal(-50, 1, 9), random.normal(-50.4, 1, 9)
    rows = [(2 * i + 1, i, "ref", 0.0, first[i]) for i in range(9)]
    rows += [(2 * i + 2, i, "B", 7.0, second[i]) for i in range(9)]
    table = pd.DataFrame(sorted(rows), columns=["swap", "block", "candidate", "minutes", "level_db"])
    result = judge(table, reference="ref", drift="none", matter_db=1.0)
    outside = stats.ttest_rel(second, first)
    assert result.gaps["p_value"].iloc[0] == pytest.approx(outside.pvalue, rel=1e-9)
    limits = outside.confidence_interval(0.95)
    np.testing.assert_allclose(result.gaps["interval_db"].iloc[0], [limits.low, limits.high], rtol=1e-8)


def test_untied_blocks_are_refused_and_named():
    table = record(blocks=4)
    keep = (table["block"].isin(["b1", "b2"]) & table["candidate"].isin(["ref", "B"])) | (
        table["block"].isin(["b3", "b4"]) & table["candidate"].isin(["C", "D"])
    )
    with pytest.raises(JudgementError, match=r"no block ties “ref”, “B” to (“C”, “D”|“D”, “C”)"):
        judge(table[keep], matter_db=1.0)


def test_abba_cannot_carry_a_parabola():
    table = pd.DataFrame(
        {"swap": range(1, 9), "block": [1] * 4 + [2] * 4, "candidate": list("ABBA") * 2,
         "minutes": [0.0, 7, 14, 21] * 2, "level_db": np.random.default_rng(3).normal(-50, 1, 8)}
    )  # fmt: skip
    with pytest.raises(JudgementError, match=r"curve.*--drift none|--drift steady"):
        judge(table, drift="curved", matter_db=1.0)


def test_a_flat_record_with_a_known_step_cannot_tell(tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(
        'candidates = ["ref", "B", "C", "D"]\nfrequency_mhz = 7.1\nmatter_db = 1\n[meter]\nstep_db = 6\n', "utf-8"
    )
    table = record().assign(level_db=-50.0)
    result = judge(table, plan)
    assert set(result.gaps["verdict"]) == {"cannot tell"}
    assert "all-readings-equal" in codes(result)
    assert result.could_be_best == ("ref", *[name for name in result.candidates if name != "ref"])
    document = json.loads(result.to_json())
    assert document["gaps"][0]["gap_db"] is None


def test_several_receivers_repeat_the_reading_not_the_hanging():
    one = record().assign(receiver="a")
    two = one.assign(receiver="b", level_db=one["level_db"] - 7.0)
    both = pd.concat([one, two]).sort_values("swap", kind="stable")
    result = judge(both, matter_db=1.0)
    alone = judge(one, matter_db=1.0)
    assert "several-receivers" in codes(result)
    np.testing.assert_allclose(result.gaps["gap_db"], alone.gaps["gap_db"], atol=1e-9)
    # the second receiver only repeats the first: limits must not shrink by more than the reading noise allows
    assert (result.gaps["standard_error_db"] > 0.8 * alone.gaps["standard_error_db"]).all()


def test_a_receiver_that_died_halfway_is_no_problem():
    one = record(rehang=0.4).assign(receiver="a")
    two = one[one["block"].isin(["b1", "b2"])].assign(receiver="b")
    two = two.assign(level_db=two["level_db"] - 7.0)
    result = judge(pd.concat([one, two]), matter_db=1.0)
    assert "several-receivers" in codes(result)
    assert result.gaps["verdict"].iloc[list(result.gaps["candidate"]).index("B")] == "real and it matters"


def test_a_wandering_path_can_be_judged():
    result = judge(record(blocks=6, rehang=0.3), drift="wandering", matter_db=1.0)
    assert result.drift.form == "wandering"
    assert (result.gaps["standard_error_db"] > 0).all()


def test_walk_loadings_sum_the_steps():
    rows = pd.DataFrame({"swap": [1, 2, 3, 4], "block": ["a", "a", "a", "b"], "minutes": [0.0, 15.0, 60.0, 0.0]})
    loadings = walk_loadings(rows)
    np.testing.assert_allclose(loadings, [[0, 0], [0.5, 0], [0.5, np.sqrt(0.75)], [0, 0]])


def test_results_document_keeps_the_contract():
    result = judge(record(), matter_db=1.0)
    document = json.loads(result.to_json())
    assert {
        "reference", "compare", "confidence", "matter_db", "readings", "swaps", "blocks", "gaps", "gaps_covariance_db2",
        "could_be_best", "spread", "drift", "restricted_log_likelihood", "warnings", "provenance",
    } <= set(document)  # fmt: skip
    assert {
        "candidate", "against", "gap_db", "standard_error_db", "degrees_of_freedom", "interval_db", "p_value",
        "p_adjusted", "resolution_db", "detectable_db", "scope", "verdict",
    } <= set(document["gaps"][0])  # fmt: skip
    assert set(document["spread"]) == {
        "rehang_sd_db", "reading_sd_db", "specimen_sd_db", "block_sd_db", "swap_receiver_sd_db"
    }  # fmt: skip
    assert np.shape(document["gaps_covariance_db2"]) == (3, 3)
    assert document["readings"] == 75
    assert {"antexp", "plan_sha256", "readings_sha256"} <= set(document["provenance"])


def test_same_record_same_bytes():
    table = record()
    assert judge(table, matter_db=1.0).to_json() == judge(table, matter_db=1.0).to_json()


def test_the_order_of_rows_does_not_matter():
    table = record()
    shuffled = table.sample(frac=1.0, random_state=1)
    a, b = judge(table, matter_db=1.0, reference="ref"), judge(shuffled, matter_db=1.0, reference="ref")
    left = a.gaps.set_index("candidate")["gap_db"]
    right = b.gaps.set_index("candidate")["gap_db"]
    np.testing.assert_allclose(left, right.loc[left.index], rtol=1e-9)


def test_joined_families_are_block_diagonal_and_wider():
    one = Estimates((("B", "ref"),), np.array([0.1]), np.array([[0.04]]), np.array([12.0]))
    other = Estimates((("C", "ref"),), np.array([0.3]), np.array([[0.09]]), np.array([12.0]))
    family = joined([one, other])
    np.testing.assert_allclose(family.covariance_db2, [[0.04, 0], [0, 0.09]])
    assert family_limits(family, 0.95, 0.8).critical[0] > family_limits(one, 0.95, 0.8).critical[0]


def test_no_interval_below_one_degree_of_freedom():
    lonely = Estimates((("B", "ref"),), np.array([0.1]), np.array([[0.04]]), np.array([0.7]))
    assert np.isnan(family_limits(lonely, 0.95, 0.8).lower_db[0])


def test_more_blocks_shrink_with_the_gap_and_stop_somewhere():
    needed = [more_blocks(gap, 0.8, 1.0, 4, 12.0) for gap in (0.79, 0.7, 0.6)]
    assert all(a <= b for a, b in pairwise(needed))
    assert more_blocks(0.01, 0.8, None, 4, 12.0) is None
    assert more_blocks(0.0, 1.2, 1.0, 4, 12.0) <= 3
