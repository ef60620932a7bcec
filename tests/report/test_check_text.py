"""What `check` prints of a plan's range."""

from __future__ import annotations

from io import StringIO

import pytest
from rich.console import Console

from antexp.plan.range_check import check_range
from antexp.plan.reader import plan_from_dict
from antexp.report.check_text import print_range_check, s_reading


@pytest.mark.parametrize(
    # IARU Region 1 Technical Recommendation R.1: S9 = −73 dBm below 30 MHz, 6 dB a unit, so S1 = −121 dBm
    ("dbm", "shown"), [(-73, "S9"), (-63, "S9+10"), (-79, "S8"), (-103, "S4"), (-121, "S1"), (-127, "below S1")]
)
def test_levels_as_an_s_meter_shows_them(dbm, shown):
    assert s_reading(dbm + 73.0) == shown


def test_a_page_with_level_sag_and_places():
    plan = plan_from_dict({
        "candidates": [{"name": "bare", "mass_g_per_m": 16}, {"name": "heavy", "mass_g_per_m": 60}],
        "radio": {"frequency_mhz": 14.2, "distance_m": 500, "height_m": 8, "receive_height_m": 6,
                  "ground": "medium dry", "source_power_dbm": 10, "noise": "rural"},
        "meter": {"bandwidth_hz": 300}, "field": {"tension_n": 40, "places": 2, "place_spacing_m": 30},
    })  # fmt: skip
    out = StringIO()
    print_range_check(check_range(plan), Console(file=out, width=90))
    text = out.getvalue()
    check = check_range(plan)
    assert s_reading(check.range.expected_level_db_over_s9) in text
    assert "sag of “heavy”" in text and f"{check.range.sag_m['heavy']:.2f} m" in text
    assert "wavelengths" in text and "what the ground adds" in text
