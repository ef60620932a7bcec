"""Verdicts at, just inside and just outside every boundary of method section 5 (our own rules: no outside source)."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest

from antexp.mixed.verdict import (
    CANNOT_TELL,
    NO_GAP_THAT_MATTERS,
    REAL_AND_MATTERS,
    REAL_MAY_MATTER,
    REAL_TOO_SMALL,
    VERDICTS,
    classify,
    classify_best,
)

NAN, INF = math.nan, math.inf


@pytest.mark.parametrize(
    ("lower", "upper", "verdict"),
    [
        # a gap of exactly matter_db matters
        (1.0, 2.0, REAL_AND_MATTERS), (-2.0, -1.0, REAL_AND_MATTERS), (1.0, 1.0, REAL_AND_MATTERS),
        (0.999, 2.0, REAL_MAY_MATTER), (-2.0, -0.999, REAL_MAY_MATTER),
        # limits that end at 0 are not real
        (0.0, 2.0, CANNOT_TELL), (-2.0, 0.0, CANNOT_TELL), (0.0, 0.5, NO_GAP_THAT_MATTERS),
        (-0.5, 0.0, NO_GAP_THAT_MATTERS), (0.001, 2.0, REAL_MAY_MATTER), (-2.0, -0.001, REAL_MAY_MATTER),
        # too small only where both limits lie inside
        (0.2, 0.999, REAL_TOO_SMALL), (0.2, 1.0, REAL_MAY_MATTER), (-0.999, -0.2, REAL_TOO_SMALL),
        (-1.0, -0.2, REAL_MAY_MATTER),
        (-0.5, 0.999, NO_GAP_THAT_MATTERS), (-0.5, 1.0, CANNOT_TELL), (-0.999, 0.5, NO_GAP_THAT_MATTERS),
        (-1.0, 0.5, CANNOT_TELL), (-2.0, 2.0, CANNOT_TELL), (-3.0, 0.5, CANNOT_TELL), (-0.5, 3.0, CANNOT_TELL),
        # what is not finite says nothing, whatever its other end
        (NAN, NAN, CANNOT_TELL), (NAN, -2.0, CANNOT_TELL), (2.0, NAN, CANNOT_TELL), (2.0, INF, CANNOT_TELL),
        (-INF, -2.0, CANNOT_TELL), (0.5, INF, CANNOT_TELL), (-INF, INF, CANNOT_TELL),
    ],
)  # fmt: skip
def test_each_boundary(lower: float, upper: float, verdict: str):
    assert classify(lower, upper, 1.0) == verdict


@pytest.mark.parametrize(
    ("lower", "upper", "real"),
    [
        (0.001, 1.0, True), (0.0, 1.0, False), (-1.0, -0.001, True), (-1.0, 0.0, False), (-1.0, 1.0, False),
        (0.5, INF, False), (-INF, -0.5, False), (NAN, -0.5, False), (0.5, NAN, False),
    ],
)  # fmt: skip
def test_without_a_gap_that_matters_only_two_verdicts_are_left(lower: float, upper: float, real: bool):
    assert classify(lower, upper, None) == (REAL_MAY_MATTER if real else CANNOT_TELL)


def plainly(lower: float, upper: float, matter: float) -> str:
    """Method section 5 in the order in which it is written, one gap at a time."""
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return CANNOT_TELL
    real = lower > 0 or upper < 0
    if lower >= matter or upper <= -matter:
        return REAL_AND_MATTERS
    inside = -matter < lower and upper < matter
    if real:
        return REAL_TOO_SMALL if inside else REAL_MAY_MATTER
    return NO_GAP_THAT_MATTERS if inside else CANNOT_TELL


def test_a_whole_grid_of_limits_at_once():
    steps = [-INF, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, INF, NAN]
    grid = [(low, high) for low, high in product(steps, steps) if not low > high]
    found = classify(*np.array(grid).T, 1.0)
    assert list(found) == [plainly(low, high, 1.0) for low, high in grid]
    assert set(found) == set(VERDICTS)


@pytest.mark.parametrize(
    ("best", "pairs", "verdict"),
    [
        # the gap is real by the limits of all pairs alone; how large it may be is said by the comparison with the best
        ((0.0, 2.0), (0.001, 2.5), REAL_MAY_MATTER), ((0.0, 2.0), (0.0, 2.5), CANNOT_TELL),
        ((-2.0, 0.0), (-2.5, -0.001), REAL_MAY_MATTER), ((-2.0, 0.0), (-2.5, 0.0), CANNOT_TELL),
        ((-2.0, 0.0), (-2.5, 0.5), CANNOT_TELL), ((0.0, 2.0), (-0.5, 2.5), CANNOT_TELL),
        ((1.0, 2.0), (1.0, 2.0), REAL_AND_MATTERS), ((-2.0, -1.0), (-2.0, -1.0), REAL_AND_MATTERS),
        ((1.0, 2.0), (0.999, 2.0), REAL_MAY_MATTER), ((-2.0, -1.0), (-2.0, -0.999), REAL_MAY_MATTER),
        ((0.0, 0.999), (0.1, 1.2), REAL_TOO_SMALL), ((0.0, 1.0), (0.1, 1.2), REAL_MAY_MATTER),
        ((-0.999, 0.0), (-1.2, -0.1), REAL_TOO_SMALL), ((-1.0, 0.0), (-1.2, -0.1), REAL_MAY_MATTER),
        ((-0.999, 0.999), (-1.2, 1.2), NO_GAP_THAT_MATTERS), ((-1.0, 0.5), (-1.2, 1.2), CANNOT_TELL),
        ((-0.5, 1.0), (-1.2, 1.2), CANNOT_TELL),
        # a gap inside the limits that matter stays too small even where the wider limits of all pairs reach further
        ((0.0, 0.5), (1.0, 2.0), REAL_TOO_SMALL), ((-0.5, 0.0), (-2.0, -1.0), REAL_TOO_SMALL),
        ((NAN, NAN), (1.0, 2.0), CANNOT_TELL), ((NAN, 0.0), (-2.0, -1.0), CANNOT_TELL),
        ((0.0, INF), (1.0, 2.0), CANNOT_TELL), ((-INF, 0.0), (-2.0, -1.0), CANNOT_TELL),
        ((0.0, 0.5), (NAN, NAN), NO_GAP_THAT_MATTERS), ((0.0, 2.0), (NAN, NAN), CANNOT_TELL),
    ],
)  # fmt: skip
def test_against_the_best(best: tuple[float, float], pairs: tuple[float, float], verdict: str):
    assert classify_best(*best, *pairs, 1.0) == verdict
    mirrored = classify_best(-best[1], -best[0], -pairs[1], -pairs[0], 1.0)
    assert mirrored == verdict, "naming the two the other way round changes nothing"


@pytest.mark.parametrize(
    ("best", "pairs", "real"),
    [
        ((0.0, 2.0), (0.001, 2.5), True), ((0.0, 2.0), (0.0, 2.5), False), ((-2.0, 0.0), (-2.5, -0.001), True),
        ((-2.0, 0.0), (-2.5, 0.0), False), ((NAN, 2.0), (1.0, 2.5), False), ((0.0, INF), (1.0, 2.5), False),
    ],
)  # fmt: skip
def test_against_the_best_without_a_gap_that_matters(best, pairs, real):
    assert classify_best(*best, *pairs, None) == (REAL_MAY_MATTER if real else CANNOT_TELL)
