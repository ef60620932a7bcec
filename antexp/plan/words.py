"""The words a plan may use, each set as a type, so that the reader and the type checker share one list."""

from __future__ import annotations

from typing import Literal, get_args

Compare = Literal["reference", "each-other", "best"]
Element = Literal["quarter-wave vertical", "half-wave dipole"]
SwapEnd = Literal["source", "receiver"]
Polarisation = Literal["vertical", "horizontal"]
Scale = Literal["dBm", "minus dBm", "dB", "attenuator", "S units"]
Drift = Literal["none", "steady", "curved", "wandering"]
Noise = Literal["city", "residential", "rural", "quiet rural", "galactic"]
"""Environments of ITU-R P.372."""
Ground = Literal["sea water", "fresh water", "wet", "land", "medium dry", "dry", "very dry"]
"""Grounds of ITU-R P.527."""
Material = Literal[
    "copper",
    "hard-drawn copper",
    "aluminium",
    "zinc",
    "tin",
    "iron",
    "steel",
    "welding steel",
    "stainless",
    "brass",
    "silver",
    "phosphor bronze",
]
MeterWord = Literal["spectrum analyser", "SDR", "S-meter", "S-meter and attenuator"]

MOST_BLOCKS = 200
"""The largest number of blocks that is planned or looked for."""

COMPARES: tuple[str, ...] = get_args(Compare)
ELEMENTS: tuple[str, ...] = get_args(Element)
SWAP_ENDS: tuple[str, ...] = get_args(SwapEnd)
POLARISATIONS: tuple[str, ...] = get_args(Polarisation)
SCALES: tuple[str, ...] = get_args(Scale)
DRIFTS: tuple[str, ...] = get_args(Drift)
NOISES: tuple[str, ...] = get_args(Noise)
GROUNDS: tuple[str, ...] = get_args(Ground)
MATERIALS: tuple[str, ...] = get_args(Material)
METER_WORDS: tuple[str, ...] = get_args(MeterWord)
