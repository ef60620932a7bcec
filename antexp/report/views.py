"""Tells results how they are drawn and shown in a notebook; importing this registers it, drawing imports the rest."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any

from antexp.views import register_page, register_picture

Has = Callable[[Any], bool]

_CHECKS = ("drift-form", "unequal-scatter", "carry-over", "odd-swap")


def _always(result: Any) -> bool:
    return True


def _matters(answer: Any) -> bool:
    return answer.matter_db is not None


_PICTURES: dict[str, dict[str, tuple[str, Has]]] = {
    "Judgement": {
        "gaps": ("gap_figure:gap_figure", _always),
        "day": ("day_figure:day_figure", lambda judgement: not judgement.day.swaps.empty),
        "spread": ("spread_figure:spread_figure", _always),
        "gap-budget": ("budget_figures:budget_figure", lambda judgement: judgement.budgets is not None),
        "expected-measured": ("budget_figures:expected_measured_figure",
                              lambda judgement: judgement.budgets is not None),
        "receivers": ("receivers_figure:receivers_figure", lambda judgement: judgement.receivers is not None),
    },
    "Plan": {"bands": ("radio_figures:plan_bands_figure", lambda plan: plan.radio.frequency_mhz is not None)},
    "Order": {"swaps": ("order_figures:order_figure", _always)},
    "ExpectedLosses": {"expected-loss": ("radio_figures:expected_loss_figure", _always)},
    "Answer": {
        "chance": ("repeats_figures:chance_figure", _matters),
        "detectable": ("repeats_figures:detectable_figure", _always),
        "guesses": ("repeats_figures:guess_figure", _always),
    },
    "Choice": {
        "price": ("choice_figure:choice_figure", _always),
        "mass": ("notebook:mass_figure",
                 lambda choice: any(wire.mass_g_per_m is not None for wire in choice.wires)),
    },
    "Pooled": {"days": ("pool_figure:pool_figure", _always)},
    "DayComparison": {"days": ("compare_figure:compare_figure", _always)},
}
"""Each picture of each kind of result: where its function is at home in this room, and whether a result has it."""

_PAGES = {
    "Judgement": "judgement_html", "Order": "order_html", "Plan": "plan_html", "Answer": "answer_html",
    "ExpectedLosses": "expected_html", "Choice": "choice_html", "Pooled": "pooled_html", "DayComparison": "days_html",
    "Pilot": "pilot_html", "Rehearsal": "rehearsal_html", "TrimSheet": "trim_html",
}
"""Each kind of result and its function in `antexp.report.notebook`."""


def register_all() -> None:
    """Register every picture and page of the report room."""
    for kind, pictures in _PICTURES.items():
        for name, (home, has) in pictures.items():
            register_picture(kind, name, _picture(home), has)
    for name in _CHECKS:
        register_picture("Judgement", f"check-{name}", _check(name), _has_check(name))
    for kind, page in _PAGES.items():
        register_page(kind, _page(page))


def _picture(home: str) -> Callable[..., Any]:
    """Return a function that is loaded from ``module:name`` of this room when it is first called."""

    def draw(result: Any, axes: Any = None) -> Any:
        module, name = home.split(":")
        function = getattr(import_module(f"antexp.report.{module}"), name)
        return function(result, axes=axes)

    return draw


def _has_check(name: str) -> Has:
    """Tell whether a judgement asked this question of its residuals and still has what to draw."""
    return lambda judgement: any(check.name == name and len(check.data) for check in judgement.checks)


def _check(name: str) -> Callable[..., Any]:
    """Return a function that draws one question to the residuals."""

    def draw(judgement: Any, axes: Any = None) -> Any:
        from antexp.report.check_figures import check_figure

        return check_figure(next(check for check in judgement.checks if check.name == name), axes)

    return draw


def _page(name: str) -> Callable[[Any], str]:
    """Return a page that is loaded when it is first shown."""

    def show(result: Any) -> str:
        page: str = getattr(import_module("antexp.report.notebook"), name)(result)
        return page

    return show


register_all()
