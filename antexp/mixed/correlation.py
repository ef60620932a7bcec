"""Correlations behind covariances."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def correlation_of(covariance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the correlation of a covariance matrix, or of many of them.

    Parameters
    ----------
    covariance : ndarray, shape (..., m, m)

    Returns
    -------
    ndarray, shape (..., m, m)
        Exactly symmetric with ones on the diagonal; what has no variance is correlated with nothing.
    """
    scale = np.sqrt(np.einsum("...ii->...i", covariance))
    scale = np.where(scale > 0, scale, 1.0)
    correlation = np.clip(covariance / (scale[..., :, None] * scale[..., None, :]), -1.0, 1.0)
    correlation = (correlation + np.swapaxes(correlation, -1, -2)) / 2.0
    place = np.arange(scale.shape[-1])
    correlation[..., place, place] = 1.0
    return np.asarray(correlation)
