"""antexp: fair field comparisons of antenna wires, and which gaps are real.

The public names stand here in the order of the flow: plan, order, repeats, simulated readings, judgement.
They are loaded when first used, so that ``import antexp`` and ``antexp --help`` stay quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from antexp.plan.reader import read_plan

__version__ = "0.1.0"

_HOMES = {
    "read_plan": "antexp.plan.reader",
    "make_order": "antexp.design.order",
    "how_many_repeats": "antexp.repeats.answer",
    "simulate": "antexp.repeats.simulate",
    "rehearse": "antexp.repeats.rehearsal",
    "judge": "antexp.analysis.judge",
}

__all__ = ["read_plan"]


def __getattr__(name: str) -> Any:
    """Load a public name from its room when it is first used."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'antexp' has no attribute {name!r}")


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted({*globals(), *_HOMES})
