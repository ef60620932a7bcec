"""Metals. Outside references: IEC 60028, the IACS definition, EN 10088-1 values of radio practice."""

import pytest

from antexp.radio.constants import Constant
from antexp.radio.materials import MATERIALS, resistivity_at

# IEC 60028: 100 % IACS is 1/58 µΩ·m at 20 °C
IACS = 1 / 58e6


def test_every_name_of_the_plan_file_is_there():
    assert list(MATERIALS) == ["copper", "hard-drawn copper", "aluminium", "zinc", "tin", "iron", "steel",
                               "welding steel", "stainless", "brass", "silver", "phosphor bronze"]


@pytest.mark.parametrize(("name", "percent_iacs", "tolerance"), [
    ("copper", 100, 0.01),          # IEC 60028
    ("hard-drawn copper", 97.3, 0.1),  # ASTM B1 trade value, from memory
    ("aluminium", 61.0, 0.1),       # 1350-H19 is sold as 61.0 % IACS (ASTM B230, from memory)
    ("brass", 28.0, 0.1),           # C26000, 28 % IACS (trade tables, from memory)
    ("phosphor bronze", 15.0, 0.1),  # C51000, 15 % IACS (trade tables, from memory)
])
def test_resistivity_is_the_traded_conductivity(name, percent_iacs, tolerance):
    assert 100 * IACS / MATERIALS[name].resistivity_ohm_m.value == pytest.approx(percent_iacs, abs=tolerance)


def test_only_iron_and_steel_are_magnetic():
    magnetic = [name for name, metal in MATERIALS.items() if metal.relative_permeability.value > 1.0]
    assert magnetic == ["iron", "steel", "welding steel"]
    assert MATERIALS["steel"].relative_permeability.range == (30.0, 100.0, 200.0)


def test_every_value_lies_in_its_range_and_has_a_source():
    for metal in MATERIALS.values():
        for value in (metal.resistivity_ohm_m, metal.temperature_coefficient_per_k, metal.relative_permeability):
            assert value.low <= value.value <= value.high
            assert value.source and value.standing


def test_a_value_outside_of_its_range_cannot_be_written_down():
    with pytest.raises(ValueError, match="lies outside"):
        Constant("x", 3.0, 1.0, 2.0, "", "", "from memory")


def test_warm_copper():
    # IEC 60028 temperature coefficient: 1 % for about 2.5 K, so 75 °C copper has 1.216 times the resistance
    assert resistivity_at(IACS, 0.00393, 75.0) / IACS == pytest.approx(1.216, abs=0.0005)
    assert resistivity_at(IACS, 0.00393, 20.0) == IACS
