"""Several receivers and readings with the source off."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.receiver_weights import reading_scatter, receiver_weights
from antexp.analysis.record_model import record_model
from antexp.analysis.scopes import fit_these
from antexp.mixed import fit_reml
from tests.analysis.invented_receivers import record


def codes(result) -> set[str]:
    return {notice.code for notice in result.warnings}


def test_receivers_that_agree_and_receivers_that_do_not():
    agree = judge(record(), reference="ref", matter_db=1.0)
    assert "receivers-disagree" not in codes(agree)
    assert 0.05 < agree.receivers.p_value <= 1
    differ = judge(record(pattern=1.5), reference="ref", matter_db=1.0)
    assert "receivers-disagree" in codes(differ)
    gaps = differ.receivers.gaps.set_index(["receiver", "candidate"])["gap_db"]
    # the same swaps at both receivers: what differs is the pattern, within swap-by-receiver scatter of 0.1 dB
    assert gaps["b", "B"] - gaps["a", "B"] == pytest.approx(1.5, abs=0.25)
    assert gaps["b", "C"] - gaps["a", "C"] == pytest.approx(0.0, abs=0.25)
    mean = differ.gaps.set_index("candidate")["gap_db"]["B"]
    assert mean == pytest.approx((gaps["a", "B"] + gaps["b", "B"]) / 2, abs=1e-6)


def test_the_test_of_receivers_is_the_paired_comparison_of_their_differences():
    """scipy.stats.ttest_ind on per-swap differences between two receivers, a general library: the same question."""
    from scipy import stats

    random = np.random.default_rng(4)
    rows = []
    for swap in range(12):
        name = "ref" if swap % 2 else "B"
        hang = random.normal(-50, 0.4)
        rows += [(swap + 1, 1, name, receiver, 7.0 * swap, hang + random.normal(0, 0.2)) for receiver in "ab"]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "receiver", "minutes", "level_db"])
    result = judge(table, reference="ref", drift="none", matter_db=1.0)
    wide = table.pivot(index="swap", columns="receiver", values="level_db")
    name = table.drop_duplicates("swap").set_index("swap")["candidate"]
    difference = wide["b"] - wide["a"]
    outside = stats.ttest_ind(difference[name == "B"], difference[name == "ref"])
    assert result.receivers.p_value == pytest.approx(outside.pvalue, rel=1e-4)


def test_one_receiver_that_died_halfway_still_has_its_say():
    table = record(pattern=2.0)
    table = table[(table["receiver"] == "a") | (table["block"] <= 3)]
    result = judge(table, reference="ref", matter_db=1.0)
    assert result.receivers is not None
    assert "receivers-disagree" in codes(result)


def test_a_receiver_that_scatters_much_more_is_named():
    result = judge(record(noisy=0.8), reference="ref", matter_db=1.0)
    assert "receivers-scatter-unlike" in codes(result)
    assert result.receivers.reading_sd_db["b"] == pytest.approx(0.8, rel=0.3)


def test_an_unsteady_receiver_that_came_and_went_counts_by_its_own_scatter():
    """Generalised least squares with the true reading scatters, written out as one matrix: what weighting aims at."""
    table = record(seed=3, noisy=2.0, blocks=6)
    table = table[(table["receiver"] == "b") | (table["block"] <= 4)].assign(specimen="1", place="1")
    result = judge(table, reference="ref", matter_db=1.0)
    said = {notice.code: notice.text for notice in result.warnings}
    assert "Each reading counts by how steady" in said["receivers-scatter-unlike"]
    model = record_model(table.assign(block=table["block"].astype(str)), reference="ref", drift="steady")
    swap, pair = (pd.factorize(key)[0] for key in (table["swap"], table["swap"].astype(str) + table["receiver"]))
    one, two = np.eye(swap.max() + 1)[swap], np.eye(pair.max() + 1)[pair]
    noise = np.where(table["receiver"] == "b", 2.0, 0.1) ** 2
    spread = result.spread
    V = spread.rehang_sd_db**2 * one @ one.T + spread.swap_receiver_sd_db**2 * two @ two.T + np.diag(noise)
    X, y = model.model.X, table["level_db"].to_numpy()
    Z = np.linalg.solve(V, X)
    phi = np.linalg.inv(X.T @ Z)
    L = model.model.gaps([("B", "ref"), ("C", "ref")])
    best, error = L @ phi @ (Z.T @ y), np.sqrt(np.diag(L @ phi @ L.T))
    rows = result.gaps.set_index("candidate").loc[["B", "C"]]
    # weights are estimated from two readings a swap; Kenward and Roger's errors allow for variances not known
    assert np.abs(rows["gap_db"] - best).max() < 0.1 * error.min()
    ratio = rows["standard_error_db"].to_numpy() / error
    assert (ratio > 0.98).all() and (ratio < 1.2).all()
    shared = fit_reml(y, X, model.groups).contrasts(L)
    assert (shared.standard_errors > 1.3 * rows["standard_error_db"].to_numpy()).all()


def test_the_likelihood_of_weighted_readings_is_that_of_the_readings():
    """The restricted likelihood of method M2 written out with one matrix V."""
    table = record(seed=3, noisy=2.0)
    table = table[(table["receiver"] == "b") | (table["block"] <= 3)].assign(specimen="1", place="1")
    model = record_model(table.assign(block=table["block"].astype(str)), reference="ref", drift="steady")
    fitted = fit_these(model)
    X, y, noise = model.model.X, model.level_db, fitted.fit.residual_variance / model.weights**2
    V = np.diag(noise)
    for name, codes in model.groups.items():
        Z = np.eye(codes.max() + 1)[codes]
        V = V + fitted.fit.variances[name] * Z @ Z.T
    left = y - X @ np.linalg.solve(X.T @ np.linalg.solve(V, X), X.T @ np.linalg.solve(V, y))
    n, p = X.shape
    whole = ((n - p) * np.log(2 * np.pi) + np.linalg.slogdet(V)[1] + np.linalg.slogdet(X.T @ np.linalg.solve(V, X))[1]
             - np.linalg.slogdet(X.T @ X)[1] + left @ np.linalg.solve(V, left))  # fmt: skip
    assert fitted.restricted_log_likelihood == pytest.approx(-0.5 * whole, abs=1e-6)


def test_receivers_that_scatter_alike_or_were_hardly_read_share_one_scatter():
    table = record(noisy=0.15).assign(specimen="1", place="1")
    assert receiver_weights(table) is None
    loud = record(noisy=1.0).assign(specimen="1", place="1")
    weights = receiver_weights(loud)
    ratio = weights[loud["receiver"] == "a"].max() / weights[loud["receiver"] == "b"].max()
    assert ratio == pytest.approx(10.0, rel=0.4)
    assert receiver_weights(loud[(loud["receiver"] == "a") | (loud["swap"] <= 9)]) is None
    still = loud.assign(level_db=loud["level_db"].where(loud["receiver"] == "b", -60.0))
    assert receiver_weights(still) is None


@pytest.mark.parametrize("apart", [0.0, -7.0, -7.3, np.array([0.0, 1.0] * 4)])
def test_receivers_that_differ_by_constants_alone_are_not_held_against_each_other(apart):
    """As two meters of one-decibel steps may, read once a swap: no scatter, so no test and no finding."""
    levels = np.array([-50.0, -49.0, -51.0, -51.0, -49.0, -50.0, -50.0, -51.0])
    one = pd.DataFrame({"swap": range(1, 9), "block": 1, "candidate": ["ref", "B"] * 4, "minutes": 7.0 * np.arange(8),
                        "level_db": levels})
    both = pd.concat([one.assign(receiver="a"), one.assign(receiver="b", level_db=levels + apart)])
    found = judge(both, reference="ref", matter_db=1.0, drift="none")
    alone = judge(one, reference="ref", matter_db=1.0, drift="none")
    assert found.receivers is None and "receivers-disagree" not in codes(found)
    if np.ndim(apart) == 0:
        assert found.gaps["gap_db"].iloc[0] == pytest.approx(alone.gaps["gap_db"].iloc[0])


@pytest.mark.parametrize("times", [1.0, 1e-6])
def test_weights_are_the_common_scatter_over_the_receivers_own(times):
    """Scatters within swaps pooled by hand; a receiver steadier than a twentieth of the loudest counts as that."""
    table = record(noisy=1.0)
    hushed = table["receiver"] == "a"
    table.loc[hushed, "level_db"] = -60.0 + (table.loc[hushed, "level_db"] + 60.0) * times
    squares = table.groupby(["receiver", "swap"])["level_db"].var().groupby("receiver").mean()  # two readings each
    own = squares.clip(lower=squares.max() / 20.0**2)
    found = receiver_weights(table)
    np.testing.assert_allclose(found, np.sqrt(squares.mean() / table["receiver"].map(own)), rtol=1e-9)


@pytest.mark.parametrize(("ratio", "swaps", "told"), [(2.1, 20, True), (1.9, 20, False), (9.0, 10, True),
                                                       (9.0, 9, False)])
def test_receivers_are_told_apart_beyond_a_factor_of_two_and_from_ten_spare_readings_on(ratio, swaps, told):
    table = record()
    table = table[table["swap"] <= swaps].copy()  # two readings each: one to spare a swap
    means = table.groupby(["receiver", "swap"])["level_db"].transform("mean")
    rest = table["level_db"] - means
    size = rest.groupby(table["receiver"]).transform(lambda each: np.sqrt((each**2).mean()))
    table["level_db"] = means + rest / size * np.where(table["receiver"] == "b", ratio, 1.0)
    assert (receiver_weights(table) is not None) is told


def test_the_scatter_of_a_receivers_readings_is_pooled_within_its_swaps():
    table = record(noisy=1.0)
    by_hand = table.groupby(["receiver", "swap"])["level_db"].var().groupby("receiver").mean() ** 0.5
    assert reading_scatter(table) == pytest.approx(by_hand.to_dict())
    assert reading_scatter(table.drop_duplicates(["receiver", "swap"])) == {"a": None, "b": None}


def test_a_wandering_path_goes_with_unlike_receivers():
    table = record(seed=3, noisy=2.0, blocks=4)
    table = table[(table["receiver"] == "b") | (table["block"] <= 3)]
    found = judge(table, reference="ref", matter_db=1.0, drift="wandering").gaps.set_index("candidate")
    steady = judge(table, reference="ref", matter_db=1.0, drift="none").gaps.set_index("candidate")
    # the path of this record does not move: both are about the same gap
    assert (found["gap_db"] - steady["gap_db"]).abs().max() < steady["standard_error_db"].max()


def test_one_receiver_has_nothing_to_compare():
    result = judge(record(receivers=("a",)), reference="ref", matter_db=1.0)
    assert result.receivers is None
    assert result.to_dict()["receivers"] is None


def with_noise(table: pd.DataFrame, level_db: float, add: bool) -> pd.DataFrame:
    """Add the noise's power to the levels, and a reading with the source off in each block."""
    seen = table.assign(role="")
    if add:
        seen["level_db"] = 10 * np.log10(10 ** (table["level_db"] / 10) + 10 ** (level_db / 10))
    name, blocks = table["candidate"].iloc[0], table["block"].unique()
    off = [(900 + block, block, name, "a", 30.0, level_db, "off") for block in blocks]
    return pd.concat([seen, pd.DataFrame(off, columns=seen.columns)], ignore_index=True)


def test_noise_under_the_signal_is_taken_off():
    clean = record(receivers=("a",))
    seen = judge(with_noise(clean, -66.0, add=True), reference="ref", matter_db=1.0)
    assert "noise-taken-off" in codes(seen)
    np.testing.assert_allclose(
        seen.gaps["gap_db"], judge(clean, reference="ref", matter_db=1.0).gaps["gap_db"], atol=1e-6
    )


def test_noise_far_below_changes_nothing_and_noise_too_near_is_warned_of():
    clean = record(receivers=("a",))
    far = judge(with_noise(clean, -110.0, add=False), reference="ref", matter_db=1.0)
    plain = judge(clean, reference="ref", matter_db=1.0)
    np.testing.assert_array_equal(far.gaps["gap_db"], plain.gaps["gap_db"])
    assert codes(far).isdisjoint({"noise-taken-off", "signal-in-noise"})
    near = judge(with_noise(clean, -60.0, add=True), reference="ref", matter_db=1.0)
    assert "signal-in-noise" in codes(near)


def test_a_monitor_of_the_source_is_taken_off():
    table = record(receivers=("a",))
    fading = np.linspace(0, -3, len(table))
    monitored = table.assign(level_db=table["level_db"] + fading, source_db=fading)
    np.testing.assert_allclose(
        judge(monitored, reference="ref", matter_db=1.0).gaps["gap_db"],
        judge(table, reference="ref", matter_db=1.0).gaps["gap_db"], atol=1e-9,
    )  # fmt: skip


def test_the_day_is_drawn_on_one_level_where_a_receiver_falls_silent():
    """The second receiver lies 9 dB lower and is heard in three of five blocks: the path must not jump after them."""
    folder = Path(__file__).parents[2] / "examples" / "two-receivers"
    day = judge(folder / "readings.csv", folder / "plan.toml", folder / "order.csv").day
    reference = day.swaps[day.swaps["candidate"] == "copper 1.2 mm"]
    assert reference["level_db"].max() - reference["level_db"].min() < 2.5  # re-hanging and a steady path
    own = day.readings["swap"].map(day.swaps.set_index("swap")["level_db"])
    assert (day.readings["level_db"] - own).abs().max() < 1.5
    assert day.path["path_db"].max() - day.path["path_db"].min() < 2.5
