"""Invented logs of a receiver at 250 samples a second, with a known level for every swap, written in chunks."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from antexp.field.level_log import Part

START = np.datetime64("2026-05-01T07:00:00", "ms")
STEP_MS, SWAP_S, CHUNK = 4, 420, 500_000
SCATTER_DB = 0.2


def levels_db(swaps: int, seed: int) -> np.ndarray:
    """Return the true level of each swap: whole hundredths of a dB about −67."""
    return -67 + np.round(np.random.default_rng([seed, 1]).normal(0, 1, swaps), 2)


def parts_of(rows: int) -> list[Part]:
    """Return three stretches of 100 s in each whole swap of a log."""
    start_ns = int(START.astype("datetime64[ns]").astype(np.int64))
    swaps = rows * STEP_MS // 1000 // SWAP_S
    begins = [start_ns + (SWAP_S * swap + 140 * reading) * 10**9 for swap in range(swaps) for reading in range(3)]
    return [Part(begin, begin + 100 * 10**9) for begin in begins]


def worst_error_db(found, seed: int) -> float:
    """Return how far the furthest reading lies from the level it was made with; NaN readings count as infinite."""
    level = np.array([reading.level_db for reading in found])
    off = np.abs(level - np.repeat(levels_db(len(level) // 3, seed), 3))
    return float(np.where(np.isnan(off), np.inf, off).max())


def write_log(path: Path, rows: int, seed: int) -> None:
    """Write ``time,level_db`` rows of 31 bytes each."""
    random = np.random.default_rng([seed, 2])
    truth = levels_db(rows * STEP_MS // 1000 // SWAP_S + 1, seed)
    with open(path, "wb") as stream:
        stream.write(b"time,level_db\n")
        for begin in range(0, rows, CHUNK):
            index = np.arange(begin, min(begin + CHUNK, rows))
            true = np.repeat(truth, SWAP_S * 1000 // STEP_MS)[index]
            stream.write(_rows(index, true + SCATTER_DB * random.standard_normal(len(index))))


def _rows(index: np.ndarray, level_db: np.ndarray) -> bytes:
    """Return rows as bytes of fixed width: a time of 23, a comma, a level of 6 (−99.99 … −10.00), a line end."""
    out = np.empty((len(index), 31), np.uint8)
    times = np.datetime_as_string(START + index * np.timedelta64(STEP_MS, "ms"), unit="ms").astype("S23")
    out[:, :23] = times.view(np.uint8).reshape(-1, 23)
    hundredths = np.rint(-100 * level_db).astype(np.int64)
    assert hundredths.min() >= 1000 and hundredths.max() <= 9999
    out[:, 23], out[:, 24], out[:, 27], out[:, 30] = b",-.\n"
    for place, power in ((25, 1000), (26, 100), (28, 10), (29, 1)):
        out[:, place] = hundredths // power % 10 + ord("0")
    return out.tobytes()


if __name__ == "__main__":
    write_log(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
