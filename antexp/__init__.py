"""antexp: fair field comparisons of antenna wires, and which gaps are real.

The public names stand here in the order of the flow: plan, order, repeats, readings, judgement, several days.
They are loaded when first used, so that ``import antexp`` and ``antexp --help`` stay quick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

__version__ = "0.1.0"

__all__ = [
    "Answer",
    "BareGap",
    "Choice",
    "DayComparison",
    "ExpectedLosses",
    "InputError",
    "Judgement",
    "Order",
    "Pilot",
    "Plan",
    "Pooled",
    "RangeCheck",
    "ReadingsCheck",
    "Rehearsal",
    "TableAgainstChance",
    "TrimSheet",
    "against_chance",
    "bare_gap",
    "check_range",
    "check_readings",
    "choose",
    "compare_days",
    "expected_losses",
    "how_many_repeats",
    "judge",
    "judge_pilot",
    "make_order",
    "plan_from_dict",
    "pool",
    "read_order",
    "read_plan",
    "read_results",
    "read_single_hangings",
    "rehearse",
    "simulate",
    "trim_sheet",
    "write_order",
    "write_report",
]

if TYPE_CHECKING:
    from antexp.analysis.choice import Choice, choose
    from antexp.analysis.compare_days import DayComparison, compare_days
    from antexp.analysis.judge import judge
    from antexp.analysis.pilot import Pilot, judge_pilot
    from antexp.analysis.pool import Pooled, pool
    from antexp.analysis.result import Judgement
    from antexp.analysis.results_file import read_results
    from antexp.design.order import make_order
    from antexp.design.order_document import Order
    from antexp.design.order_file import read_order, write_order
    from antexp.errors import InputError
    from antexp.field.doubts import ReadingsCheck, check_readings
    from antexp.field.trim import trim_sheet
    from antexp.field.trimmed import TrimSheet
    from antexp.plan.expected_loss import ExpectedLosses
    from antexp.plan.expected_losses import expected_losses
    from antexp.plan.model import Plan
    from antexp.plan.range_check import RangeCheck, check_range
    from antexp.plan.reader import plan_from_dict, read_plan
    from antexp.repeats.answer import Answer, how_many_repeats
    from antexp.repeats.bare_gap import BareGap, bare_gap
    from antexp.repeats.rehearsal import Rehearsal, rehearse
    from antexp.repeats.simulate import simulate
    from antexp.repeats.single_hangings import TableAgainstChance, against_chance
    from antexp.repeats.single_hangings_file import read_single_hangings
    from antexp.report.write import write_report
else:
    # Where each name is at home: the imports above, for the interpreter. A test holds the two together.
    _HOMES = {
        "antexp.analysis.choice": ("Choice", "choose"),
        "antexp.analysis.compare_days": ("DayComparison", "compare_days"),
        "antexp.analysis.judge": ("judge",),
        "antexp.analysis.pilot": ("Pilot", "judge_pilot"),
        "antexp.analysis.pool": ("Pooled", "pool"),
        "antexp.analysis.result": ("Judgement",),
        "antexp.analysis.results_file": ("read_results",),
        "antexp.design.order": ("make_order",),
        "antexp.design.order_document": ("Order",),
        "antexp.design.order_file": ("read_order", "write_order"),
        "antexp.errors": ("InputError",),
        "antexp.field.doubts": ("ReadingsCheck", "check_readings"),
        "antexp.field.trim": ("trim_sheet",),
        "antexp.field.trimmed": ("TrimSheet",),
        "antexp.plan.expected_loss": ("ExpectedLosses",),
        "antexp.plan.expected_losses": ("expected_losses",),
        "antexp.plan.model": ("Plan",),
        "antexp.plan.range_check": ("RangeCheck", "check_range"),
        "antexp.plan.reader": ("plan_from_dict", "read_plan"),
        "antexp.repeats.answer": ("Answer", "how_many_repeats"),
        "antexp.repeats.bare_gap": ("BareGap", "bare_gap"),
        "antexp.repeats.rehearsal": ("Rehearsal", "rehearse"),
        "antexp.repeats.simulate": ("simulate",),
        "antexp.repeats.single_hangings": ("TableAgainstChance", "against_chance"),
        "antexp.repeats.single_hangings_file": ("read_single_hangings",),
        "antexp.report.write": ("write_report",),
    }

    def __getattr__(name: str) -> object:
        """Load a public name from its room when it is first used, and let results show themselves."""
        from importlib import import_module

        home = next((module for module, names in _HOMES.items() if name in names), None)
        if home is None:
            raise AttributeError(f"module 'antexp' has no attribute {name!r}")
        import_module("antexp.report.views")
        found = globals()[name] = getattr(import_module(home), name)
        return found

    def __dir__() -> list[str]:
        """List the public names, loaded or not; what else is inside may change."""
        return [*__all__, "__version__"]
