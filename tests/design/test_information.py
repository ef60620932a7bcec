"""Variances of gaps under M1 against outside values (C08, C09, C11) and against the model's own columns."""

import json
from itertools import combinations
from math import sqrt
from pathlib import Path

import numpy as np
import pytest

from antexp.design.balanced_blocks import balanced_blocks
from antexp.design.estimable import aliased_columns, is_full_rank
from antexp.design.information import Slots, contrast_rows, drift_filter, information, mean_variance
from antexp.design.swap_model import swap_model

REFERENCE = Path(__file__).parents[1] / "reference"
C08 = json.loads((REFERENCE / "C08_reference_in_every_block.json").read_text("utf-8"))
C09 = json.loads((REFERENCE / "C09_reference_replication_sqrt_k.json").read_text("utf-8"))
C11 = json.loads((REFERENCE / "C11_run_orders_trend.json").read_text("utf-8"))


def variance(labels, block, pair, units, drift="none", minutes=None):
    """One gap's variance in units of a swap's."""
    block = np.asarray(block)
    minutes = np.arange(len(block), dtype=float) if minutes is None else minutes
    slots = Slots(block, minutes, np.zeros(len(block), int))
    matrices = information(np.array([labels]), units, slots, drift_filter(slots, drift))
    return mean_variance(matrices, contrast_rows([pair], units))[0]


@pytest.mark.parametrize("row", C08["data"]["rows"], ids=lambda row: f"{row[0]} m={row[2]}")
def test_reference_in_every_block(row):
    """C08: Bechhofer & Tamhane (1981), Technometrics 23:45."""
    _, p, m, size, b, _, _, against_reference, _, between = row
    blocks = balanced_blocks(p, size - m, b) or ((*range(p),),) * b
    labels = [code for block in blocks for code in (*(0,) * m, *(c + 1 for c in block))]
    where = np.repeat(np.arange(b), size)
    tolerance = C08["tolerance"]["abs"]
    for code in range(1, p + 1):
        assert variance(labels, where, (code, 0), p + 1) == pytest.approx(against_reference, abs=tolerance)
    assert variance(labels, where, (1, p), p + 1) == pytest.approx(between, abs=tolerance)


@pytest.mark.parametrize("row", C09["data"]["rows"], ids=lambda row: f"k={row[0]}")
def test_square_root_rule(row):
    """C09: Dunnett (1955): the smallest variance for a fixed total has √k times as many references."""
    k, root = row[0], row[1]
    assert root == pytest.approx(sqrt(k), abs=1e-6)
    total = 400

    def of(references):
        each = (total - references) / k
        return 1 / references + 1 / each

    best = min(range(1, total - k), key=of)
    assert best / ((total - best) / k) == pytest.approx(row[2], rel=0.02)  # whole swaps: 400 of them resolve 2 %


@pytest.mark.parametrize(
    ("sequence", "form", "pair"),
    [(s, f, pair) for s, forms in C11["data"].items() for f, pairs in forms.items() for pair in pairs],
)
def test_run_orders_under_drift(sequence, form, pair):
    """C11: Cox (1951), Biometrika 38:312; Hill (1960), Technometrics 2:335."""
    expected = C11["data"][sequence][form][pair]
    letters = sorted(set(sequence))
    drift = {"linear": "steady", "linear+quadratic": "curved"}[form]
    one, other = (letters.index(letter) for letter in pair.split("-"))
    labels, block = [letters.index(letter) for letter in sequence], np.zeros(len(sequence), int)
    model = swap_model(list(sequence), block, np.arange(len(sequence)), drift=drift)
    if not expected["estimable"]:
        assert not is_full_rank(model) and any("curve" in name for name in aliased_columns(model))
        assert variance(labels, block, (one, other), len(letters), drift) == np.inf
        return
    found = variance(labels, block, (one, other), len(letters), drift)
    assert found == pytest.approx(expected["variance_over_sigma2"], abs=C11["tolerance"]["abs"])
    row = model.gap(*pair.split("-"))
    # other gaps of the same sequence may be lost (R A B C R under a parabola), so the columns need a pseudo-inverse
    assert row @ np.linalg.pinv(model.X.T @ model.X) @ row == pytest.approx(found, rel=1e-7)  # the ridge is 1e-9


def test_many_orders_at_once_equal_the_model_with_blocks_places_and_drift():
    rng = np.random.default_rng(8)
    block, place = np.repeat([0, 1, 2], 8), np.tile([0, 1], 12)
    minutes = np.tile(np.arange(8) * 7.0, 3)
    slots = Slots(block, minutes, place)
    labels = np.array([rng.permutation(np.tile([0, 0, 1, 2, 3, 4, 1, 2], 3)) for _ in range(5)])
    for drift in ("none", "steady", "curved"):
        matrices = information(labels, 5, slots, drift_filter(slots, drift), places=2)
        for pair in combinations(range(5), 2):
            together = mean_variance(matrices, contrast_rows([pair], 5, places=2))
            for order, value in zip(labels, together, strict=True):
                model = swap_model(order, block, minutes, reference="0", drift=drift, place=place)
                row = model.gap(str(pair[0]), str(pair[1]))
                assert row @ np.linalg.solve(model.X.T @ model.X, row) == pytest.approx(value, rel=1e-6)


def test_a_wandering_path_is_weighed_by_generalised_least_squares():
    block, minutes = np.zeros(7, int), np.array([0.0, 7, 14, 21, 28, 35, 42])
    labels = np.array([0, 1, 2, 0, 2, 1, 0])
    slots = Slots(block, minutes, np.zeros(7, int))
    model = swap_model(labels, block, minutes, reference="0", drift="steady")
    hours = minutes / 60
    V = np.eye(7) + 2.5 * np.minimum.outer(hours, hours)
    row = model.gap("1", "0")
    expected = row @ np.linalg.solve(model.X.T @ np.linalg.solve(V, model.X), row)
    matrices = information(labels[None], 3, slots, drift_filter(slots, "wandering", walk_variance=2.5))
    assert mean_variance(matrices, contrast_rows([(1, 0)], 3))[0] == pytest.approx(expected, rel=1e-7)
