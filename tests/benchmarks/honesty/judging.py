"""What counts as honest (method section 8), and which cells are not."""

from __future__ import annotations

import numpy as np
import pandas as pd

from tests.benchmarks.honesty.grid import EQUAL

NOMINAL, MOST, CONSERVATIVE, CHANCE_OFF = 0.05, 0.06, 0.04, 0.02


def over(rate: pd.Series, error: pd.Series) -> pd.Series:
    """Tell which rates are above 5 % by more than three Monte Carlo errors, or above 6 % at all."""
    return (rate - 3 * error > NOMINAL) | (rate > MOST)


def families(cells: pd.DataFrame) -> pd.DataFrame:
    """Return the cells of gaps to the reference and of all pairs."""
    return cells[cells["compare"] != "best"]


CHECKS = (
    ("missed", "some interval misses its true gap"),
    ("alarm", "a gap is called real that is none"),
    ("wrong", "some verdict says what is not so"),
    ("best_lost", "a wire that is the best is off the list"),
)


def faults(cells: pd.DataFrame) -> list[str]:
    """Say, cell by cell, where the criterion is not met."""
    beyond = pd.DataFrame({name: over(cells[name], cells[f"{name}_se"]) for name, _ in CHECKS})
    off = (cells["noticed"] - cells["closed_form"]).abs() - 3 * cells["noticed_se"] > CHANCE_OFF
    found = []
    for row, bad, chance in zip(cells.to_dict("records"), beyond.to_dict("records"), off, strict=True):
        rates = {f"{100 * row[name]:.1f} ± {100 * row[f'{name}_se']:.1f} %": what
                 for name, what in reversed(CHECKS) if bad[name]}  # one rate is said once, by its widest name
        said = [f"{what} in {rate}" for rate, what in reversed(rates.items())]
        if chance:
            said.append(f"chance {100 * row['noticed']:.1f} %, closed form {100 * row['closed_form']:.1f} %")
        if said:
            found.append(f"{row['design']}, scatter {row['scatter']:g}, {row['truth']}: {'; '.join(said)}")
    return found


def conservative(cells: pd.DataFrame) -> pd.DataFrame:
    """Return the cells whose false alarms with all gaps zero lie below 4 %."""
    return cells[(cells["truth"] == EQUAL) & (cells["alarm"] < CONSERVATIVE)]


def by_design(cells: pd.DataFrame) -> pd.DataFrame:
    """Put the truths of a design side by side: columns ``(figure, truth)``, in the order of the grid."""
    wide = cells.pivot(index=["design", "scatter", "compare", "swaps", "matter_db"], columns="truth")
    order = cells.drop_duplicates(["design", "scatter"])[["design", "scatter", "compare", "swaps", "matter_db"]]
    return wide.reindex(pd.MultiIndex.from_frame(order))


def extremes(rates: pd.Series) -> tuple[float, float]:
    """Return the smallest and largest rate, in per cent."""
    return 100 * float(np.nanmin(rates)), 100 * float(np.nanmax(rates))
