"""The reference page of public Python calls: what to list, in which order; Sphinx fills in what each says of itself."""

from __future__ import annotations

from importlib import import_module

_HEAD = """# Python

The public names. `import antexp` is quick: a name is loaded when it is first used. For a walk from plan to verdict see
[from Python](../how-to/from-python.md).

- Wherever a call takes a plan, an order, a bench book or a judged day, it takes the object or the path of its file.
- Results are frozen. Their tables are pandas tables: change a copy.
- `to_dict()` of a result gives what its command prints with `--json`, in plain types; `order` adds facts of the layout.
- A fault of the input raises `antexp.InputError`, with all faults at once in `faults`.
- What writes paper, pages and files for the field (`sheet`, `record`, `join`, the pilot's form) or tells and keeps a
  result (`say`, `keep`, `open`) stays with the [commands](commands.md).

Names that do not stand here may change; files, commands, results and these names are what scripts can lean on.
"""

FLOW: dict[str, tuple[str, ...]] = {
    "Plan": ("read_plan", "plan_from_dict", "check_range", "expected_losses", "trim_sheet"),
    "Order": ("make_order", "write_order", "read_order"),
    "Repeats": ("how_many_repeats", "simulate", "rehearse", "bare_gap", "read_single_hangings", "against_chance"),
    "Readings": ("check_readings", "judge_pilot"),
    "Judgement": ("judge", "write_report", "read_results", "choose"),
    "Several days": ("compare_days", "pool"),
}

_KERNEL = ("antexp.mixed.fit_reml",)

RESULTS = (
    "Plan", "RangeCheck", "ExpectedLosses", "TrimSheet", "Order", "Answer", "Rehearsal", "BareGap",
    "TableAgainstChance", "ReadingsCheck", "Pilot", "Judgement", "Choice", "DayComparison", "Pooled",
)
FAULTS = ("InputError",)

_PARTS = {
    "Parts of results": (
        "antexp.analysis.result.Spread",
        "antexp.analysis.result.DriftSeen",
        "antexp.notices.Notice",
        "antexp.mixed.fit.RemlFit",
    ),
}

# Properties and methods of results too, without those of the libraries beneath.
_MEMBERS = """
   :members:
   :inherited-members: BaseModel, ValueError, Exception, BaseException
   :exclude-members: model_config, add_note, with_traceback"""


def python_page() -> str:
    """Return the page as Markdown with the directives that Sphinx fills in."""
    parts = [_HEAD]
    for heading, names in FLOW.items():
        parts += [f"## {heading}\n", *(_directive("function", f"antexp.{name}") for name in names)]
    parts += ["## The kernel\n\n`from antexp.mixed import fit_reml`: the mixed model by itself, arrays in and arrays "
              "out.\n", *(_directive("function", name) for name in _KERNEL)]
    parts += ["## What they return\n", *(_directive("class", f"antexp.{name}") for name in RESULTS)]
    for heading, names in _PARTS.items():
        parts += [f"## {heading}\n", *(_directive("class", name) for name in names)]
    faults = (*(f"antexp.{name}" for name in FAULTS), "antexp.errors.Fault")
    return "\n".join([*parts, "## Faults\n", *(_directive("class", name) for name in faults)])


def _directive(kind: str, name: str) -> str:
    """Return one entry; a name that is gone is an error here, not a blank in the page."""
    module, _, own = name.rpartition(".")
    if not hasattr(import_module(module), own):
        raise AttributeError(f"{name} is listed on the reference page but is not there")
    members = _MEMBERS if kind == "class" else ""
    return f"```{{eval-rst}}\n.. auto{kind}:: {name}{members}\n```\n"
