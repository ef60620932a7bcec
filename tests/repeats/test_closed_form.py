"""Chances in closed form: textbook cases, Monte Carlo, and what is paid for."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from antexp.repeats.closed_form import closed_form
from antexp.repeats.planned_gaps import Spreads, planned_gaps
from antexp.repeats.scoped_model import scoped_models
from antexp.repeats.single_hanging import Scatter

CHECKS = Path(__file__).parents[1] / "reference"
STILL = Spreads(Scatter(1.0, 0.0), 0.0, 0.0, 0.0)


def _days(blocks, names, minutes=6.0):
    """One row a swap: the names in each block, in turn forwards and backwards."""
    rows = []
    for b in range(blocks):
        for i, name in enumerate(names if b % 2 == 0 else names[::-1]):
            rows.append({"swap": len(rows) + 1, "block": str(b + 1), "minutes": minutes * i, "candidate": name,
                         "specimen": "1", "place": "1"})
    return pd.DataFrame(rows)


def _chances(table, matter, spreads=STILL, drift="none", compare="reference", confidence=0.95, chance=0.8, joint=True):
    planned = planned_gaps(table, scoped_models(table, "a", drift, compare), spreads)
    return closed_form(planned, compare=compare, matter_db=matter, confidence=confidence, chance=chance, joint=joint)


@pytest.mark.parametrize("row", json.loads((CHECKS / "C06_noncentral_t_sample_size.json").read_text())["data"]["rows"])
def test_textbook_sample_sizes(row):
    """Outside reference: Cohen 1988 table 2.4.1 and R power.t.test (case C06), power to 1e-4 and n exactly.

    One block with n hangings of two wires is the two-sample test; blocks with one hanging of each are the paired one,
    whose d is in units of the scatter of a difference, √2 times that of a hanging. R counts both tails; the wrong
    one holds less than 1e-6 here.
    """
    design, d, power, published_n, _, _, power_at_n = row
    two_sample = design.startswith("two-sample")

    def chance_with(n):
        table = _days(1, ["a", "b"] * n) if two_sample else _days(n, ["a", "b"])
        return _chances(table, d if two_sample else d * np.sqrt(2)).chance

    assert chance_with(published_n) == pytest.approx(power_at_n, abs=1e-4)
    assert chance_with(published_n) >= power > chance_with(published_n - 1)


def _simulated(table, spreads, truth, matter, drift="steady", records=40_000, seed=1):
    """Chances by brute force: least squares of swap means with the multivariate t limits of R's own recipe."""
    from antexp.design.swap_model import swap_model
    from antexp.mixed.multivariate_t import critical_value

    model = swap_model(table["candidate"], table["block"], table["minutes"], reference="a", drift=drift)
    names = [name for name in model.candidates if name != "a"]
    L = model.gaps([(name, "a") for name in names])
    X, n = model.X, len(table)
    random = np.random.default_rng(seed)
    level = table["candidate"].map({"a": 0.0, **dict(zip(names, truth, strict=True))}).to_numpy()
    Y = level[:, None] + spreads.hanging.sd_db * random.standard_normal((n, records))
    for block in table["block"].unique():
        own = np.flatnonzero(table["block"] == block)
        hours = table["minutes"].to_numpy()[own] / 60
        walk = np.cumsum(np.sqrt(np.diff(hours))[:, None] * random.standard_normal((len(own) - 1, records)), axis=0)
        Y[own[1:]] += spreads.wander_db_per_sqrt_hour * walk
        Y[own] += spreads.drift_db_per_hour * np.outer(hours, np.ones(records)) * random.standard_normal(records)
    A = np.linalg.pinv(X)
    beta = A @ Y
    s2 = np.sum((Y - X @ beta) ** 2, axis=0) / (n - X.shape[1])
    C = L @ A @ A.T @ L.T
    errors = np.sqrt(np.outer(np.diag(C), s2))
    half = critical_value(C / np.sqrt(np.outer(np.diag(C), np.diag(C))), n - X.shape[1]) * errors
    gaps = L @ beta
    lower, upper = gaps - half, gaps + half
    return {
        "chance": np.mean(lower > 0, axis=1),
        "all": np.mean(np.all(lower > 0, axis=0)),
        "settled": np.mean((lower <= 0) & (upper >= 0) & (lower > -matter) & (upper < matter), axis=1),
        "error": np.mean(errors**2, axis=1) ** 0.5,
    }


def test_agrees_with_brute_force():
    """40,000 records: three standard errors of a share are at most 0.0075."""
    table = _days(4, ["a", "b", "c", "d", "a"])
    spreads = Spreads(Scatter(0.4, 0.3, 4), 0.1, 0.8, 0.0)
    found = _chances(table, 1.0, spreads, "steady")
    real = _simulated(table, spreads, [1.0, 1.0, 1.0], 1.0)
    none = _simulated(table, spreads, [0.0, 0.0, 0.0], 1.0)
    assert found.gaps["chance"].to_numpy() == pytest.approx(real["chance"], abs=0.0075)
    assert found.chance_all == pytest.approx(real["all"], abs=0.0085)  # and 0.001 of the Sobol sequence
    assert found.gaps["chance_settled_if_equal"].to_numpy() == pytest.approx(none["settled"], abs=0.0075)
    assert found.gaps["degrees_of_freedom"].to_numpy() == pytest.approx(np.full(3, 20 - 11))


@pytest.mark.parametrize(("drift", "wander", "slope"), [("steady", 1.0, 0.5), ("none", 0.0, 1.5), ("none", 0.5, 1)])
def test_a_path_that_the_model_leaves_out_is_paid_for(drift, wander, slope):
    """Satterthwaite's approximation stands behind these: within 0.015 of brute force; less than on a still path."""
    table = _days(4, ["a", "b", "c", "a", "c", "b", "a"])
    spreads = Spreads(Scatter(0.35, 0.0), 0.0, slope, wander)
    found = _chances(table, 0.5, spreads, drift)
    real = _simulated(table, spreads, [0.5, 0.5], 0.5, drift)
    assert found.gaps["chance"].to_numpy() == pytest.approx(real["chance"], abs=0.015)
    assert found.gaps["standard_error_db"].to_numpy() == pytest.approx(real["error"], rel=0.02)
    still = _chances(table, 0.5, replace(spreads, wander_db_per_sqrt_hour=0.0, drift_db_per_hour=0.0), drift)
    assert found.chance < still.chance - 0.02


def test_specimens_are_paid_for_only_where_they_can_be_judged():
    """Balanced nested design: variance 2(σ²_spec/2 + σ²/8) of a gap, S − k df (nested analysis of variance)."""
    table = _days(1, ["a", "b", "c", "d"] * 8)
    table["specimen"] = [str(1 + i // 4 % 2) for i in range(32)]
    spreads = Spreads(Scatter(0.3, 0.0), 0.4, 0.0, 0.0)
    found = _chances(table, 1.0, spreads)
    assert set(found.gaps["scope"]) == {"any specimen"}
    # slices of χ² stand for its whole: they lose a part in 600 of the root mean square
    expected = np.full(3, np.sqrt(2 * (0.16 / 2 + 0.09 / 8)))
    assert found.gaps["standard_error_db"].to_numpy() == pytest.approx(expected, rel=3e-3)
    assert found.gaps["degrees_of_freedom"].to_numpy() == pytest.approx(np.full(3, 4.0), abs=1e-3)
    few = table[(table["candidate"] != "d") | (table["specimen"] == "1")]
    these = _chances(few, 1.0, spreads)
    assert set(these.gaps["scope"]) == {"these specimens"}
    assert these.chance > found.chance


def test_where_specimens_are_judged_the_detectable_gap_is_noticed_with_the_wanted_chance():
    """Reports of several sizes then stand side by side; each gap put in as the one that matters gives 0.8 back."""
    table = _days(1, ["a", "b", "c", "d"] * 8)
    table["specimen"] = [str(1 + i // 4 % 2) for i in range(32)]
    spreads = Spreads(Scatter(0.3, 0.0), 0.4, 0.0, 0.0)
    first = _chances(table, 1.0, spreads)
    assert list(first.gaps["candidate"]) == ["b", "c", "d"] and set(first.gaps["against"]) == {"a"}
    again = _chances(table, first.detectable_db, spreads)
    assert again.gaps["chance"].to_numpy() == pytest.approx(np.full(3, 0.8), abs=1e-6)


def test_the_chance_of_all_is_worked_out_unless_it_is_not_wanted():
    table = _days(4, ["a", "b", "c"])
    planned = planned_gaps(table, scoped_models(table, "a", "none", "reference"), STILL)
    asked = {"compare": "reference", "matter_db": 2.0, "confidence": 0.95, "chance": 0.8}
    assert 0 < closed_form(planned, **asked).chance_all < closed_form(planned, **asked).chance
    assert np.isnan(closed_form(planned, **asked, joint=False).chance_all)


def test_detectable_gap_is_noticed_with_the_wanted_chance_and_resolution_half_the_time():
    table = _days(5, ["a", "b", "c", "a"])
    first = _chances(table, 1.0, drift="steady")
    assert _chances(table, first.detectable_db, drift="steady").chance == pytest.approx(0.8, abs=1e-6)
    assert _chances(table, first.resolution_db, drift="steady").chance == pytest.approx(0.5, abs=0.04)


def test_each_other_and_best_against_brute_force():
    table = _days(5, ["a", "b", "c"])
    spreads = Spreads(Scatter(0.4, 0.0), 0.0, 0.0, 0.0)
    random = np.random.default_rng(2)
    n = 40_000
    # all three balanced: means and pooled scatter are enough, df = 15 − 7
    s = 0.4 * np.sqrt(random.chisquare(8, n) / 8)
    means = np.array([0.0, 1.0, 2.0])[:, None] + 0.4 / np.sqrt(5) * random.standard_normal((3, n))
    half = stats.studentized_range.ppf(0.95, 3, 8) / np.sqrt(2) * s * np.sqrt(2 / 5)
    pairs = _chances(table, 1.0, spreads, compare="each-other")
    assert pairs.chance == pytest.approx(np.mean(means[1] - means[0] > half), abs=0.0075)
    everything = (means[1] - means[0] > half) & (means[2] - means[1] > half) & (means[2] - means[0] > half)
    assert pairs.chance_all == pytest.approx(np.mean(everything), abs=0.0085)
    best = _chances(table, 1.0, spreads, compare="best")
    # a gap to the best is real by the limits of all pairs: studentised range of 3 with 8 df, 4.04 (Tukey's table)
    assert best.resolution_db == pytest.approx(4.04 / np.sqrt(2) * 0.4 * np.sqrt(2 / 5), rel=0.002)
    assert best.chance == pytest.approx(np.mean(means[1] - means[0] > half), abs=0.0075)
    # within 1 dB of the best by one-sided Dunnett, two treatments and a control, 8 df: 2.22 (Dunnett 1955, table 1a)
    near = means[1] - 1.0 - means[0] > 2.22 * s * np.sqrt(2 / 5) - 1.0
    assert best.chance_settled_if_equal == pytest.approx(np.mean(near), abs=0.0075)


def test_a_day_that_cannot_be_judged_has_no_chance():
    found = _chances(_days(1, ["a", "b", "c"]), 1.0)
    assert (found.chance, found.chance_all, found.chance_settled_if_equal) == (0.0, 0.0, 0.0)
    assert np.isnan(found.resolution_db) and found.gaps.empty


def test_without_a_gap_that_matters_there_is_no_chance_to_state():
    found = _chances(_days(4, ["a", "b", "c"]), None)
    assert np.isnan(found.chance) and np.isnan(found.chance_all) and np.isnan(found.chance_settled_if_equal)
    assert np.isfinite(found.detectable_db)


def test_the_far_tail_is_guarded():
    """scipy's noncentral t is NaN there (note of case C06); a hundredfold gap is noticed for certain."""
    found = _chances(_days(40, ["a", "b"]), 100.0)
    assert found.chance == 1.0
