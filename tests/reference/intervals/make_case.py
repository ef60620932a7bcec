"""Make the case: two wires, 12 swaps of 3 readings, rounded to 1 dB. Run by hand; the case is kept."""

import sys

import numpy as np

random = np.random.default_rng(28)
rows = ["swap,wire,hours,low_db,high_db"]
for swap, wire in enumerate([0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 1, 0]):
    level = -0.9 * wire + random.normal(0, 0.45)
    for _ in range(3):
        reading = round(level + random.normal(0, 0.3))
        rows.append(f"{swap + 1},{wire},{(swap - 5.5) * 7 / 60:.6f},{reading - 0.5},{reading + 0.5}")
sys.stdout.write("\n".join(rows) + "\n")
