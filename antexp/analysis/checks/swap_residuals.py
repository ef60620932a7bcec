"""Residuals of the swaps' means, and what they would look like if the swaps scattered evenly and independently."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.analysis.record_model import swap_means
from antexp.analysis.scopes import ScopedFit
from antexp.design.random_terms import group_numbers

Floats = NDArray[np.float64]

_MOST_DRAWS, _FEWEST_DRAWS, _NUMBERS = 1999, 199, 1_000_000


@dataclass(frozen=True)
class SwapResiduals:
    """The swaps' means less what the fixed terms explain.

    Attributes
    ----------
    swaps : DataFrame, one row a swap
        ``swap, block, candidate, minutes``, in time order within each block.
    residual_db : ndarray, shape (N,), dB
        Least-squares residuals of the means.
    basis : ndarray, shape (N, p)
        Orthonormal columns of the fixed terms.
    chance : ndarray, shape (N, draws)
        Residuals of pure chance: the same projection of independent normal numbers. Any statistic that does not
        depend on the scale has its exact null distribution here.
    """

    swaps: pd.DataFrame
    residual_db: Floats
    basis: Floats
    chance: Floats

    @property
    def left(self) -> int:
        """Degrees of freedom."""
        return len(self.residual_db) - self.basis.shape[1]

    @property
    def scatter_db(self) -> float:
        """Residual standard deviation of a swap's mean, dB."""
        return float(np.sqrt((self.residual_db**2).sum() / self.left))

    @property
    def leverage(self) -> Floats:
        """How much each swap is its own prediction, shape (N,)."""
        return np.asarray((self.basis**2).sum(axis=1))

    def project(self, columns: Floats) -> Floats:
        """Take out of columns what the fixed terms carry."""
        return np.asarray(columns - self.basis @ (self.basis.T @ columns))

    def p_value(self, seen: float, by_chance: Floats) -> float:
        """Return the share of chance records with a statistic at least as large, the record itself counted."""
        return float((1 + (by_chance >= seen - 1e-12).sum()) / (1 + by_chance.size))

    def extra_f(self, columns: Floats) -> tuple[float, Floats] | None:
        """Return the F ratio of further columns for the record and for chance; None where nothing would be left."""
        u, size, _ = np.linalg.svd(self.project(columns), full_matrices=False)
        new = u[:, size > 1e-8 * max(1.0, float(size.max(initial=0.0)))]
        left = self.left - new.shape[1]
        if new.shape[1] == 0 or left < 2:
            return None

        def ratio(residuals: Floats) -> Floats:
            more = ((new.T @ residuals) ** 2).sum(axis=0)
            whole = (residuals**2).sum(axis=0)
            return np.asarray((more / new.shape[1]) / (np.maximum(whole - more, 1e-300) / left))

        return float(ratio(self.residual_db[:, None])[0]), ratio(self.chance)


def swap_residuals(fitted: ScopedFit) -> SwapResiduals | None:
    """Return the residuals of the swaps' means of a fit; None where fewer than three degrees of freedom are left."""
    rows = fitted.record.rows
    frame = rows[["swap", "block", "candidate", "minutes"]].assign(level_db=fitted.record.level_db)
    order = frame.groupby("swap", sort=False).agg(
        block=("block", "first"), candidate=("candidate", "first"), minutes=("minutes", "mean"),
        level_db=("level_db", "mean"),
    )  # fmt: skip
    codes = group_numbers(rows, ["swap"])
    X = swap_means(codes, fitted.record.model.X)
    blocks = {block: i for i, block in enumerate(dict.fromkeys(order["block"]))}
    in_time = np.lexsort((order["minutes"].to_numpy(), order["block"].map(blocks).to_numpy()))
    swaps, X = order.iloc[in_time].reset_index(), X[in_time]
    u, size, _ = np.linalg.svd(X, full_matrices=False)
    basis = u[:, size > 1e-9 * size[0]]
    y = swaps["level_db"].to_numpy() - swaps["level_db"].mean()
    residual = y - basis @ (basis.T @ y)
    if len(y) - basis.shape[1] < 3 or (residual**2).sum() < 1e-20:
        return None
    draws = int(np.clip(_NUMBERS // len(y), _FEWEST_DRAWS, _MOST_DRAWS))
    z = np.random.default_rng(1).standard_normal((len(y), draws))
    return SwapResiduals(swaps, residual, basis, z - basis @ (basis.T @ z))
