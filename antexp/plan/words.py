"""The words a plan may use: as types that the type checker knows too, or as the radio kernel's tables name them."""

from __future__ import annotations

from typing import Literal, get_args

from antexp.radio.materials import MATERIALS as MATERIAL_TABLE
from antexp.radio.path import GROUNDS as GROUND_TABLE
from antexp.radio.receiver import NOISE

Compare = Literal["reference", "each-other", "best"]
Element = Literal["quarter-wave vertical", "half-wave dipole"]
SwapEnd = Literal["source", "receiver"]
Polarisation = Literal["vertical", "horizontal"]
Scale = Literal["dBm", "minus dBm", "dB", "attenuator", "S units"]
Drift = Literal["none", "steady", "curved", "wandering"]
MeterWord = Literal["spectrum analyser", "SDR", "S-meter", "S-meter and attenuator"]

MOST_BLOCKS = 200
"""The largest number of blocks that is planned or looked for."""

COMPARES: tuple[str, ...] = get_args(Compare)
ELEMENTS: tuple[str, ...] = get_args(Element)
SWAP_ENDS: tuple[str, ...] = get_args(SwapEnd)
POLARISATIONS: tuple[str, ...] = get_args(Polarisation)
SCALES: tuple[str, ...] = get_args(Scale)
DRIFTS: tuple[str, ...] = get_args(Drift)
METER_WORDS: tuple[str, ...] = get_args(MeterWord)
NOISES: tuple[str, ...] = tuple(NOISE)
"""Environments of ITU-R P.372."""
GROUNDS: tuple[str, ...] = tuple(GROUND_TABLE)
"""Grounds of ITU-R P.527."""
MATERIALS: tuple[str, ...] = tuple(MATERIAL_TABLE)
"""Metals with known resistivity."""
