"""Options and arguments that several subcommands share, so that they read the same everywhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Annotated, Optional

import typer

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
PlanArgument = Annotated[Path, typer.Argument(metavar="PLAN", help="Plan file (TOML).", show_default=False)]
PlanOption = Annotated[
    Optional[Path],
    typer.Option("--plan", metavar="PLAN", help="Plan file the record belongs to.", show_default=False),
]
OrderOption = Annotated[
    Optional[Path],
    typer.Option("--order", metavar="ORDER", help="Order file the record followed.", show_default=False),
]
Matter = Annotated[
    Optional[float],
    typer.Option("--matter", metavar="DB", help="Smallest gap that would change your choice.", show_default=False),
]
Confidence = Annotated[
    Optional[float],
    typer.Option("--confidence", metavar="P", help="Of all comparisons together, such as 0.95.", show_default=False),
]


def offered(words: Callable[[], Iterable[str]]) -> Callable[[str], list[str]]:
    """Return what the shell's completion asks for: those of some words that begin as what was typed."""
    def beginning(incomplete: str) -> list[str]:  # typer knows the argument by this name
        return [word for word in words() if word.startswith(incomplete)]

    return beginning


def comparisons() -> tuple[str, ...]:
    """Return what may be compared with what."""
    from antexp.plan.words import COMPARES

    return COMPARES


def drift_forms() -> tuple[str, ...]:
    """Return the forms of drift."""
    from antexp.plan.words import DRIFTS

    return DRIFTS


def sort_keys() -> tuple[str, ...]:
    """Return by what the table of what to buy may be sorted."""
    from antexp.report.choice_table import SORT_KEYS

    return SORT_KEYS
