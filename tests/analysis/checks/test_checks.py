"""Questions to the residuals: quiet by chance at their own rate, loud when something is there."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.checks.collect import residual_checks
from antexp.analysis.judge import judge
from antexp.analysis.record_model import record_model
from antexp.analysis.scopes import fit_these

WIRES = ["ref", "B", "C", "D", "E"]


def record(seed: int, blocks: int = 6, scatter: float = 0.3) -> pd.DataFrame:
    """Invented blocks of seven swaps, the reference at the ends and in the middle."""
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(blocks):
        inner = list(random.permutation(WIRES[1:]))
        for position, name in enumerate(["ref", *inner[:2], "ref", *inner[2:], "ref"]):
            swap += 1
            level = -60 + random.normal(0, scatter)
            rows += [(swap, str(block + 1), str(name), 7.0 * position, level + random.normal(0, 0.1)) for _ in range(2)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    return table.assign(specimen="1", place="1", receiver="1")


def checks_of(table: pd.DataFrame, drift: str = "steady"):
    fitted = fit_these(record_model(table, reference="ref", drift=drift))
    return {check.name: check for check in residual_checks(fitted, drift)}


def test_chance_alone_warns_at_its_own_rate():
    found = [checks_of(record(seed)) for seed in range(60)]
    for name in ("drift-form", "unequal-scatter", "carry-over", "odd-swap"):
        p = np.array([checks[name].p_value for checks in found])
        # 60 records: at 5 % fewer than 9 are expected in 99.7 of 100 cases (binomial)
        assert (p < 0.05).sum() <= 8
        assert (p > 0.5).sum() >= 15


def test_a_bend_a_wander_and_a_jump_are_told_from_each_other():
    table = record(1, scatter=0.1)
    hours = (table["minutes"] - 21) / 60
    bent = checks_of(table.assign(level_db=table["level_db"] + 12 * hours**2))["drift-form"]
    assert bent.warning == "drift-form-not-enough" and "bend" in bent.answer and "--drift curved" in bent.answer
    jumped = table.copy()
    jumped.loc[(jumped["block"] == "3") & (jumped["minutes"] > 20), "level_db"] += 1.5
    jump = checks_of(jumped)["drift-form"]
    assert "jump before swap 18 of block 3" in jump.answer
    random = np.random.default_rng(5)
    steps = dict(zip(table["swap"].unique(), np.cumsum(random.normal(0, 0.5, table["swap"].nunique())), strict=True))
    wander = checks_of(record(1, scatter=0.05).assign(level_db=lambda t: t["level_db"] + t["swap"].map(steps)))
    assert wander["drift-form"].worth_a_look


def test_an_odd_swap_is_named_with_its_distance():
    table = record(2)
    table.loc[table["swap"] == 12, "level_db"] += 2.5
    check = checks_of(table)["odd-swap"]
    assert check.warning == "odd-swap"
    assert check.answer.startswith("Swap 12 ")
    # the distance is from what the others say: 2.5 dB within three of the swap's own scatter of 0.3 dB
    assert float(check.answer.split(" lies ")[1].split(" dB")[0]) == pytest.approx(2.5, abs=0.9)


def test_a_wire_that_scatters_more_is_named():
    table = record(3)
    random = np.random.default_rng(1)
    for swap in table.loc[table["candidate"] == "D", "swap"].unique():
        table.loc[table["swap"] == swap, "level_db"] += random.normal(0, 1.5)
    check = checks_of(table)["unequal-scatter"]
    assert check.warning == "unequal-scatter" and "“D”" in check.answer


def test_a_trace_of_the_wire_before_is_found():
    table = record(4, scatter=0.15)
    first = table.drop_duplicates("swap").set_index("swap")
    before = first.groupby("block")["candidate"].shift()
    after_c = set(before.index[before == "C"])
    table.loc[table["swap"].isin(after_c), "level_db"] += 0.9
    check = checks_of(table)["carry-over"]
    assert check.warning == "carry-over" and "after “C”" in check.answer


def test_warnings_reach_the_judgement_and_the_document():
    table = record(2)
    table.loc[table["swap"] == 12, "level_db"] += 2.5
    result = judge(table.drop(columns=["place", "receiver"]), reference="ref", matter_db=1.0)
    assert "odd-swap" in {notice.code for notice in result.warnings}
    assert {row["name"] for row in result.to_dict()["checks"]} >= {"drift-form", "odd-swap"}


def test_a_tiny_record_asks_nothing():
    table = record(1, blocks=1).iloc[:8]
    assert checks_of(table, "none") == {} or all(0 < c.p_value <= 1 for c in checks_of(table, "none").values())


@pytest.mark.parametrize(("gap", "else_"), [(-0.4, "no gap that matters"), (-0.6, "real, may or may not matter")])
def test_a_real_gap_that_its_own_wire_scatters_over_is_named(gap, else_):
    table = record(7, blocks=5, scatter=0.15)
    wild = table.loc[table["candidate"] == "D", "swap"].unique()
    thrown = dict(zip(wild, [-0.5, 0.5, -0.5, 0.5, 0.0], strict=True))
    table["level_db"] += table["swap"].map(thrown).fillna(0.0)
    table.loc[table["candidate"] == "D", "level_db"] += gap
    result = judge(table.drop(columns=["place", "receiver"]), reference="ref", matter_db=1.0)
    assert result.gaps.set_index("candidate").loc["D", "verdict"] == "real but too small to matter"
    said = [notice.text for notice in result.warnings if notice.code == "rests-on-equal-scatter"]
    assert f"“D” against “ref” (by its own scatter “{else_}”, not “real but too small to matter”)" in said[0]


def test_a_gap_said_not_to_matter_may_rest_on_equal_scatter_too():
    table = record(7, blocks=5, scatter=0.15)
    wild = table.loc[table["candidate"] == "D", "swap"].unique()
    table["level_db"] += table["swap"].map(dict(zip(wild, [-0.8, 0.8, -0.8, 0.8, 0.0], strict=True))).fillna(0.0)
    table.loc[table["candidate"] == "D", "level_db"] -= 0.2
    result = judge(table.drop(columns=["place", "receiver"]), reference="ref", matter_db=1.0)
    row = result.gaps.set_index("candidate").loc["D"]
    assert row["verdict"] == "no gap that matters"
    # five hangings of D by their own scatter: what Student's t would give them reaches beyond 1 dB
    assert abs(row["gap_db"]) + 2.78 * 0.8 / np.sqrt(5) > 1.0
    said = [notice.text for notice in result.warnings if notice.code == "rests-on-equal-scatter"]
    assert "“D” against “ref” (by its own scatter “cannot tell”, not “no gap that matters”)" in said[0]
    assert [check.candidates for check in result.checks if check.name == "unequal-scatter"] == [("D",)]


def test_a_plain_real_gap_rests_on_nothing_more():
    table = record(8, scatter=0.15)
    table.loc[table["candidate"] == "B", "level_db"] -= 3.0
    result = judge(table.drop(columns=["place", "receiver"]), reference="ref", matter_db=1.0)
    assert result.gaps.set_index("candidate").loc["B", "verdict"] == "real and it matters"
    assert "rests-on-equal-scatter" not in {notice.code for notice in result.warnings}


def test_a_wandering_fit_asks_nothing_of_residuals_that_hang_together():
    assert checks_of(record(1), "wandering") == {}
