"""What one reading scatter for unlike receivers costs, and what weighting readings by their receiver brings back.

Run ``python tests/benchmarks/receiver_scatter.py [RECORDS]``. Records without any gap: four wires, five blocks of five
swaps, three readings at each of two receivers, one of which dies after three blocks. Printed: the share of records in
which some gap is called real (5 % are allowed) with its Monte Carlo error, and the mean half width of the limits.
"""

from __future__ import annotations

import sys

import numpy as np
import pandas as pd

from antexp.analysis.comparisons import Estimates, asked_pairs, family_limits
from antexp.analysis.receiver_weights import fit_weighted
from antexp.analysis.record_model import record_model

COLUMNS = ["swap", "block", "candidate", "specimen", "place", "receiver", "minutes", "level_db"]
# reading scatter of the receivers a and b, re-hanging scatter, scatter of a swap from receiver to receiver, all in dB
WORLDS = ((0.1, 0.2, 0.35, 0.1), (0.1, 1.0, 0.35, 0.1), (0.1, 2.0, 0.2, 0.05))


def record_of(random: np.random.Generator, world: tuple[float, float, float, float], dies: str) -> pd.DataFrame:
    """Draw one record."""
    rows, swap = [], 0
    for block in range(5):
        for position, name in enumerate(["ref", *random.permutation(["B", "C", "D"]), "ref"]):
            swap += 1
            hang = random.normal(0, world[2])
            for receiver, scatter in zip("ab", world[:2], strict=True):
                if receiver == dies and block >= 3:
                    continue
                own = hang + random.normal(0, world[3])
                rows += [(swap, str(block), str(name), "1", "1", receiver, 7.0 * position,
                          own + random.normal(0, scatter)) for _ in range(3)]  # fmt: skip
    return pd.DataFrame(rows, columns=COLUMNS)


def measure(world: tuple[float, float, float, float], dies: str, records: int, seed: int) -> None:
    """Judge records with one scatter for all, and with one for each receiver where `judge` would."""
    random = np.random.default_rng(seed)
    alarms, widths = {"shared": 0, "as judged": 0}, {"shared": 0.0, "as judged": 0.0}
    for _ in range(records):
        model = record_model(record_of(random, world, dies), reference="ref", drift="steady")
        pairs = asked_pairs(model.model.candidates, "reference")
        for name, weights in (("shared", None), ("as judged", model.weights)):
            fit = fit_weighted(model.level_db, model.model.X, model.groups, weights, "error line")
            found = fit.contrasts(model.model.gaps(pairs))
            family = Estimates(tuple(pairs), found.estimates, found.covariance, found.degrees_of_freedom)
            limits = family_limits(family, 0.95, 0.8)
            alarms[name] += bool(((limits.lower_db > 0) | (limits.upper_db < 0)).any())
            widths[name] += float(np.median(limits.upper_db - limits.lower_db)) / 2 / records
    for name, count in alarms.items():
        share = count / records
        error = 100 * (share * (1 - share) / records) ** 0.5
        print(f"readings {world[0]} and {world[1]} dB, {dies} dies, {name}: {100 * share:.1f} ± {error:.1f} % alarms, "
              f"half width {widths[name]:.2f} dB", flush=True)


if __name__ == "__main__":
    for died in "ab":
        for number, each in enumerate(WORLDS, start=1):
            measure(each, died, int(sys.argv[1]) if len(sys.argv) > 1 else 400, number)
