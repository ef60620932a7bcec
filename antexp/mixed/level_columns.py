"""Fixed columns that are the same for every reading of a level, up to a few covariates: kept by level.

A million readings with two hundred fixed columns are 1.6 GB as a matrix, yet nothing but the time differs between the
readings of a swap. Row r of X is Σₖ covariateₖ[r] · tableₖ[code[r]], the first covariate being 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats, Integers


@dataclass(frozen=True)
class LevelColumns:
    """Fixed columns kept by level.

    Attributes
    ----------
    codes : ndarray of int, shape (n,)
        Level of each reading, 0 … q − 1; the codes of one random term.
    tables : ndarray, shape (c, q, p)
        Columns of the levels: the constant part, then what multiplies each covariate.
    covariates : ndarray, shape (n, c − 1)
        What differs between readings of a level, such as minutes.
    """

    codes: Integers
    tables: Floats
    covariates: Floats

    @property
    def shape(self) -> tuple[int, int]:
        """Readings and columns, as of the matrix this stands for."""
        return self.codes.size, self.tables.shape[2]

    def dense(self) -> Floats:
        """Return the matrix, shape (n, p)."""
        X = self.tables[0][self.codes]
        for table, covariate in zip(self.tables[1:], self.covariates.T, strict=True):
            X = X + covariate[:, None] * table[self.codes]
        return X


def level_columns(codes: ArrayLike, constant: ArrayLike, **by_covariate: tuple[ArrayLike, ArrayLike]) -> LevelColumns:
    """Put fixed columns together by level.

    Parameters
    ----------
    codes : array_like of int, shape (n,)
        Level of each reading, 0 … q − 1, every level with at least one reading.
    constant : array_like, shape (q, p)
        Columns of each level.
    **by_covariate : (covariate, table)
        A covariate, shape (n,), and the columns it multiplies, shape (q, p): ``minutes=(t, slopes)``.

    Raises
    ------
    ValueError
        Shapes that do not fit, or a level without readings.
    """
    code, table = np.asarray(codes), np.asarray(constant, dtype=float)
    if code.ndim != 1 or table.ndim != 2 or code.size == 0 or code.dtype.kind not in "iu":
        raise ValueError(
            f"level columns do not fit: got shapes {code.shape} and {table.shape}; allowed (n,) whole numbers and "
            "(q, p)"
        )
    counts = np.bincount(code, minlength=table.shape[0])
    if counts.size != table.shape[0] or (counts == 0).any():
        raise ValueError(
            f"levels and readings do not match: got {table.shape[0]} levels, {int((counts > 0).sum())} of them read; "
            "every level needs a reading"
        )
    tables, covariates = [table], []
    for name, (values, slopes) in by_covariate.items():
        covariate, more = np.asarray(values, dtype=float), np.asarray(slopes, dtype=float)
        if covariate.shape != code.shape or more.shape != table.shape:
            raise ValueError(
                f"covariate {name!r} does not fit: got shapes {covariate.shape} and {more.shape}; allowed {code.shape} "
                f"and {table.shape}"
            )
        tables.append(more)
        covariates.append(covariate)
    stacked = np.column_stack(covariates) if covariates else np.zeros((code.size, 0))
    return LevelColumns(code.astype(np.intp, copy=False), np.stack(tables), stacked)
