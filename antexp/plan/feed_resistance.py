"""What the current at the feed flows through beside the wire: radiation resistance and ground loss, with ranges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.plan.model import Plan
from antexp.radio.element import (
    DIPOLE_IN_SPACE,
    DIPOLE_RADIATION,
    GROUND_LOSS,
    LOWEST_DIPOLE,
    MONOPOLE_RADIATION,
    STATED_GROUND_LOSS_FACTOR,
    dipole_resistance_over_ground_ohm,
    wavelength_m,
)

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FeedResistance:
    """Resistance at the feed that all candidates share, each of shape (n_frequencies,), in Ω.

    Attributes
    ----------
    ohm : ndarray
        Radiation resistance plus loss in the ground, at their own values.
    low_ohm, high_ohm : ndarray
        The ends of its range.
    """

    ohm: Floats
    low_ohm: Floats
    high_ohm: Floats


def feed_resistance(plan: Plan, frequency_mhz: ArrayLike) -> FeedResistance:
    """Return the resistance that radiates or is lost in the ground, the same for every candidate.

    Parameters
    ----------
    plan : Plan
        Its element, height, polarisation and ground loss.
    frequency_mhz : array_like, shape (f,), MHz

    Returns
    -------
    FeedResistance
        For a dipole at a known height the range reaches from free space to perfect ground.
    """
    frequencies = np.atleast_1d(np.asarray(frequency_mhz, float))
    if plan.radio.element == "quarter-wave vertical":
        return FeedResistance(*(_everywhere(each, frequencies) for each in _vertical(plan)))
    value = _everywhere(DIPOLE_IN_SPACE.value, frequencies)
    low, high = _dipole_range(plan, frequencies)
    return FeedResistance(value, np.minimum(low, value), np.maximum(high, value))


def _everywhere(value: float, frequency_mhz: Floats) -> Floats:
    """Return one value for all frequencies."""
    return np.full(frequency_mhz.shape, value, float)


def _vertical(plan: Plan) -> tuple[float, float, float]:
    """Return value, low and high of a vertical's radiation resistance plus ground loss."""
    stated, loss = plan.states("radio.ground_loss_ohm"), plan.radio.ground_loss_ohm
    low = loss * STATED_GROUND_LOSS_FACTOR.low if stated else min(GROUND_LOSS.low, loss)
    high = loss * STATED_GROUND_LOSS_FACTOR.high if stated else max(GROUND_LOSS.high, loss)
    return MONOPOLE_RADIATION.value + loss, MONOPOLE_RADIATION.low + low, MONOPOLE_RADIATION.high + high


def _dipole_range(plan: Plan, frequency_mhz: Floats) -> tuple[Floats, Floats]:
    """Return the ends of a dipole's range: free space and, where the height is known, its image in the ground."""
    height_m = plan.radio.height_m
    if height_m is None:
        return _everywhere(DIPOLE_RADIATION.low, frequency_mhz), _everywhere(DIPOLE_RADIATION.high, frequency_mhz)
    if plan.radio.polarisation == "vertical":
        return _everywhere(DIPOLE_IN_SPACE.low, frequency_mhz), _everywhere(DIPOLE_IN_SPACE.high, frequency_mhz)
    image = np.maximum(dipole_resistance_over_ground_ohm(height_m / wavelength_m(frequency_mhz)), LOWEST_DIPOLE.value)
    return np.minimum(image, DIPOLE_IN_SPACE.low), np.maximum(image, DIPOLE_IN_SPACE.high)
