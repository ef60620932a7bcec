"""Where the reference hangs within a block, by its own definition, over every small case."""

from __future__ import annotations

from itertools import pairwise

import pytest

from antexp.design.reference_slots import reference_positions, references_asked, split_block


@pytest.mark.parametrize("compare", ["reference", "each-other", "best"])
@pytest.mark.parametrize("every", [None, 2, 3, 5])
def test_a_split_block_holds_the_fewest_references_that_are_enough(every, compare):
    for swaps in range(1, 15):
        references = split_block(swaps, 20, every, compare)
        assert 0 <= references < swaps
        if swaps > 2:
            enough = [r for r in range(2, swaps) if r >= references_asked(swaps - r, 20, every, compare)]
            assert references == (enough[0] if enough else swaps - 1)


@pytest.mark.parametrize("swaps", range(2, 12))
def test_references_stand_at_both_ends_and_evenly_between(swaps):
    assert reference_positions(swaps, 0) == () and reference_positions(swaps, 1) == (0,)
    for references in range(2, swaps + 1):
        places = reference_positions(swaps, references)
        assert (places[0], places[-1], len(set(places))) == (0, swaps - 1, references)
        stretches = [later - earlier for earlier, later in pairwise(places)]
        assert max(stretches) - min(stretches) <= 1
        assert stretches == sorted(stretches, reverse=True)
