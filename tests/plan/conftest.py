"""Plans that several tests begin with, and ways to read them."""

import pytest

from antexp.errors import PlanError
from antexp.plan.reader import read_plan

FIVE_LINES = """\
candidates    = ["bare copper 1.5 mm", "covered copper 1.5 mm", "copper-clad steel 1.2 mm", "aluminium 2 mm"]
frequency_mhz = 14.2
hours         = 5                     # of swapping, breaks not counted
matter_db     = 1
meter         = "spectrum analyser"   # or "SDR", "S-meter", "S-meter and attenuator"
"""

LONG_FORM = """\
title = "Wire for the meadow vertical"
reference = "enamelled copper, 1 mm"

[question]
compare = "reference"
matter_db = 1.0
confidence = 0.95
chance = 0.80

[radio]
frequency_mhz = 10.12
element = "quarter-wave vertical"
ground_loss_ohm = 12
source_impedance_ohm = 50
swap_end = "source"
distance_m = 520
height_m = 9
receive_height_m = 9
polarisation = "vertical"
ground = "wet"
source_power_dbm = 4
noise = "rural"

[meter]
scale = "minus dBm"
step_db = 0.1
bandwidth_hz = 300
reading_sd_db = 0.25
readings = 3

[field]
blocks = 5
hours = 6
block_minutes = 75
minutes_per_swap = 7
rehang_sd_db = 0.35
specimen_sd_db = 0.1
drift_db_per_hour = 0.5
wander_db_per_sqrt_hour = 0.0
drift = "steady"
reference_every = 5
places = 1
may_stop_after = [3]
blind = true
seed = 20261125

[[candidates]]
name = "enamelled copper, 1 mm"
material = "copper"
diameter_mm = 1.0
specimens = 2
strands = 1

[[candidates]]
name = "zinc-coated steel, 2 mm"
material = "steel"
diameter_mm = 2.0
coating = { material = "zinc", thickness_um = 25 }
strands = 1
specimens = 2
feed_ohm = "62+9j"
"""


@pytest.fixture
def five_lines():
    """Return the smallest plan of the contract."""
    return FIVE_LINES


@pytest.fixture
def long_form():
    """Return a plan that states every key of the tables."""
    return LONG_FORM


@pytest.fixture
def read(tmp_path):
    """Return a function that reads a plan's text."""

    def read_text(text):
        file = tmp_path / "plan.toml"
        file.write_bytes(text.encode() if isinstance(text, str) else text)
        return read_plan(file)

    return read_text


@pytest.fixture
def faults_of(read, tmp_path):
    """Return a function that reads a plan's text and returns its faults as text, the folder taken off."""

    def faults(text):
        with pytest.raises(PlanError) as caught:
            read(text)
        return [str(fault).replace(f"{tmp_path}/", "") for fault in caught.value.faults]

    return faults
