"""The plan that would settle a table of single hangings reads back and does what it says."""

import tomllib

import pytest

from antexp.errors import RepeatsError
from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.repeats.settling_plan import settling_plan
from antexp.repeats.single_hangings import against_chance
from antexp.repeats.single_hangings_file import Hanging


def _table(levels, names=None, **spreads):
    names = names or [f"wire {i}" for i in range(len(levels))]
    return against_chance([Hanging(name, level) for name, level in zip(names, levels, strict=True)], **spreads)


def test_the_plan_file_reads_back_and_reaches_the_chance():
    found = settling_plan(_table([-60, -61, -62.5], ['say "copper"', "steel", "ålu"], rehang_sd_db=0.6), 1.0, 0.9)
    plan = plan_from_dict(tomllib.loads(found.toml))
    assert plan.candidate_names == ('say "copper"', "steel", "ålu")
    answer = how_many_repeats(plan, records=0)
    assert (answer.blocks, answer.swaps) == (found.blocks, found.swaps)
    assert answer.chance >= 0.9 - 0.01  # the chosen order and the quick draw differ by a point at most
    assert answer.table.set_index("blocks")["chance"][found.blocks - 1] < 0.9


def test_without_a_gap_that_matters_the_spread_of_the_table_is_what_it_claims():
    assert settling_plan(_table([-60.0, -62.5])).matter_db == 2.5
    with pytest.raises(RepeatsError, match="do not differ, and nothing says which gap matters"):
        settling_plan(_table([-60.0, -60.0]))


def test_a_gap_nobody_can_notice_is_said_so():
    found = settling_plan(_table([-60.0, -62.5]), 0.01)
    assert found.blocks is None and "not even 200 blocks" in found.toml


def test_names_that_cannot_stand_in_a_plan_are_refused():
    with pytest.raises(RepeatsError, match="begins with ="):
        settling_plan(_table([-60.0, -62.5], ["=a", "b"]))
