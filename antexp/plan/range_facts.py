"""The numbers of a range: path, noise, scatter, geometry. What the plan does not say enough about is None."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from antexp.decibels import amplitude_ratio_to_db, s9_dbm
from antexp.plan.cautions import DIPOLE_GAIN_DBI, element_length_m, exposure_m, fall_radius_m
from antexp.plan.model import Plan
from antexp.plan.range_numbers import RangeFacts
from antexp.radio.constants import Constant
from antexp.radio.element import MONOPOLE_RADIATION, wavelength_m
from antexp.radio.path import (
    GROUNDS,
    complex_permittivity,
    far_field_distance_m,
    free_space_loss_db,
    level_slope_db_per_m,
    plane_earth_factor,
    size_with_image_m,
)
from antexp.radio.receiver import (
    noise_level_dbm,
    reading_mean_bias_db,
    reading_scatter_db,
    rounding_sd_db,
    thermal_noise_dbm,
)
from antexp.radio.sag import height_lost_m, parabola_sag_m

REHANG_HEIGHT_M = Constant("re-hanging: height lies within ±", 0.05, 0.02, 0.10, "m", "halyard mark and knot",
                           "common practice, no source")
REHANG_TURN_DEG = Constant("re-hanging: direction lies within ±", 2.0, 1.0, 5.0, "°", "fixed anchor points",
                           "common practice, no source")
REHANG_SAG_PERCENT = Constant("re-hanging: sag lies within ± of the length", 1.0, 0.5, 2.0, "%", "tension by hand",
                              "common practice, no source")

PULL_PERCENT = Constant("pull on a wire lies within ± of what was planned", 20.0, 10.0, 40.0, "%", "tension by hand",
                        "judgement, no source")

RANGE_CONSTANTS = (REHANG_HEIGHT_M, REHANG_TURN_DEG, REHANG_SAG_PERCENT, PULL_PERCENT)
"""What the geometry of a re-hanging is taken to be."""

MONOPOLE_SHARE_DBI = DIPOLE_GAIN_DBI + 10 * math.log10(2) - 20 * math.log10(2)
"""Quarter-wave vertical without its image: 5.16 dBi over perfect ground, of which the image gives 6.02 dB."""


def range_facts(plan: Plan) -> RangeFacts:
    """Work out the numbers of a plan's range."""
    radio, meter = plan.radio, plan.meter
    found: dict[str, Any] = {"distance_m": radio.distance_m, "fall_radius_m": fall_radius_m(plan),
                             "exposure_distance_m": exposure_m(plan),
                             "rounding_sd_db": None if meter.step_db is None else float(rounding_sd_db(meter.step_db))}
    if meter.bandwidth_hz is not None:
        found["thermal_noise_dbm"] = float(thermal_noise_dbm(meter.bandwidth_hz))
    if radio.frequency_mhz is not None:
        found |= _geometry(plan, radio.frequency_mhz) | _path(plan, radio.frequency_mhz)
        found |= _level(plan, radio.frequency_mhz, found) | _hanging(plan, found.get("height_slope_db_per_m"))
    return RangeFacts(**found)


def heights_m(swap_end: str, height_m: float, receive_height_m: float) -> tuple[float, float]:
    """Return the height of the antenna that is swapped, then the other's; the path is the same both ways."""
    return (receive_height_m, height_m) if swap_end == "receiver" else (height_m, receive_height_m)


def ground_permittivity(plan: Plan) -> complex | None:
    """Return the complex permittivity of the plan's ground; None when it is not given."""
    radio = plan.radio
    if radio.frequency_mhz is None:
        return None
    if radio.permittivity is not None and radio.conductivity_s_per_m is not None:
        permittivity, conductivity = radio.permittivity, radio.conductivity_s_per_m
    elif radio.ground is not None:
        ground = GROUNDS[radio.ground]
        permittivity, conductivity = ground.permittivity.value, ground.conductivity_s_per_m.value
    else:
        return None
    return complex(complex_permittivity(radio.frequency_mhz, permittivity, conductivity))


def _geometry(plan: Plan, frequency_mhz: float) -> dict[str, Any]:
    """Return wavelength, far field and the spacing of places."""
    radio, spacing = plan.radio, plan.field.place_spacing_m
    length_m = float(wavelength_m(frequency_mhz))
    size = element_length_m(plan) or 0.0
    if radio.height_m is not None:
        size = float(size_with_image_m(size, radio.height_m, radio.polarisation))
    return {"wavelength_m": length_m, "far_field_m": float(far_field_distance_m(frequency_mhz, size)),
            "place_spacing_wavelengths": None if spacing is None else spacing / length_m}


def _path(plan: Plan, frequency_mhz: float) -> dict[str, Any]:
    """Return the loss in free space, what the ground adds, and the slope with height."""
    radio, ground = plan.radio, ground_permittivity(plan)
    if radio.distance_m is None:
        return {}
    found: dict[str, Any] = {"free_space_loss_db": float(free_space_loss_db(frequency_mhz, radio.distance_m))}
    if ground is None or radio.height_m is None or radio.receive_height_m is None:
        return found
    place = (frequency_mhz, radio.distance_m, *heights_m(radio.swap_end, radio.height_m, radio.receive_height_m))
    with np.errstate(all="ignore"):  # a horizontal wire on the ground has no field at all: null, not minus infinity
        factor = np.abs(plane_earth_factor(*place, ground, radio.polarisation))
        slope = level_slope_db_per_m(*place, ground, radio.polarisation)
    if factor > 0 and math.isfinite(slope):
        found |= {"ground_factor_db": float(amplitude_ratio_to_db(factor)), "height_slope_db_per_m": slope}
    return found


def _level(plan: Plan, frequency_mhz: float, found: dict[str, Any]) -> dict[str, Any]:
    """Return level, noise and what noise does to a reading."""
    radio, bandwidth = plan.radio, plan.meter.bandwidth_hz
    facts: dict[str, Any] = {}
    if radio.noise is not None and bandwidth is not None:
        facts["noise_level_dbm"] = float(noise_level_dbm(frequency_mhz, bandwidth, radio.noise))
    if radio.source_power_dbm is None or found.get("ground_factor_db") is None:
        return facts
    level = (radio.source_power_dbm + 2 * _gain_dbi(plan) - found["free_space_loss_db"] + found["ground_factor_db"])
    over_s9 = level - float(s9_dbm(frequency_mhz))
    facts |= {"expected_level_dbm": level, "expected_level_db_over_s9": None if math.isnan(over_s9) else over_s9}
    if "noise_level_dbm" in facts:
        ratio = level - facts["noise_level_dbm"]
        facts |= {"signal_to_noise_db": ratio, "reading_scatter_floor_db": float(reading_scatter_db(ratio)),
                  "noise_bias_db": float(reading_mean_bias_db(ratio))}
    return facts


def _gain_dbi(plan: Plan) -> float:
    """Return an element's gain without its image, ground loss taken off; both ends are taken as alike."""
    if plan.radio.element != "quarter-wave vertical":
        return DIPOLE_GAIN_DBI
    loss = 10 * math.log10(1 + plan.radio.ground_loss_ohm / MONOPOLE_RADIATION.value)
    return MONOPOLE_SHARE_DBI - loss


def _hanging(plan: Plan, slope: float | None) -> dict[str, Any]:
    """Return what hanging again does, and the sag of each wire with its share of the gap."""
    length = element_length_m(plan) or 0.0
    facts: dict[str, Any] = {}
    horizontal = plan.radio.element == "half-wave dipole" and plan.radio.polarisation == "horizontal"
    if slope is not None:
        # each lies anywhere within its limits: half width over √3 (GUM 4.3.7)
        turn = amplitude_ratio_to_db(np.cos(np.radians(REHANG_TURN_DEG.value)))
        sag = float(height_lost_m(REHANG_SAG_PERCENT.value / 100 * length)) if horizontal else 0.0
        limits = np.array([slope * REHANG_HEIGHT_M.value, float(turn), slope * sag])
        facts["geometric_rehang_sd_db"] = float(np.sqrt((limits**2).sum() / 3))
    if horizontal and plan.field.tension_n:
        facts["sag_m"] = {candidate.name: float(parabola_sag_m(candidate.mass_g_per_m, length, plan.field.tension_n))
                          for candidate in plan.candidates if candidate.mass_g_per_m}
        if slope is not None and plan.reference in facts["sag_m"]:
            own = facts["sag_m"][plan.reference]
            facts["sag_gap_db"] = {name: -slope * float(height_lost_m(sag - own))
                                   for name, sag in facts["sag_m"].items()}
    return facts

