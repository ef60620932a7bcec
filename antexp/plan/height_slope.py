"""How the level changes with the height of the antenna that is swapped, and how well that is known."""

from __future__ import annotations

import math
from itertools import product

import numpy as np

from antexp.plan.model import Plan
from antexp.plan.range_facts import heights_m
from antexp.radio.constants import Range
from antexp.radio.path import GROUNDS, complex_permittivity, level_slope_db_per_m


def height_slope(plan: Plan) -> Range | None:
    """Return the slope of the level with height.

    Parameters
    ----------
    plan : Plan
        Its frequency, distance, heights and ground.

    Returns
    -------
    tuple of float or None, dB/m
        Least, expected and greatest slope with the ground's constants anywhere in their ranges; None where the plan
        does not say enough, or where there is no field. Numbers that the plan gives for its ground carry no range.

    Notes
    -----
    Two rays over flat ground (`antexp.radio.path.level_slope_db_per_m`).
    """
    radio, ground = plan.radio, _ground(plan)
    if (ground is None or radio.frequency_mhz is None or radio.distance_m is None or radio.height_m is None
            or radio.receive_height_m is None):
        return None
    own, other = heights_m(radio.swap_end, radio.height_m, radio.receive_height_m)
    slopes = []
    for permittivity, conductivity in product(*ground):
        epsilon = complex(complex_permittivity(radio.frequency_mhz, permittivity, conductivity))
        with np.errstate(all="ignore"):  # a horizontal wire on the ground has no field at all
            slopes.append(level_slope_db_per_m(radio.frequency_mhz, radio.distance_m, own, other, epsilon,
                                               radio.polarisation))
    if not all(map(math.isfinite, slopes)):
        return None
    return min(slopes), slopes[len(slopes) // 2], max(slopes)


def _ground(plan: Plan) -> tuple[Range, Range] | None:
    """Return (low, value, high) of permittivity and of conductivity, the value in the middle."""
    radio = plan.radio
    if radio.permittivity is not None and radio.conductivity_s_per_m is not None:
        return (radio.permittivity,) * 3, (radio.conductivity_s_per_m,) * 3
    if radio.ground is None:
        return None
    known = GROUNDS[radio.ground]
    return known.permittivity.range, known.conductivity_s_per_m.range
