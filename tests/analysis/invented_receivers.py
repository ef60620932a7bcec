"""An invented day at two receivers, for the tests of several."""

from __future__ import annotations

import numpy as np
import pandas as pd


def record(seed: int = 1, receivers=("a", "b"), pattern: float = 0.0, noisy: float = 0.1, blocks: int = 5):
    """Invented levels; at receiver b candidate B is stronger by `pattern` and readings scatter by `noisy`."""
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(blocks):
        for position, name in enumerate(["ref", *random.permutation(["B", "C"]), "ref"]):
            swap += 1
            hang = -60 + {"B": -1.5}.get(str(name), 0.0) + random.normal(0, 0.3)
            for receiver in receivers:
                own = hang + (5.0 + pattern * (name == "B") if receiver == "b" else 0.0) + random.normal(0, 0.1)
                sd = noisy if receiver == "b" else 0.1
                rows += [(swap, block + 1, str(name), receiver, 7.0 * position, own + random.normal(0, sd))
                         for _ in range(2)]  # fmt: skip
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "receiver", "minutes", "level_db"])
