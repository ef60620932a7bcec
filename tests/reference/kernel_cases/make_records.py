"""Make the records of these cases: invented levels in dB of candidates c0 … c8, from fixed seeds.

Run in this folder: ``python make_records.py``. Each case gets its own folder with ``record.csv`` and ``model.txt``
(fixed part and random part as R writes them); ``Rscript fit.R CASE > CASE/output.txt`` then judges it.
"""

import csv
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent


def swaps_of(rng, blocks, ends=True, others=8, per_block=None):
    """Candidate, block and minute of each swap; the reference stands at both ends."""
    candidate, block, minute = [], [], []
    for b in range(blocks):
        inner = 1 + rng.permutation(others)[:per_block]
        row = [0, *inner, 0] if ends else [0, *inner]
        candidate += row
        block += [b] * len(row)
        minute += list((np.arange(len(row)) - (len(row) - 1) / 2) * 6.0)
    return np.array(candidate), np.array(block), np.array(minute)


def record(rng, candidate, block, minute, counts, swap_sd, reading_sd=0.4, specimen=None, specimen_sd=0.0,
           block_sd=1.0, drift=0.02, curve=0.0):  # fmt: skip
    """Readings of the swaps that were read, as rows."""
    gap = np.linspace(0, -2, 9)[candidate]
    level = -63.0 + gap + rng.normal(0, block_sd, block.max() + 1)[block]
    level += rng.normal(0, drift, block.max() + 1)[block] * minute + curve * minute**2
    if specimen is not None:
        level += rng.normal(0, specimen_sd, specimen.max() + 1)[specimen]
    level += rng.normal(0, swap_sd, candidate.size)
    rows = []
    for s in range(candidate.size):
        for _ in range(counts[s]):
            value = level[s] + rng.normal(0, reading_sd)
            extra = 0 if specimen is None else specimen[s]
            labels = [f"s{s:02d}", f"c{candidate[s]}", f"b{block[s]}", f"p{extra:02d}"]
            rows.append([f"{value:.4f}", *labels, f"{minute[s]:g}"])
    return rows


def write(case, rows, fixed, random):
    folder = HERE / case
    folder.mkdir(exist_ok=True)
    with (folder / "record.csv").open("w", newline="") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["level", "swap", "candidate", "block", "specimen", "minute"])
        table.writerows(rows)
    (folder / "model.txt").write_text(f"{fixed}\n{random}\n")


LINES = "0 + candidate + block + block:minute"


def main():
    rng = np.random.default_rng(101)
    swaps = swaps_of(rng, 6)
    counts = np.where(rng.random(60) < 0.1, 0, rng.integers(1, 6, 60))
    write("unbalanced", record(rng, *swaps, counts, 0.5), LINES, "(1 | swap)")

    rng = np.random.default_rng(102)
    swaps = swaps_of(rng, 10, ends=False, per_block=4)
    rows = record(rng, *swaps, rng.integers(1, 4, 50), 0.4)
    write("incomplete_blocks", rows, "0 + candidate", "(1 | swap) + (1 | block)")

    rng = np.random.default_rng(103)
    swaps = swaps_of(rng, 6, ends=False, others=4)
    specimen = swaps[0] * 3 + np.tile(np.repeat(np.arange(3), 5), 2)
    counts = np.where(rng.random(30) < 0.1, 0, rng.integers(1, 5, 30))
    rows = record(rng, *swaps, counts, 0.3, specimen=specimen, specimen_sd=0.4)
    write("nested_specimens", rows, "0 + candidate + block", "(1 | specimen) + (1 | swap)")

    rng = np.random.default_rng(104)
    swaps = swaps_of(rng, 5, others=5)
    rows = record(rng, *swaps, rng.integers(1, 5, 35), 0.4, curve=0.001)
    write("parabolic_drift", rows, f"{LINES} + block:I(minute^2)", "(1 | swap)")

    rng = np.random.default_rng(105)
    swaps = swaps_of(rng, 8, others=3)
    rows = record(rng, *swaps, rng.integers(1, 5, 40), 0.4, drift=0.0, block_sd=0.5)
    write("random_blocks", rows, "0 + candidate", "(1 | swap) + (1 | block)")

    rng = np.random.default_rng(106)  # a seed whose swap variance ends at zero
    swaps = swaps_of(rng, 4, others=4)
    write("swap_at_zero", record(rng, *swaps, rng.integers(1, 5, 24), 0.0), LINES, "(1 | swap)")


if __name__ == "__main__":
    main()
