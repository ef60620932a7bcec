"""Other methods on the same record: they agree where they should, and say why where they do not."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.comparisons import asked_pairs
from antexp.analysis.judge import judge
from antexp.analysis.receiver_weights import fit_weighted
from antexp.analysis.record_model import record_model
from antexp.analysis.scopes import fit_these
from antexp.analysis.second_opinions.asked import Asked
from antexp.analysis.second_opinions.leave_one_out import leave_one_out_opinion, one_step_moves
from antexp.analysis.second_opinions.rerandomisation import rerandomisation_opinion
from antexp.analysis.settings import settle
from antexp.design.order import make_order
from antexp.plan.reader import plan_from_dict, read_plan
from antexp.repeats.simulate import simulate

NAMES = ("mixed model", "re-randomisation", "analysis of variance", "left out", "heavier-tailed")


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    path = tmp_path_factory.mktemp("plan") / "plan.toml"
    path.write_text(
        'candidates = ["ref", "B", "C", "D"]\nfrequency_mhz = 14.2\nmatter_db = 1\n[field]\nblocks = 5\n', "utf-8"
    )
    return read_plan(path)


@pytest.fixture(scope="module")
def order(plan):
    return make_order(plan)


def asked_of(table: pd.DataFrame, matter_db: float = 1.0) -> Asked:
    settings, _ = settle(None, matter_db=matter_db)
    rows = table.assign(**{name: table.get(name, "1") for name in ("specimen", "place", "receiver")})
    these = fit_these(record_model(rows, reference="ref", drift="steady"))
    pairs = asked_pairs(these.record.model.candidates, "reference")
    return Asked(((these, pairs),), these, these.estimates(pairs), settings)


def test_all_agree_on_a_well_behaved_record(plan, order):
    table = simulate(plan, order, {"B": -2.0}, seed=5)
    result = judge(table, plan, order, second_opinions=True)
    said = {opinion.method: opinion for opinion in result.second_opinions}
    assert len(said) == 5
    for name in NAMES:
        assert any(name in method for method in said)
    assert [o.agrees for m, o in said.items() if "left out" not in m] == [True] * 4
    document = json.loads(result.to_json())
    assert [row["method"] for row in document["second_opinions"]] == list(said)


def test_without_being_asked_there_are_none(plan, order):
    assert judge(simulate(plan, order, {}, seed=5), plan, order).second_opinions == ()


def test_what_cannot_be_compared_says_why(plan, order):
    table = simulate(plan, order, {}, seed=6, readings=1)
    said = {o.method: o for o in judge(table, plan, second_opinions=True).second_opinions}
    library = next(o for m, o in said.items() if "statsmodels" in m)
    draw = next(o for m, o in said.items() if "re-randomisation" in m)
    assert library.agrees is None and "one reading a swap" in library.text
    assert draw.agrees is None and "--order" in draw.text


def test_a_swap_that_decides_is_named(plan, order):
    table = simulate(plan, order, {}, seed=8, rehang_sd_db=0.15)
    odd = int(order.table.loc[(order.table["candidate"] == "B") & (order.table["block"] == "3"), "swap"].iloc[0])
    table.loc[table["swap"] == odd, "level_db"] -= 3.0
    opinion = leave_one_out_opinion(asked_of(table))
    assert opinion.agrees is False
    assert opinion.numbers["largest_move_swap"] == odd
    assert odd in opinion.numbers["deciding_swaps"]
    assert "“B” against “ref”" in opinion.text


def test_one_step_deletion_is_exact_where_the_variances_do_not_move(plan, order):
    """With one reading a swap the fit is least squares, where deletion has a closed form (Cook & Weisberg 1982)."""
    asked = asked_of(simulate(plan, order, {}, seed=9, readings=1))
    moves = one_step_moves(asked.these, asked.pairs)
    record = asked.these.record
    L, X, y = record.model.gaps(asked.pairs), record.model.X, record.level_db
    full = L @ np.linalg.lstsq(X, y, rcond=None)[0]
    mean_square = ((y - X @ np.linalg.lstsq(X, y, rcond=None)[0]) ** 2).sum() / (len(y) - X.shape[1])
    error = np.sqrt(mean_square * np.einsum("ij,jk,ik->i", L, np.linalg.inv(X.T @ X), L))
    for i in (0, 7, len(y) - 1):
        kept = np.arange(len(y)) != i
        without = L @ np.linalg.lstsq(X[kept], y[kept], rcond=None)[0]
        assert moves[i] == pytest.approx(np.abs((without - full) / error).max(), rel=1e-6)


def test_rerandomisation_is_the_permutation_test_it_claims_to_be(plan, order):
    """Levels that carry nothing but noise: p is spread over its range, and small where a candidate really differs."""
    found = []
    for seed in range(12):
        table = simulate(plan, order, {}, seed=100 + seed)
        found.append(rerandomisation_opinion(asked_of(table), order, draws=499).numbers["p_value"])
    assert min(found) < 0.5 < max(found)
    assert np.mean(np.array(found) <= 0.05) <= 0.3
    table = simulate(plan, order, {"B": -4.0}, seed=3)
    far = rerandomisation_opinion(asked_of(table), order, draws=499)
    # one of three candidates holds all of B's slots in 3 of 3^5 free draws, more often in a restricted set: p cannot
    # fall far below 1/81, and a gap this large is still found at 5 %
    assert 1 / 500 <= far.numbers["p_value"] < 0.05
    assert far.agrees is True


def test_rerandomisation_keeps_to_the_order(plan, order):
    table = simulate(plan, order, {}, seed=3)
    swap = int(order.table.loc[order.table["candidate"] == "B", "swap"].iloc[0])
    table.loc[table["swap"] == swap, "candidate"] = "C"
    opinion = rerandomisation_opinion(asked_of(table), order, draws=99)
    assert opinion.agrees is None and "another wire" in opinion.text
    bare = rerandomisation_opinion(asked_of(table), replace(order, recipe={}), draws=99)
    assert bare.agrees is None


def test_wild_readings_count_less(plan, order):
    table = simulate(plan, order, {}, seed=4, rehang_sd_db=0.05, reading_sd_db=0.1)
    wild = table.index[(table["candidate"] == "C")][:3]
    table.loc[wild, "level_db"] += [4.0, 0.0, 0.0]
    said = {o.method: o for o in judge(table, plan, second_opinions=True).second_opinions}
    robust = next(o for m, o in said.items() if "heavier" in m)
    assert robust.numbers["readings_weighted_down"] >= 1
    assert robust.numbers["largest_difference_db"] > 0.1


def test_a_warm_start_leaves_the_refits_as_they_are(plan, order, monkeypatch):
    """Each refit starts at the whole record's variances; from a cold start the gaps come out the same."""
    table = simulate(plan, order, {"B": -0.6}, seed=21)
    table["receiver"] = np.where(table["reading"] == 1, "near", "far")
    asked = asked_of(table[(table["receiver"] == "near") | (table["swap"] % 7 > 1)])
    assert "swap_receiver" in asked.these.record.groups
    warm = leave_one_out_opinion(asked)
    starts = []

    def cold(y, X, groups, weights, at_zero, start):
        starts.append(start)
        return fit_weighted(y, X, groups, weights, at_zero)

    monkeypatch.setattr("antexp.analysis.second_opinions.leave_one_out.fit_weighted", cold)
    again = leave_one_out_opinion(asked)
    assert len(starts) == warm.numbers["refits"] and all(starts)
    assert again.numbers["deciding_swaps"] == warm.numbers["deciding_swaps"]
    # the search ends where the likelihood is flat to rounding, so that variances agree to about 1e-4
    assert warm.numbers["largest_move_db"] == pytest.approx(again.numbers["largest_move_db"], abs=1e-4)


def test_methods_that_cannot_compare_say_why(plan, order):
    table = simulate(plan, order, {"B": -2.0}, seed=5)
    uneven = judge(table.drop(index=table.index[0]), plan, order, second_opinions=True)
    said = {opinion.method: opinion for opinion in uneven.second_opinions}
    anova = next(opinion for method, opinion in said.items() if "analysis of variance" in method)
    assert anova.agrees is None and "different numbers of readings" in anova.text
    single = judge(table.drop_duplicates("swap"), plan, order, second_opinions=True)
    mixed = next(opinion for opinion in single.second_opinions if "mixed model" in opinion.method)
    assert mixed.agrees is None and "one reading a swap leaves it no second scatter" in mixed.text
    walking = judge(table, plan, order, drift="wandering", second_opinions=True)
    texts = [opinion.text for opinion in walking.second_opinions if opinion.agrees is None]
    assert any("neither a wandering path" in text for text in texts)
    assert any("no such terms beside the swaps" in text for text in texts)


def test_a_draw_that_did_not_decide_is_not_tested(plan, order):
    table = simulate(plan, order, {"B": -2.0}, seed=5)
    asked = asked_of(table)
    cut = replace(order, table=order.table.iloc[:-1])
    assert "that of another order" in rerandomisation_opinion(asked, cut).text or (
        "swaps that the order does not know" in rerandomisation_opinion(asked, cut).text)
    later = table.assign(swap=table["swap"] + 1000)
    assert "swaps that the order does not know" in rerandomisation_opinion(asked_of(later), order).text
    first, second = order.table["swap"].iloc[1], order.table["swap"].iloc[2]
    turned = table.replace({"swap": {first: second, second: first}})
    assert "another wire hung than the order said" in rerandomisation_opinion(asked_of(turned), order).text
    foreign = replace(order, table=order.table.replace({"candidate": {"B": "Z"}}))
    renamed = table.replace({"candidate": {"B": "Z"}})
    assert "that of another order" in rerandomisation_opinion(asked_of(renamed), foreign).text


def test_one_wire_beside_the_reference_cannot_be_drawn_anew(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text('candidates = ["ref", "B"]\nfrequency_mhz = 14.2\nmatter_db = 1\n[field]\nblocks = 5\n', "utf-8")
    two = read_plan(path)
    order = make_order(two)
    said = rerandomisation_opinion(asked_of(simulate(two, order, {}, seed=3)), order)
    assert (said.agrees is None) == ("there is one candidate" in said.text)
    assert said.agrees is None or "one pair in 5 blocks could not go below 0.062" in said.text


def test_a_large_family_carries_its_critical_values_over(plan, order, monkeypatch):
    """Of hundreds of gaps a critical value a refit would take minutes; a swap that decides still shows."""
    table = simulate(plan, order, {}, seed=8, rehang_sd_db=0.15)
    odd = int(order.table.loc[(order.table["candidate"] == "B") & (order.table["block"] == "3"), "swap"].iloc[0])
    table.loc[table["swap"] == odd, "level_db"] -= 3.0
    asked = asked_of(table)
    monkeypatch.setattr("antexp.analysis.second_opinions.leave_one_out._MOST_GAPS", 1)
    monkeypatch.setattr(Asked, "verdicts", lambda asked, family: pytest.fail("anew") if family is not asked.family
                        else usual)
    usual = judge(table, plan, matter_db=1.0).family["verdict"].tolist()
    assert odd in leave_one_out_opinion(asked).numbers["deciding_swaps"]


def test_rerandomisation_of_too_few_orders_says_nothing_rather_than_disagree():
    """Two wires beside the reference on two places: rules and places leave one order and its mirror image."""
    few = plan_from_dict({"candidates": ["ref", "a", "b"], "matter_db": 1.0,
                          "field": {"blocks": 6, "places": 2, "seed": 3}})
    order = make_order(few)
    said = rerandomisation_opinion(asked_of(simulate(few, order, {"a": -3.0}, seed=3)), order, draws=499)
    assert said.agrees is None and "that no readings could bring p below 1" in said.text
    assert said.numbers["model_p_value"] < 0.001 and said.numbers["p_value"] == said.numbers["least_p_value"] == 1.0
