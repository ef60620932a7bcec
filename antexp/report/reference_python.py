"""The reference page of public Python calls: what to list, in which order; Sphinx fills in what each says of itself."""

from __future__ import annotations

from importlib import import_module

_HEAD = """# Python

The public calls, in the order of the flow. `import antexp` is quick: a call is loaded when it is first used. Faults of
the input are `antexp.errors.InputError`, with all of them in `faults`.

Names that do not stand here may change; files, commands, results and these calls are what scripts can lean on.
"""

FLOW = ("read_plan", "make_order", "how_many_repeats", "simulate", "rehearse", "judge")

_KERNEL = ("antexp.mixed.fit_reml",)

_CLASSES = {
    "What they return": (
        "antexp.plan.model.Plan",
        "antexp.design.order_document.Order",
        "antexp.repeats.answer.Answer",
        "antexp.repeats.rehearsal.Rehearsal",
        "antexp.analysis.result.Judgement",
        "antexp.analysis.result.Spread",
        "antexp.analysis.result.DriftSeen",
        "antexp.mixed.fit.RemlFit",
    ),
    "Faults": ("antexp.errors.InputError", "antexp.errors.Fault"),
}


def python_page() -> str:
    """Return the page as Markdown with the directives that Sphinx fills in."""
    calls = [_directive("function", f"antexp.{name}") for name in FLOW]
    parts = [_HEAD, "## Calls\n", *calls, "## The kernel\n\n`from antexp.mixed import fit_reml`: the mixed model by "
             "itself, arrays in and arrays out.\n", *(_directive("function", name) for name in _KERNEL)]
    for heading, names in _CLASSES.items():
        parts += [f"## {heading}\n", *(_directive("class", name) for name in names)]
    return "\n".join(parts)


def _directive(kind: str, name: str) -> str:
    """Return one entry; a name that is gone is an error here, not a blank in the page."""
    module, _, own = name.rpartition(".")
    if not hasattr(import_module(module), own):
        raise AttributeError(f"{name} is listed on the reference page but is not there")
    return f"```{{eval-rst}}\n.. auto{kind}:: {name}\n```\n"
