"""Elimination over many small matrices equals numpy's, one by one."""

import numpy as np

from antexp.mixed.small_matrices import eliminate_small, invert_small, sweep_small, times, trace, trace_product


def test_against_numpy():
    rng = np.random.default_rng(0)
    half = rng.normal(size=(50, 4, 4))
    matrices = np.eye(4) + half @ np.swapaxes(half, 1, 2)
    vectors = rng.normal(size=(50, 4))
    inverses, logs = invert_small(matrices)
    np.testing.assert_allclose(inverses, np.linalg.inv(matrices), atol=1e-12)
    np.testing.assert_allclose(logs, np.linalg.slogdet(matrices)[1], rtol=1e-12)
    border = np.concatenate([matrices, vectors[:, :, None]], axis=2)
    logs, forms = eliminate_small(np.ascontiguousarray(np.moveaxis(border, 0, -1)))
    np.testing.assert_allclose(logs, np.linalg.slogdet(matrices)[1], rtol=1e-12)
    np.testing.assert_allclose(forms, np.einsum("ni,nij,nj->n", vectors, inverses, vectors), rtol=1e-10)
    np.testing.assert_allclose(times(matrices, vectors), np.einsum("nij,nj->ni", matrices, vectors))
    np.testing.assert_allclose(trace(matrices), np.trace(matrices, axis1=1, axis2=2))
    np.testing.assert_allclose(trace_product(matrices, half), np.trace(matrices @ half, axis1=1, axis2=2))
    logs, forms = sweep_small(swept := np.ascontiguousarray(np.moveaxis(np.triu(border), 0, -1)))
    np.testing.assert_allclose(logs, np.linalg.slogdet(matrices)[1], rtol=1e-12)
    np.testing.assert_allclose(forms, np.einsum("ni,nij,nj->n", vectors, inverses, vectors), rtol=1e-10)
    np.testing.assert_allclose(np.moveaxis(swept[:, :4], -1, 0), np.linalg.inv(matrices), atol=1e-12)
    np.testing.assert_allclose(swept[:, 4].T, np.einsum("nij,nj->ni", inverses, vectors), atol=1e-12)
