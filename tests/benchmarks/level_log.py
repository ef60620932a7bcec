"""A log of 5,000,000 rows cut into 135 readings: `python tests/benchmarks/level_log.py`.

The target is under 10 s at bounded memory. The log is made first and not timed.
"""

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from antexp.field.level_log import Part, cut_log

ROWS = 5_000_000


def make_log(path: Path) -> None:
    """Write a log of 250 samples a second over five and a half hours."""
    times = np.datetime64("2026-05-01T09:00:00") + np.arange(ROWS) * np.timedelta64(4, "ms")
    level = -67 + 0.2 * np.random.default_rng(1).standard_normal(ROWS)
    with open(path, "w") as stream:
        stream.write("time,level_db\n")
        for begin in range(0, ROWS, 200_000):
            texts = np.datetime_as_string(times[begin : begin + 200_000], unit="ms")
            stream.write("".join(f"{t},{v:.2f}\n" for t, v in zip(texts, level[begin : begin + 200_000], strict=True)))


def main() -> None:
    """Make the log, cut it, print what it took."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        subprocess.run([sys.executable, __file__, str(path)], check=True)  # its memory is not the cutting's
        start_ns = int(np.datetime64("2026-05-01T09:00:00", "ns").astype(np.int64))
        begins = [start_ns + (420 * swap + 140 * reading) * 10**9 for swap in range(45) for reading in range(3)]
        parts = [Part(begin, begin + 100 * 10**9) for begin in begins]
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        wall, cpu = time.perf_counter(), time.process_time()
        found = cut_log(path, parts)
        print(f"{ROWS:,} rows, {path.stat().st_size / 1e6:.0f} MB, {len(found)} readings: "
              f"{time.perf_counter() - wall:.1f} s by the clock, {time.process_time() - cpu:.1f} s of processor, "
              f"{(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024:.0f} MiB more memory")


if __name__ == "__main__":
    make_log(Path(sys.argv[1])) if len(sys.argv) > 1 else main()
