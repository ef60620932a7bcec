"""A seed that is none is said, wherever one is taken, and so are blocks in place of the plan's."""

import pytest

from antexp.design.order import make_order
from antexp.errors import InputError
from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.repeats.rehearsal import rehearse
from antexp.repeats.simulate import simulate

PLAN = plan_from_dict({"candidates": ["R", "A"], "matter_db": 1, "field": {"blocks": 3}})


@pytest.mark.parametrize("seed", [-1, 1.5, "1"])
def test_a_seed_that_is_none_is_refused(seed):
    order = make_order(PLAN)
    for call in (lambda: simulate(PLAN, order, seed=seed), lambda: rehearse(PLAN, order, records=10, seed=seed),
                 lambda: how_many_repeats(PLAN, seed=seed), lambda: make_order(PLAN, seed=seed)):
        with pytest.raises(InputError, match=r"seed is not a seed: got .*; allowed: a whole number, 0 or more"):
            call()


@pytest.mark.parametrize("blocks", [0, 1.5])
def test_blocks_that_are_none_are_refused(blocks):
    with pytest.raises(InputError, match="blocks is not a number of blocks"):
        make_order(PLAN, blocks=blocks)
