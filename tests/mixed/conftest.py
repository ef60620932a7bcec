"""Records of the outside reference cases, and small records of our own."""

import json
from pathlib import Path

import numpy as np
import pytest

REFERENCE = Path(__file__).parents[1] / "reference"


class Case:
    """One file of tests/reference as columns and expected values."""

    def __init__(self, name):
        held = json.loads((REFERENCE / f"{name}.json").read_text())
        self.expected, self.precise = held["expected"], held.get("expected_high_precision", {})
        columns = list(zip(*held["data"]["rows"], strict=True))
        self.data = {n: np.array(v) for n, v in zip(held["data"]["columns"], columns, strict=True)}

    def __getitem__(self, name):
        return self.data[name]

    def design(self, *factors):
        """Columns of an intercept and treatment contrasts, the first level of each factor left out."""
        size = next(iter(self.data.values())).size
        return np.column_stack([np.ones(size), *(indicators(self.data[f])[:, 1:] for f in factors)])

    def pair(self, *factors):
        """Codes of the combinations of several factors."""
        return np.unique(np.column_stack([self.data[f].astype(str) for f in factors]), axis=0, return_inverse=True)[1]


def indicators(codes):
    """One column a level."""
    return (np.asarray(codes)[:, None] == np.unique(codes)[None, :]).astype(float)


@pytest.fixture
def case():
    return Case


@pytest.fixture
def swap_record():
    """A maker of records of a swap experiment: y, X (cell means, blocks, lines), swap codes."""

    def make(seed=0, candidates=4, blocks=3, readings=3, swap_sd=0.5, reading_sd=0.4, lines=True, lost=(), level=0.0):
        rng = np.random.default_rng(seed)
        swaps = candidates * blocks
        candidate = np.concatenate([rng.permutation(candidates) for _ in range(blocks)])
        block, minute = np.repeat(np.arange(blocks), candidates), np.tile(np.arange(candidates), blocks) * 5.0
        minute = minute - minute.mean()
        columns = [indicators(candidate), indicators(block)[:, 1:]]
        if lines:
            columns.append(indicators(block) * minute[:, None])
        counts = np.broadcast_to(readings, swaps).copy()
        counts[list(lost)] = 0
        code = np.repeat(np.arange(swaps), counts)
        y = level + rng.normal(0, swap_sd, swaps)[code] + rng.normal(0, reading_sd, code.size)
        return y, np.column_stack(columns)[code], code

    return make
