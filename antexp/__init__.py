"""antexp: fair field comparisons of antenna wires, and which gaps are real.

The public names stand here in the order of the flow: plan, order, repeats, simulated readings, judgement.
They are loaded when first used, so that ``import antexp`` and ``antexp --help`` stay quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from antexp.analysis.judge import judge
    from antexp.design.order import make_order
    from antexp.plan.reader import read_plan
    from antexp.repeats.answer import how_many_repeats
    from antexp.repeats.rehearsal import rehearse
    from antexp.repeats.simulate import simulate

__version__ = "0.1.0"

__all__ = ["how_many_repeats", "judge", "make_order", "read_plan", "rehearse", "simulate"]

_HOMES = {
    "read_plan": "antexp.plan.reader",
    "make_order": "antexp.design.order",
    "how_many_repeats": "antexp.repeats.answer",
    "simulate": "antexp.repeats.simulate",
    "rehearse": "antexp.repeats.rehearsal",
    "judge": "antexp.analysis.judge",
}


def __getattr__(name: str) -> Any:
    """Load a public name from its room when it is first used, and let results show themselves."""
    if name not in _HOMES:
        raise AttributeError(f"module 'antexp' has no attribute {name!r}")
    import_module("antexp.report.views")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted({*globals(), *_HOMES})
