"""The numbers of a range as a value."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True)
class RangeFacts:
    """The numbers of a range; None where the plan does not say enough.

    Attributes
    ----------
    wavelength_m : float or None, m
    distance_m : float or None, m
        As the plan has it.
    far_field_m : float or None, m
        From here the far field may be reckoned with; the image in the ground counts in the size.
    free_space_loss_db : float or None, dB
        Between isotropic antennas (ITU-R P.525).
    ground_factor_db : float or None, dB
        What the ground adds to the field in free space; at most +6.
    expected_level_dbm : float or None, dBm
        At a matched receiver, lossless wires.
    expected_level_db_over_s9 : float or None, dB
    noise_level_dbm : float or None, dBm
        In the meter's bandwidth, median of ITU-R P.372.
    thermal_noise_dbm : float or None, dBm
    signal_to_noise_db : float or None, dB
    reading_scatter_floor_db : float or None, dB
        Standard deviation of one unaveraged reading that the noise alone makes.
    noise_bias_db : float or None, dB
        By how much noise raises a mean of dB readings.
    rounding_sd_db : float or None, dB
        Of the meter's step.
    height_slope_db_per_m : float or None, dB/m
        How the level changes with the height of the antenna that is swapped.
    geometric_rehang_sd_db : float or None, dB
        What hanging it again within a hand's breadth, two degrees and a per cent of sag makes.
    sag_m : dict of str to float
        Sag of each candidate whose mass is given, with the plan's tension.
    sag_gap_db : dict of str to float
        What that does to its gap to the reference; no number of swaps removes it.
    place_spacing_wavelengths : float or None
        Distance between neighbouring places.
    fall_radius_m : float or None, m
        How far mast, element and halyard can reach.
    exposure_distance_m : float or None, m
        Above a few watts.
    """

    wavelength_m: float | None = None
    distance_m: float | None = None
    far_field_m: float | None = None
    free_space_loss_db: float | None = None
    ground_factor_db: float | None = None
    expected_level_dbm: float | None = None
    expected_level_db_over_s9: float | None = None
    noise_level_dbm: float | None = None
    thermal_noise_dbm: float | None = None
    signal_to_noise_db: float | None = None
    reading_scatter_floor_db: float | None = None
    noise_bias_db: float | None = None
    rounding_sd_db: float | None = None
    height_slope_db_per_m: float | None = None
    geometric_rehang_sd_db: float | None = None
    sag_m: dict[str, float] | None = None
    sag_gap_db: dict[str, float] | None = None
    place_spacing_wavelengths: float | None = None
    fall_radius_m: float | None = None
    exposure_distance_m: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return the facts as the `check` document holds them."""
        return {field.name: getattr(self, field.name) for field in fields(self)}
