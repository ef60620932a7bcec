"""What tests of several rooms share: a command run as a user would type it, and invented levels."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest


@dataclass(frozen=True)
class Ran:
    """What a command did."""

    status: int
    out: str
    err: str


@pytest.fixture
def antexp(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    def run_command(*words: object) -> Ran:
        from antexp.cli.main import run

        monkeypatch.setattr("sys.argv", ["antexp", *map(str, words)])
        capsys.readouterr()
        try:
            run()
            status = 0
        except SystemExit as stop:
            status = int(stop.code or 0)
        out, err = capsys.readouterr()
        return Ran(status, out, err)

    return run_command


@pytest.fixture(scope="session")
def record() -> Callable[..., pd.DataFrame]:
    """Return a maker of readings: names, blocks, step from candidate to candidate, seed."""

    def made(names: Sequence[str], blocks: int = 4, step_db: float = 0.8, seed: int = 1) -> pd.DataFrame:
        """Invented levels; each candidate a step weaker than the one before."""
        random = np.random.default_rng(seed)
        rows, swap = [], 0
        for block in range(blocks):
            for position, name in enumerate([names[0], *random.permutation(list(names[1:])), names[0]]):
                swap += 1
                level = -50 - step_db * names.index(str(name)) + random.normal(0, 0.2)
                rows += [(swap, block + 1, name, 7.0 * position, level + random.normal(0, 0.1)) for _ in range(2)]
        return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])

    return made
