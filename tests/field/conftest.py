"""Small files and stand-ins for the tests of the field room."""

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes text or bytes to a file and returns its path."""

    def _write(content: str | bytes, name: str = "readings.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return _write


@pytest.fixture
def make_plan() -> Callable[..., SimpleNamespace]:
    """Return a function that makes what the reader needs of a plan."""

    def _plan(names=("bare copper", "steel wire"), *, scale="dBm", step_db=None, stated=True, frequency_mhz=7.1):
        return SimpleNamespace(
            candidate_names=names, meter=SimpleNamespace(scale=scale, step_db=step_db),
            field=SimpleNamespace(minutes_per_swap=7.0), radio=SimpleNamespace(frequency_mhz=frequency_mhz),
            states=lambda key: stated)

    return _plan


@pytest.fixture
def order() -> SimpleNamespace:
    """Return a stand-in for an order of two blocks of three swaps."""
    return SimpleNamespace(table=pd.DataFrame({
        "swap": [1, 2, 3, 4, 5, 6], "block": [1, 1, 1, 2, 2, 2], "position": [1, 2, 3, 1, 2, 3],
        "minutes": [0.0, 7.0, 14.0, 0.0, 7.0, 14.0],
        "word": ["maple", "heron", "basin", "cobalt", "linen", "otter"],
        "candidate": ["bare copper", "steel wire", "bare copper"] * 2,
        "specimen": ["1", "2", "1"] * 2, "place": ["1"] * 6,
        "role": ["reference", "candidate", "reference"] * 2}))
