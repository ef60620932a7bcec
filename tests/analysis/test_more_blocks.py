"""How many more blocks would settle a gap, counted by hand and held against Student's t."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from antexp.analysis.more_blocks import more_blocks

FOREVER = math.inf  # degrees of freedom at which only the square root of the blocks is left


@pytest.mark.parametrize(
    ("gap", "matter", "extra"),
    [
        (0.5, None, 13),  # half the width must fall from 1 below 0.5: more than four times the blocks, 17 for 4
        (-0.5, None, 13),
        (0.0, 0.5, 13),  # inside ± 0.5
        (0.1, 0.6, 13),  # 0.1 + 0.5 is not below 0.6 either
        (0.4, 0.6, 22),  # away from zero is nearer than inside: 4 / 0.4² = 25 blocks are not quite enough
        (0.4, 2.0, 1),  # inside ± 2 at once
    ],
)
def test_the_half_width_falls_with_the_root_of_the_blocks(gap, matter, extra):
    assert more_blocks(gap, 1.0, matter, 4, FOREVER) == extra


def test_degrees_of_freedom_that_come_along_ease_the_critical_value():
    """By hand, 2 of them in 4 blocks: 1.6 · (1 + 1/3.5)/(1 + 1/2)/√1.75 = 1.04 after 3 more, 0.94 after 4."""
    assert more_blocks(1.0, 1.6, None, 4, 2.0) == 4
    assert more_blocks(1.0, 1.6, None, 4, FOREVER) == 7  # √(11/4) = 1.66 is the first root above 1.6


@pytest.mark.parametrize("df", [6.0, 10.0, 20.0])
@pytest.mark.parametrize("resolution", [1.2, 1.6, 2.5])
def test_against_the_critical_values_of_student(df, resolution):
    """The quantiles of scipy, a general library: their leading term leaves some more blocks, a seventh at most."""

    def half(extra):
        growth = (6 + extra) / 6
        return resolution * stats.t.ppf(0.975, df * growth) / stats.t.ppf(0.975, df) / math.sqrt(growth)

    by_t = next(extra for extra in range(1, 200) if half(extra) < 1.0)
    assert by_t <= more_blocks(1.0, resolution, None, 6, df) <= 1 + by_t * 8 / 7


def test_two_hundred_blocks_are_the_most_that_are_named():
    assert more_blocks(1.0, math.sqrt(200.5), None, 1, FOREVER) == 200
    assert more_blocks(1.0, math.sqrt(201.5), None, 1, FOREVER) is None


def test_one_degree_of_freedom_tells_something_and_less_than_one_nothing():
    assert more_blocks(1.0, 1.1, None, 4, 1.0) == 1
    assert more_blocks(1.0, 1.1, None, 4, 0.99) is None


@pytest.mark.parametrize("resolution", [math.nan, math.inf])
def test_no_limits_no_blocks(resolution):
    assert more_blocks(1.0, resolution, None, 4, 5.0) is None


def test_a_gap_of_nothing_without_a_gap_that_matters_is_never_settled():
    assert more_blocks(0.0, 1.0, None, 4, 5.0) is None
