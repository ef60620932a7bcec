"""What counts as honest (method section 8), and which cells are not."""

from __future__ import annotations

import numpy as np
import pandas as pd

NOMINAL, MOST, CONSERVATIVE, CHANCE_OFF = 0.05, 0.06, 0.04, 0.02


def over(rate: pd.Series, error: pd.Series) -> pd.Series:
    """Tell which rates are above 5 % by more than three Monte Carlo errors, or above 6 % at all."""
    return (rate - 3 * error > NOMINAL) | (rate > MOST)


def families(cells: pd.DataFrame) -> pd.DataFrame:
    """Return the cells of gaps to the reference and of all pairs."""
    return cells[cells["compare"] != "best"]


def faults(cells: pd.DataFrame) -> list[str]:
    """Say, cell by cell, where the criterion is not met."""
    found = []
    equal = cells["truth"] == "all equal"
    checks = (
        ("a gap is called real though all are equal", cells[equal], "alarm"),
        ("some interval misses its true gap", cells, "missed"),
        ("a wire that is the best is left out of those that could be", cells[cells["compare"] == "best"], "best_lost"),
    )
    for what, some, name in checks:
        for row in some[over(some[name], some[f"{name}_se"])].to_dict("records"):
            found.append(f"{row['design']}, scatter {row['scatter']:g}, {row['truth']}: {what} in "
                         f"{100 * row[name]:.1f} ± {100 * row[f'{name}_se']:.1f} %")
    off = (cells["noticed"] - cells["closed_form"]).abs() - 3 * cells["noticed_se"] > CHANCE_OFF
    for row in cells[off].to_dict("records"):
        found.append(f"{row['design']}, scatter {row['scatter']:g}: chance {100 * row['noticed']:.1f} %, closed form "
                     f"{100 * row['closed_form']:.1f} %")
    return found


def conservative(cells: pd.DataFrame) -> pd.DataFrame:
    """Return the cells of families whose false alarms with all gaps zero lie below 4 %."""
    some = families(cells)
    return some[(some["truth"] == "all equal") & (some["alarm"] < CONSERVATIVE)]


def by_design(cells: pd.DataFrame) -> pd.DataFrame:
    """Put the truths of a design side by side: columns ``(figure, truth)``, in the order of the grid."""
    wide = cells.pivot(index=["design", "scatter", "compare", "swaps", "matter_db"], columns="truth")
    order = cells.drop_duplicates(["design", "scatter"])[["design", "scatter", "compare", "swaps", "matter_db"]]
    return wide.reindex(pd.MultiIndex.from_frame(order))


def extremes(rates: pd.Series) -> tuple[float, float]:
    """Return the smallest and largest rate, in per cent."""
    return 100 * float(np.nanmin(rates)), 100 * float(np.nanmax(rates))
