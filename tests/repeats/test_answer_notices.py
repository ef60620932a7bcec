"""What an order's warnings leave to the answer is not said again in the answer."""

import pytest

from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats

TWO_EACH = [{"name": name, "specimens": 2} for name in "abcd"]


@pytest.mark.parametrize(("candidates", "drift", "code"), [
    (TWO_EACH, "steady", "order-for-these-specimens"),
    (["a", "b", "c"], "wandering", "order-takes-walk-as-known"),
])
def test_the_answer_does_not_send_its_reader_to_itself(candidates, drift, code):
    """Order and answer differ there: the answer's limits are the wider ones, as the judgement's are."""
    plan = plan_from_dict({"candidates": candidates, "question": {"matter_db": 1.0},
                           "field": {"blocks": 6, "drift": drift, "wander_db_per_sqrt_hour": 0.5}})
    answer = how_many_repeats(plan, records=0)
    assert code in [notice.code for notice in answer.order.warnings]
    assert code not in [notice.code for notice in answer.warnings]
    announced = max(gap.resolution_db for gap in answer.order.gaps)
    assert answer.resolution_db > 1.01 * announced
