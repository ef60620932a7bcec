"""What a fit will be able to say, before there are readings: Φ_A and degrees of freedom at planned variances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats
from antexp.mixed.contrasts import degrees_of_freedom
from antexp.mixed.cross_products import cross_products
from antexp.mixed.kenward_roger import infer
from antexp.mixed.terms import read_terms


@dataclass(frozen=True)
class PlannedContrasts:
    """Contrasts as a fit at the planned variances would judge them.

    Attributes
    ----------
    covariance : ndarray, shape (m, m), dB²
        Φ_A of the contrasts (M5).
    degrees_of_freedom : ndarray, shape (m,)
        Kenward–Roger (M6), from the expected information at the planned variances.
    information_condition : float
        Condition number of W⁻¹, scaled to unit diagonal.
    """

    covariance: Floats
    degrees_of_freedom: Floats
    information_condition: float


def planned_contrasts(
    X: ArrayLike,
    groups: Mapping[str, ArrayLike],
    variances: Mapping[str, float],
    residual_variance: float,
    L: ArrayLike,
) -> PlannedContrasts:
    """Judge contrasts as if a fit had found the planned variances.

    Parameters
    ----------
    X : array_like, shape (n, p)
        Fixed columns.
    groups : mapping of str to array_like
        Random terms as `antexp.mixed.fit_reml` takes them.
    variances : mapping of str to float, dB²
        Planned variance of each term, at least 0.
    residual_variance : float, dB²
        Planned reading noise, above 0.
    L : array_like, shape (m, p)
        Contrast rows.

    Raises
    ------
    ValueError
        When the residual variance is not above 0, or a contrast cannot be estimated.

    Notes
    -----
    The same code as a fit's inference (M3–M6). Φ, Φ_A and every slope are proportional to σ², so the cross-products
    of an absent record are given the sum of squares whose σ̂² is 1 and the result is scaled.
    """
    if not residual_variance > 0:
        raise ValueError(f"residual variance is not above 0: got {residual_variance:g}")
    columns = np.asarray(X, dtype=float)
    terms = read_terms(groups, columns.shape[0])
    products = cross_products(np.zeros(columns.shape[0]), columns, terms)
    rows = np.asarray(L, dtype=float)
    products.fixed.check_estimable(rows)
    gram, within = products.gram.copy(), products.within.copy()
    gram[-1, -1] = within[-1, -1] = products.readings - products.rank
    products = replace(products, gram=gram, within=within)
    gamma = np.array([variances[name] / residual_variance for name in products.names])
    inference = infer(products, gamma, np.ones(gamma.size, dtype=bool))
    turned = products.fixed.to_orthonormal(rows)
    df = degrees_of_freedom(inference, turned, inference.spread)
    covariance = residual_variance * (turned @ inference.adjusted @ turned.T)
    return PlannedContrasts(covariance, df, inference.condition)
