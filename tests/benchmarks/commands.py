"""How quick the commands are, beside named peers in the same run.

Run by hand: ``python tests/benchmarks/commands.py``. Prints medians over repeats, their spread, and ratios; nothing
is asserted, for wall-clock time depends on the machine.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

REPEATS = 7


def seconds(action: Callable[[], object], repeats: int = REPEATS) -> list[float]:
    """Time an action several times."""
    found = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        found.append(time.perf_counter() - start)
    return found


def python(*words: str) -> Callable[[], object]:
    """Return an action that runs this interpreter in a fresh process."""
    return lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True)


def show(name: str, times: list[float], peer: str = "", peer_times: list[float] | None = None) -> None:
    """Print one row."""
    middle = statistics.median(times)
    text = f"{name:<46} {middle * 1e3:9.1f} ms  (min {min(times) * 1e3:.1f}, max {max(times) * 1e3:.1f})"
    if peer_times:
        text += f"   {statistics.median(peer_times) / middle:6.1f} times quicker than {peer}"
    print(text)


def record(blocks: int = 6, seed: int = 1) -> pd.DataFrame:
    """180 readings: 9 candidates and the reference again, 6 blocks of 10 swaps, 3 readings; invented levels."""
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(blocks):
        for position, name in enumerate(["c0", *random.permutation([f"c{i}" for i in range(1, 9)]), "c0"]):
            swap += 1
            level = -50 + random.normal(0, 0.35)
            rows += [(swap, block + 1, name, 7.0 * position, level + random.normal(0, 0.25)) for _ in range(3)]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


def main() -> None:
    """Measure and print."""
    command = ["-c", "from antexp.cli.main import run; run()"]
    empty = seconds(python("-c", "pass"))
    show("an empty Python process", empty)
    show("antexp --help", seconds(python(*command, "--help")), "import statsmodels.api",
         seconds(python("-c", "import statsmodels.api")))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        table = record()
        table.to_csv(path, index=False)
        show("antexp judge, 180 readings, no report", seconds(python(*command, "judge", str(path), "--matter", "1"), 5))
        show("antexp judge, 180 readings, with report",
             seconds(python(*command, "judge", str(path), "--matter", "1", "-o", folder), 3))
        show("antexp demo", seconds(python(*command, "demo", folder), 3))
    fit_rows(table)


def fit_rows(table: pd.DataFrame) -> None:
    """Time the fit alone against statsmodels on the same record."""
    import statsmodels.api as sm

    from antexp.analysis.judge import judge
    from antexp.analysis.record_model import record_model
    from antexp.analysis.scopes import fit_these

    rows = table.assign(specimen="1", place="1", receiver="1")
    built = record_model(rows, reference="c0", drift="steady")
    pairs = [(name, "c0") for name in built.model.candidates[1:]]
    ours = seconds(lambda: fit_these(built).estimates(pairs), 30)

    def peer() -> object:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return sm.MixedLM(built.level_db, built.model.X, groups=table["swap"]).fit(reml=True, method="powell")

    name = "fit and Kenward-Roger for 8 gaps, 180 readings"
    show(name, ours, "statsmodels MixedLM (powell, z-based)", seconds(peer, 5))
    show("judge() in a warm process", seconds(lambda: judge(table, matter_db=1.0), 10))


if __name__ == "__main__":
    main()
