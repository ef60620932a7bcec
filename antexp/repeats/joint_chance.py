"""The chance of noticing all asked gaps on one day, over evenly spread estimates and scatters."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, special

from antexp.repeats.planned_family import Family, scatter_of
from antexp.repeats.planned_gaps import PlannedGaps

Floats = NDArray[np.float64]

# With so many points the chance is off by about 0.001.
_POINTS = 2**12


def chance_of_all(
    planned: Sequence[PlannedGaps], family: Family, compare: str, matter_db: float, worst: int
) -> float:
    """Return the chance of noticing all gaps together.

    Parameters
    ----------
    planned : sequence of PlannedGaps
    family : Family
        Of the same gaps.
    compare : {"reference", "each-other", "best"}
    matter_db : float, dB
        The true gaps: see `_truth`.
    worst : int
        With ``best``: the pair of the family whose second named is the best.
    """
    if not np.isfinite(family.critical).all():
        return 0.0
    pairs = [pair for part in planned for pair in part.pairs]
    size, best = len(pairs), family.pairs[worst][1]
    draws = even_points(_POINTS, size + len(planned) + 1)
    truth = _truth(pairs, compare, matter_db, best)
    error = linalg.block_diag(*(_root(part.true_covariance_db2) for part in planned))
    estimate = truth + special.ndtri(draws[:, :size]) @ error.T
    scale = np.hstack([_chi_scales(draws[:, size + i], scatter_of(part)) for i, part in enumerate(planned)])
    half = family.critical * family.reported
    if compare == "best":
        half = half[:, [family.pairs.index(pair[::-1] if pair[0] == best else pair) for pair in pairs]]
    half = scale * half[(draws[:, -1] * len(half)).astype(np.intp)]
    counts = truth != 0.0  # best: gaps among the others do not count
    return float(np.mean(np.all((estimate * np.sign(truth) > half)[:, counts], axis=1)))


def _chi_scales(draws: Floats, df: Floats) -> Floats:
    """Return χ/√df for each draw and gap, shape (draws, m); equal df are looked up once."""
    values, place = np.unique(df, return_inverse=True)
    table = np.column_stack([chi_scale(draws, value) for value in values])
    return np.asarray(table[:, place.reshape(-1)])


def chi_scale(share: Floats, df: Floats | float) -> Floats:
    """Return the quantiles of χ/√df: of a reported error over its root mean square."""
    if np.ndim(df) == 0 and not np.isfinite(df):
        return np.ones_like(share)
    return np.asarray(np.sqrt(2.0 * special.gammaincinv(np.asarray(df) / 2.0, share) / df))


def even_points(points: int, dimensions: int) -> Floats:
    """Spread points evenly over the unit cube: multiples of square roots of primes, modulo 1.

    Returns
    -------
    ndarray, shape (points, dimensions)
        Inside (0, 1).

    References
    ----------
    Richtmyer (1951), Los Alamos report LA-1342; Niederreiter (1978), Bull. Am. Math. Soc. 84:957.
    """
    primes = np.array([n for n in range(2, 20 * dimensions + 20) if all(n % d for d in range(2, int(n**0.5) + 1))])
    steps = np.sqrt(primes[:dimensions])
    return np.asarray(np.clip((0.5 + np.outer(np.arange(1, points + 1), steps)) % 1.0, 1e-12, 1.0 - 1e-12))


def _truth(pairs: Sequence[tuple[str, str]], compare: str, matter_db: float, best: str) -> Floats:
    """Return the true gaps of the chance of noticing all.

    Against the reference each is at the gap that matters; each-other: the candidates lie one gap apart in a row;
    best: one lies one gap above all others, which are equal.
    """
    if compare == "reference":
        return np.full(len(pairs), matter_db)
    if compare == "best":
        return np.array([matter_db * ((a == best) - float(b == best)) for a, b in pairs])
    names = list(dict.fromkeys(name for pair in pairs for name in pair))
    return matter_db * np.array([names.index(a) - names.index(b) for a, b in pairs], float)


def _root(covariance: Floats) -> Floats:
    """Return a square root of a covariance that may be singular."""
    values, vectors = np.linalg.eigh(covariance)
    return vectors * np.sqrt(np.maximum(values, 0.0))
