"""The point with a given tail, for families whose tail is known in closed form or jumps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.stats import norm

from antexp.mixed.family_tail import family_point, family_tail

KNOWN = np.array([np.inf])


@dataclass(frozen=True)
class Independent:
    """One-sided independent normals: P(some is beyond x) = 1 − Φ(x)^count."""

    count: int
    sides: int = 1

    def share(self, x):
        return -np.expm1(self.count * norm.logcdf(x)) / (self.count * norm.sf(x))


@dataclass(frozen=True)
class Jumping:
    """Two normals that are one below 2 and apart above: no correlation does so, a table read by cells nearly."""

    count: int = 2
    sides: int = 1

    def share(self, x):
        return np.where(np.asarray(x) < 2.0, 1.0, 0.5)


@pytest.mark.parametrize("count", [2, 7, 40])
@pytest.mark.parametrize("alpha", [0.2, 0.05, 1e-6])
def test_independent_normals_in_closed_form(count, alpha):
    point = family_point(Independent(count), KNOWN, alpha)
    assert point[0] == pytest.approx(norm.ppf((1.0 - alpha) ** (1.0 / count)), rel=1e-9)


def test_where_the_tail_jumps_over_alpha_the_point_is_the_jump():
    """The tail falls from 4.6 to 2.3 % at 2, so that no point has 3 %; all steps are spent on closing in."""
    before, after = (family_tail(Jumping(), np.array([t]), KNOWN)[0] for t in (2.0 - 1e-9, 2.0))
    assert (before, after) == pytest.approx((2 * norm.sf(2.0), norm.sf(2.0)), rel=1e-6)
    assert family_point(Jumping(), KNOWN, 0.03)[0] == pytest.approx(2.0, abs=1e-9)
