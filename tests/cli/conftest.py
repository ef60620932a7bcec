"""The commands in this process, from a plan of four wires."""

import pytest

PLAN = """candidates    = ["bare copper 1.5 mm", "covered copper 1.5 mm", "copper-clad steel 1.2 mm", "aluminium 2 mm"]
frequency_mhz = 14.2
hours         = 5
matter_db     = 1
meter         = "spectrum analyser"
"""


@pytest.fixture
def plan(tmp_path):
    """Return the path of a plan of four wires in five hours."""
    path = tmp_path / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path
