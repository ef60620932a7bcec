"""How many more blocks would settle a gap that cannot be told (method section 5)."""

from __future__ import annotations

import math

_MOST = 200


def more_blocks(
    gap_db: float, resolution_db: float, matter_db: float | None, blocks: int, degrees_of_freedom: float
) -> int | None:
    """Say how many more blocks like those done would settle a gap, if gap and scatter stay as seen.

    Parameters
    ----------
    gap_db : float, dB
        The estimate.
    resolution_db : float, dB
        Half the width of its interval now; at a look before the end, at the confidence of the end.
    matter_db : float or None, dB
        The smallest gap that matters.
    blocks : int
        Blocks done.
    degrees_of_freedom : float
        Of the gap's standard error now.

    Returns
    -------
    int or None
        None when more than 200 blocks would be needed, or nothing is known.

    Notes
    -----
    A gap is settled when its interval leaves out zero, or lies inside ± `matter_db`. The half width shrinks with the
    square root of the blocks, and the critical value with the degrees of freedom, which grow in proportion; the
    latter is followed through ``1 + 1/df``, its leading term at 95 %.
    """
    size = abs(gap_db)
    target = max(size, (matter_db or 0.0) - size)
    if not (math.isfinite(resolution_db) and target > 0 and degrees_of_freedom >= 1):
        return None
    for extra in range(1, _MOST + 1):
        growth = (blocks + extra) / blocks
        easing = (1 + 1 / (degrees_of_freedom * growth)) / (1 + 1 / degrees_of_freedom)
        if resolution_db * easing / math.sqrt(growth) < target:
            return extra
    return None
