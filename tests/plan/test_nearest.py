"""The word most likely meant."""

import pytest

from antexp.plan.nearest import nearest
from antexp.plan.words import ELEMENTS, MATERIALS, METER_WORDS


@pytest.mark.parametrize(("given", "allowed", "meant"), [
    ("aluminum", MATERIALS, "aluminium"),
    ("Copper", MATERIALS, "copper"),
    ("stainless steel", MATERIALS, "stainless"),
    ("hard drawn copper", MATERIALS, "hard-drawn copper"),
    ("phosphor-bronse", MATERIALS, "phosphor bronze"),
    ("dipole", ELEMENTS, "half-wave dipole"),
    ("sdr", METER_WORDS, "SDR"),
    ("spectrum analyzer", METER_WORDS, "spectrum analyser"),
    ("S meter", METER_WORDS, "S-meter"),
    ("confidense", ("compare", "matter_db", "confidence", "chance"), "confidence"),
    ("gold", MATERIALS, None),
    ("", MATERIALS, None),
    ("x" * 100_000, MATERIALS, None),
])
def test_slips_find_their_word(given, allowed, meant):
    assert nearest(given, allowed) == meant
