"""What a record cannot tell, found before fitting and said in words."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats
from antexp.mixed.cross_products import QR_LIMIT, CrossProducts
from antexp.mixed.fixed_part import FixedPart
from antexp.mixed.level_columns import LevelColumns
from antexp.mixed.restricted_likelihood import project, reduce_at


class UnidentifiedError(ValueError):
    """A record does not tell the asked sources of scatter apart, or leaves nothing over to judge by."""


def check_readings(y: ArrayLike, X: ArrayLike | LevelColumns) -> tuple[Floats, Floats | LevelColumns]:
    """Return levels and fixed columns as arrays of float.

    Raises
    ------
    ValueError
        Shapes that do not fit, or values that are not finite.
    """
    levels = np.asarray(y, dtype=float)
    columns = X if isinstance(X, LevelColumns) else np.asarray(X, dtype=float)
    if levels.ndim != 1 or len(columns.shape) != 2 or columns.shape[0] != levels.size:
        raise ValueError(
            f"levels and fixed columns do not fit: got shapes {levels.shape} and {columns.shape}; allowed (n,) and "
            "(n, p)"
        )
    # A large record is not read twice for this: its products show it (`cross_products.check_finite`).
    if levels.size <= QR_LIMIT:
        matrix = columns.dense() if isinstance(columns, LevelColumns) else columns
        bad = np.flatnonzero(~(np.isfinite(levels) & np.isfinite(matrix).all(axis=1)))
        if bad.size:
            raise ValueError(
                f"levels and fixed columns must be finite: got {bad.size} rows that are not, the first at row "
                f"{', '.join(map(str, bad[:5]))}. Leave those readings out"
            )
    return levels, columns


def check_rows(rows: Floats, fixed: FixedPart) -> None:
    """Refuse contrast rows that do not fit X or cannot be estimated.

    Raises
    ------
    ValueError
        Rows of another length, or rows that the readings cannot tell.
    """
    if rows.ndim != 2 or rows.shape[1] != fixed.columns:
        raise ValueError(f"contrasts do not fit X: got shape {rows.shape}; allowed (m, {fixed.columns})")
    fixed.check_estimable(rows)


def check_terms(products: CrossProducts) -> None:
    """Refuse a model whose variances the record cannot tell apart.

    Raises
    ------
    ValueError
        No reading left over, a random term that lies within the fixed columns, or two terms that are the same.
    """
    free = products.readings - products.rank
    if free <= 0:
        raise ValueError(
            f"no reading is left over to judge the scatter by: {products.readings} readings, {products.rank} fixed "
            "columns. Take more readings, or ask for a simpler drift"
        )
    if not products.names:
        return
    inside = project(products, reduce_at(products, np.zeros(len(products.names))))
    sizes = [
        products.counts.sum() if i == products.eliminated else _length(products, b)
        for i, b in enumerate(products.blocks)
    ]
    held = [n for n, t, s in zip(products.names, inside.traces, sizes, strict=True) if t <= 1e-9 * s]
    if held:
        raise UnidentifiedError(
            f"random term {', '.join(map(repr, held))} cannot be estimated: the fixed columns account for all of its "
            "levels. Leave it out, or take away the fixed columns that hold it"
        )
    scale = np.sqrt(np.diag(inside.squares))
    alike = inside.squares / np.outer(scale, scale) - np.eye(scale.size)
    i, j = np.unravel_index(int(np.argmax(alike)), alike.shape)
    if alike[i, j] > 1.0 - 1e-12:  # the same to the last digits; what is merely close shows in the condition of W
        raise UnidentifiedError(
            f"random terms {products.names[min(i, j)]!r} and {products.names[max(i, j)]!r} cannot be told apart: their "
            "levels divide the readings in the same way. Leave one out"
        )


def _length(products: CrossProducts, block: slice) -> float:
    """Return the sum of squares of a term's loadings."""
    rows = slice(products.rank + block.start, products.rank + block.stop)
    return float(np.trace(products.gram[rows, rows]))
