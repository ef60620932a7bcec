"""Where the reference hangs within a block, and how often."""

from __future__ import annotations

import math


def references_asked(candidate_swaps: int, candidates: int, reference_every: int | None, compare: str) -> int:
    """Tell how many reference swaps a block needs beside its candidate swaps.

    Parameters
    ----------
    candidate_swaps : int
        Swaps of the block that are not the reference.
    candidates : int
        How many candidates are compared with the reference in the whole experiment.
    reference_every : int or None
        At least one reference among so many swaps in a row; None leaves it to the √k rule.
    compare : {"reference", "each-other", "best"}
        The question; only comparisons with the reference ask for more of it than the ends.

    Returns
    -------
    int
        At least 2: both ends.

    Notes
    -----
    With k candidates compared with one reference, the reference is best hung √k times as often as each of them.

    References
    ----------
    Dunnett (1955), J. Am. Stat. Assoc. 50:1096, doi:10.1080/01621459.1955.10501294.
    """
    if reference_every is not None:
        return 1 + max(1, math.ceil(candidate_swaps / (reference_every - 1)))
    if compare != "reference":
        return 2
    # candidate_swaps / candidates hangings of each candidate, √k times as many of the reference
    return max(2, round(candidate_swaps / math.sqrt(candidates)))


def split_block(swaps: int, candidates: int, reference_every: int | None, compare: str) -> int:
    """Tell how many of a block's swaps are the reference when the block cannot hold every candidate.

    Returns
    -------
    int
        The smallest number that satisfies `references_asked` for what is left; at least one swap is left.
    """
    if swaps <= 2:
        return swaps - 1
    for references in range(2, swaps):
        if references >= references_asked(swaps - references, candidates, reference_every, compare):
            return references
    return swaps - 1


def reference_positions(swaps: int, references: int) -> tuple[int, ...]:
    """Spread reference swaps over a block: both ends, the rest as evenly as whole swaps allow.

    Parameters
    ----------
    swaps : int
        Swaps of the block.
    references : int
        How many of them are the reference; 1 means the first swap only.

    Returns
    -------
    tuple of int
        Zero-based positions, rising. The stretches between them differ by one swap at most, the longer ones first.
    """
    if references <= 1:
        return (0,) * references
    between, longer = divmod(swaps - references, references - 1)
    positions = [0]
    for stretch in range(references - 1):
        positions.append(positions[-1] + 1 + between + (stretch < longer))
    return tuple(positions)
