"""The commands in this process, from a plan of four wires."""

import pytest

PLAN = """candidates    = ["bare copper 1.5 mm", "covered copper 1.5 mm", "copper-clad steel 1.2 mm", "aluminium 2 mm"]
frequency_mhz = 14.2
hours         = 5
matter_db     = 1
meter         = "spectrum analyser"
"""


@pytest.fixture
def written(tmp_path):
    """Return what writes a text under a name into the test's folder and tells its path."""
    def _written(name, text):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return _written


@pytest.fixture
def plan(written):
    """Return the path of a plan of four wires in five hours."""
    return written("plan.toml", PLAN)
