"""The form of a message: where, what, got, allowed, and what to do; every fault at once."""

import pytest

from antexp.errors import Fault, InputError, PlanError


@pytest.mark.parametrize(
    ("fault", "message"),
    [
        (Fault("confidence is not a probability", "plan.toml, line 7", "95", "above 0, below 1", "Write 0.95."),
         "plan.toml, line 7: confidence is not a probability: got 95; allowed: above 0, below 1. Write 0.95."),
        (Fault("the plan is empty", "plan.toml"), "plan.toml: the plan is empty."),
        (Fault("which wire", got="?"), "which wire: got ?"),
        (Fault("no swap is left", allowed="1 or more"), "no swap is left: allowed: 1 or more."),
        (Fault("is this the right file?", do="Look again."), "is this the right file? Look again."),
    ],
)
def test_a_fault_is_one_message(fault, message):
    assert str(fault) == message


def test_an_error_has_all_faults_one_a_line():
    faults = [Fault("one", "a.csv, line 2"), Fault("two", "a.csv, line 9", "x")]
    error = PlanError(fault for fault in faults)  # from a generator, as the readers make it
    assert isinstance(error, InputError) and isinstance(error, ValueError)
    assert error.faults == tuple(faults)
    assert str(error) == "a.csv, line 2: one.\na.csv, line 9: two: got x."
    assert PlanError(faults[0]).faults == (faults[0],)
