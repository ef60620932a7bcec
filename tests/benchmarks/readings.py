"""How quick a long readings file is read and checked, beside pandas reading it unchecked in the same run.

Run by hand: ``python tests/benchmarks/readings.py [ROWS]``. Prints medians and the peak memory; nothing is asserted,
for wall-clock time depends on the machine.
"""

from __future__ import annotations

import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from antexp.field.readings import read_readings

REPEATS = 3


def record(rows: int) -> pd.DataFrame:
    """Return an invented record: 5 readings a swap, 10 swaps a block, 8 candidates."""
    random = np.random.default_rng(1)
    swap = np.arange(rows) // 5 + 1
    return pd.DataFrame({
        "swap": swap, "block": (swap - 1) // 10 + 1, "candidate": np.char.add("wire ", (swap % 8).astype(str)),
        "reading": np.arange(rows) % 5 + 1, "level_db": random.normal(-45, 1, rows).round(1),
        "minutes": ((swap - 1) % 10 * 7 + np.arange(rows) % 5 * 0.2).round(1), "note": ""})


def median_seconds(action: Callable[[], object]) -> float:
    """Return the median time of an action."""
    found = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        action()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def main(rows: int) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        table = record(rows)
        table.to_csv(path, index=False)
        unchecked = median_seconds(lambda: pd.read_csv(path))
        checked = median_seconds(lambda: read_readings(path))
        print(f"{rows} rows, {path.stat().st_size / 1e6:.1f} MB: file {checked:.2f} s, pandas alone {unchecked:.2f} s, "
              f"table {median_seconds(lambda: read_readings(table)):.2f} s")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
