"""The table on the terminal, and the page docs/explanation/honesty.md with its picture."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from tests.benchmarks.honesty.figure import picture
from tests.benchmarks.honesty.grid import EQUAL, MATTER, SMALL, TWO_BEST
from tests.benchmarks.honesty.judging import by_design, conservative, extremes, families, faults

DOCS = Path(__file__).parents[3] / "docs"
PAGE, PICTURE = DOCS / "explanation" / "honesty.md", DOCS / "pictures" / "honesty.png"

FAMILY_HEAD = (
    "design", "scatter", "swaps", "records", "false alarms", "misses, small gaps", "misses, gaps that matter",
    "wrong verdicts, gaps that matter", "chance, measured", "chance, closed form", "wrong sign", "z, a gap",
    "z, any gap",
)
BEST_HEAD = (
    "design", "scatter", "swaps", "records", "false alarms", "wrong verdicts, gaps that matter",
    "wrong verdicts, two best", "a best wire off the list", "any best wire off the list", "misses, small gaps",
    "misses, gaps that matter", "chance, measured", "chance, closed form", "z, any gap",
)


def table_of(cells: pd.DataFrame) -> str:
    """Return the tables of the page as text."""
    parts = []
    some = families(cells)
    if len(some):
        parts.append(markdown(FAMILY_HEAD, [family_row(row) for _, row in by_design(some).iterrows()]))
    best = cells[cells["compare"] == "best"]
    if len(best):
        parts.append(markdown(BEST_HEAD, [best_row(row) for _, row in by_design(best).iterrows()]))
    return "\n\n".join(parts) + "\n"


def verdict_on(cells: pd.DataFrame) -> str:
    """Say where the criterion is not met, and which cells are conservative."""
    found = faults(cells)
    lines = [f"Beyond the criterion: {len(found)}", *(f"  {fault}" for fault in found)]
    few = conservative(cells)
    lines += [f"Conservative: {len(few)}", *(f"  {line}" for line in cost_lines(few))]
    return "\n".join(lines)


def write_page(cells: pd.DataFrame) -> None:
    """Write the page and its picture."""
    PICTURE.write_bytes(picture(cells))
    PAGE.write_text(page(cells), encoding="utf-8")
    print(f"written: {PAGE.name}, {PICTURE.name}")


def markdown(head: tuple[str, ...], rows: list[list[str]]) -> str:
    """Return a table."""
    lines = ["| " + " | ".join(head) + " |", "|---|" + "---:|" * (len(head) - 1)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


def percent(value: float) -> str:
    """Return a share in per cent; a dash where there is none."""
    return "–" if pd.isna(value) else f"{100 * value:.1f}"


def shares(row: pd.Series, *which: tuple[str, str]) -> list[str]:
    """Return some figures of a design."""
    return [percent(row[name]) for name in which]


def family_row(row: pd.Series) -> list[str]:
    """Return one line of the first table."""
    return [*which(row), *shares(
        row, ("alarm", EQUAL), ("missed", SMALL), ("missed", MATTER), ("wrong", MATTER), ("noticed", MATTER),
        ("closed_form", MATTER), ("wrong_sign", SMALL), ("z_gap", EQUAL), ("z_any", EQUAL))]


def best_row(row: pd.Series) -> list[str]:
    """Return one line of the second table."""
    return [*which(row), *shares(
        row, ("alarm", EQUAL), ("wrong", MATTER), ("wrong", TWO_BEST), ("best_lost", EQUAL), ("some_best_lost", EQUAL),
        ("missed", SMALL), ("missed", MATTER), ("noticed", MATTER), ("closed_form", MATTER), ("z_any", EQUAL))]


def which(row: pd.Series) -> list[str]:
    """Say which design it is, and with how many records under each truth."""
    design, scatter, _, swaps, _ = row.name
    return [design, f"{scatter:g}", str(swaps), f"{int(row['records', EQUAL]):,}"]


def cost_lines(few: pd.DataFrame) -> list[str]:
    """Say what each conservative cell costs in width."""
    lines = []
    for row in few.to_dict("records"):
        cost = (f"limits {100 * row['could_shrink']:.0f} % narrower would have missed in 5 %"
                if pd.notna(row["could_shrink"]) else "cost in width not measured")
        lines.append(f"{row['design']}, scatter {row['scatter']:g}: {100 * row['alarm']:.1f} ± "
                     f"{100 * row['alarm_se']:.1f} %; {cost}")
    return lines


def page(cells: pd.DataFrame) -> str:
    """Return the page."""
    some, best = families(cells), cells[cells["compare"] == "best"]
    equal = some[some["truth"] == EQUAL]
    several = some["design"].str.contains("specimens")
    even = equal[equal["lost"] == "second references"]
    designs = len(cells.drop_duplicates(["design", "scatter"]))
    first, second = table_of(some), table_of(best)
    found, few = faults(cells), cost_lines(conservative(cells))
    off = 100 * (cells["noticed"] - cells["closed_form"]).abs().max()
    values = {
        "designs": designs, "cells": len(cells), "total": f"{cells['records'].sum():,}",
        "records": f"{cells['records'].min():,}", "error": percent_error(cells["records"].min()),
        "alarms": between(equal["alarm"]), "alarms_one": between(equal.loc[~several, "alarm"]),
        "missed_one": between(some.loc[~several, "missed"]),
        "specimens": about_specimens(found, even),
        "wrong_any": between(cells["wrong"]),
        "best_alarms": between(best.loc[best["truth"] == EQUAL, "alarm"]), "missed": between(some["missed"]),
        "off": f"{off:.1f}",
        "wrong": between(some.loc[some["truth"] == SMALL, "wrong_sign"]),
        "wrong_matter": f"{100 * some.loc[some['truth'] == MATTER, 'wrong_sign'].max():.2f}",
        "z_gap": between(equal["z_gap"]), "z_any": between(equal["z_any"]),
        "lost": between(best["best_lost"]), "some_lost": between(best.loc[best["truth"] == EQUAL, "some_best_lost"]),
        "best_missed": between(best["missed"]),
        "none": f"{100 * cells['no_interval'].max():.2f}",
        "faults": bullets(found, "No cell is beyond the criterion."),
        "conservative": bullets(few, "No cell lies below 4 %."), "first": first, "second": second,
    }
    return TEXT.format(**values)


def about_specimens(found: list[str], even: pd.DataFrame) -> str:
    """Say why days of two specimens a wire are beyond the criterion, where they are."""
    if not any("specimens" in fault for fault in found):
        return ""
    tried = ", ".join(f"{scatter:g}" for scatter in even["scatter"])
    return SPECIMENS.format(even=between(even["alarm"]), tried=tried)


def percent_error(records: int) -> str:
    """Return the Monte Carlo error of a rate of 5 %, in points."""
    return f"{100 * (0.05 * 0.95 / records) ** 0.5:.2f}"


def between(rates: pd.Series) -> str:
    """Return the range of some rates in per cent."""
    low, high = extremes(rates)
    return f"{low:.1f} to {high:.1f} %"


def bullets(lines: list[str], nothing: str) -> str:
    """Return lines as a list."""
    return "\n".join(f"- {line}" for line in lines) if lines else nothing


TEXT = Path(__file__).with_name("page.md.txt").read_text(encoding="utf-8")
SPECIMENS = Path(__file__).with_name("specimens.md.txt").read_text(encoding="utf-8")
