"""How many repeats: speed, and the closed form held against the rehearsal over a grid of designs.

Run ``python tests/benchmarks/rehearsal.py`` for both, or with ``speed`` or ``grid`` for one of them. ``grid`` also
draws docs/pictures/closed-form-and-rehearsal.svg; the figures it prints stand in docs/explanation/how-many-repeats.md.
Wall-clock time depends on the machine: nothing is asserted about it here.
"""

from __future__ import annotations

import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the processes below share the cores among themselves

import multiprocessing
import resource
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pandas as pd

from antexp.design.order import make_order
from antexp.plan.model import Plan
from antexp.plan.reader import plan_from_dict
from antexp.repeats.answer import how_many_repeats
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.rehearsal import rehearse, rehearsed_record
from antexp.repeats.rehearsed_chance import rehearsed_chance
from antexp.repeats.what_if import Days

PICTURE = Path(__file__).parents[2] / "docs" / "pictures" / "closed-form-and-rehearsal.svg"
METER = {"scale": "dBm", "step_db": 0.1, "reading_sd_db": 0.25, "readings": 3}
LOOP_RECORDS = 20


def plan_of(names: int | list, matter_db: float = 1.0, compare: str = "reference", **field) -> Plan:
    """Return a plan of invented wires."""
    candidates = [f"wire {i}" for i in range(names)] if isinstance(names, int) else names
    return plan_from_dict({"candidates": candidates, "question": {"matter_db": matter_db, "compare": compare},
                           "meter": METER, "field": field})


def speed() -> None:
    """Print the times of the default answer and of a million records, with the ratio to a loop over statsmodels."""
    five_lines = plan_from_dict({"candidates": [f"wire {i}" for i in range(4)], "frequency_mhz": 14.2, "hours": 5,
                                 "matter_db": 1, "meter": "spectrum analyser"})
    times = [timed(lambda: how_many_repeats(five_lines)) for _ in range(5)]
    print(f"default answer (1 to 12 blocks, 10,000 records rehearsed): median {np.median(times):.2f} s, "
          f"from {min(times):.2f} to {max(times):.2f} s")
    plan = plan_of(9, blocks=5)
    order = make_order(plan)
    gaps = {name: 1.0 for name in plan.others}
    print(f"a day of {len(order.table)} swaps and {3 * len(order.table)} readings, {len(gaps)} gaps:")
    one = timed(lambda: rehearse(plan, order, gaps, records=100_000))
    print(f"  100,000 records in one process: {one:.1f} s, {1e6 * one / 100_000:.0f} µs a record, "
          f"memory at its highest {peak_mb():.0f} MB")
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        rehearse(plan, order, gaps, records=100, executor=executor)  # start the workers
        two = timed(lambda: rehearse(plan, order, gaps, records=1_000_000, executor=executor))
    print(f"  1,000,000 records in two processes: {two:.1f} s, memory of this one at its highest {peak_mb():.0f} MB, "
          f"of the largest worker {peak_mb(resource.RUSAGE_CHILDREN):.0f} MB")
    loop = statsmodels_loop(plan, order, gaps)
    print(f"  a loop over statsmodels MixedLM (fit alone): {1e3 * loop:.0f} ms a record, "
          f"{loop / (one / 100_000):.0f} times as long as a record fitted, judged and counted here")


def statsmodels_loop(plan: Plan, order, gaps: dict[str, float]) -> float:
    """Return the seconds that statsmodels takes to fit one record of the same model."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    from antexp.design.swap_model import swap_model

    records = [rehearsed_record(plan, order, gaps, record=i) for i in range(LOOP_RECORDS)]
    first = records[0]
    X = swap_model(first["candidate"], first["block"], first["minutes"], reference=plan.reference, drift="steady",
                   swap=first["swap"]).X

    def fit_all() -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for record in records:
                MixedLM(record["level_db"].to_numpy(), X, groups=record["swap"].to_numpy()).fit(reml=True)

    return timed(fit_all) / LOOP_RECORDS


GRID: dict[str, Plan] = {
    "2 wires, 3 blocks of 4": plan_of(2, 1.0, blocks=3, block_minutes=28),
    "2 wires, 3 blocks of 8": plan_of(2, 0.8, blocks=3),
    "2 wires, 8 blocks of 8": plan_of(2, 0.4, blocks=8),
    "3 wires, 3 blocks": plan_of(3, 1.0, blocks=3),
    "4 wires, 2 blocks, no drift": plan_of(4, 1.2, blocks=2, drift="none"),
    "4 wires, 4 blocks": plan_of(4, 0.8, blocks=4),
    "4 wires, 4 blocks, parabola": plan_of(4, 1.0, blocks=4, drift="curved"),
    "4 wires, 12 blocks": plan_of(4, 0.45, blocks=12),
    "4 wires, hangings at 0.05 dB": plan_of(4, 0.35, blocks=4, rehang_sd_db=0.05),
    "4 wires, hangings at 1 dB": plan_of(4, 1.5, blocks=6, rehang_sd_db=1.0),
    "4 wires, drift 3 dB/h left out": plan_of(4, 1.2, blocks=5, drift="none", drift_db_per_hour=3.0),
    "4 wires, wander 0.5, lines": plan_of(4, 0.8, blocks=5, wander_db_per_sqrt_hour=0.5),
    "4 wires, wander 0.5, walk fitted": plan_of(4, 0.9, blocks=5, wander_db_per_sqrt_hour=0.5, drift="wandering"),
    "5 wires, all pairs": plan_of(5, 1.0, "each-other", blocks=5),
    "5 wires, the best": plan_of(5, 0.8, "best", blocks=5),
    "5 wires, 2 specimens of each": plan_of([{"name": f"wire {i}", "specimens": 2} for i in range(5)], 0.9, blocks=6),
    "5 wires, specimens at 0.5 dB": plan_of([{"name": f"wire {i}", "specimens": 2} for i in range(5)], 2.0, blocks=6,
                                            specimen_sd_db=0.5),
    "8 wires, blocks of 6": plan_of(8, 1.0, blocks=10, block_minutes=42),
    "10 wires, 5 blocks": plan_of(10, 1.0, blocks=5),
    "12 wires, 12 blocks": plan_of(12, 0.6, blocks=12),
}


def grid(records: int = 20_000) -> pd.DataFrame:
    """Hold the closed form against the rehearsal, print the table and draw the picture."""
    rows = []
    for name, plan in GRID.items():
        order = make_order(plan)
        days = Days(plan)
        day = days.modelled(order.table)
        chances = days.chances(day, spreads_of(plan), joint=True)
        found = rehearsed_chance(plan, day, chances, records=records, seed=11)
        rows.append({"design": name, "swaps": day.swaps, "closed form": chances.chance, "rehearsed": found.chance,
                     "error": found.chance_se, "largest difference": found.largest_difference,
                     "missed": found.any_missed})
    table = pd.DataFrame(rows)
    print(f"Closed form against {records:,} rehearsed records (per cent; error: Monte Carlo):\n")
    print("| design | swaps | closed form | rehearsed | error | largest difference of a gap | an interval misses |")
    print("|---|---|---|---|---|---|---|")
    for row in rows:
        numbers = (row["closed form"], row["rehearsed"], row["error"], row["largest difference"], row["missed"])
        print(f"| {row['design']} | {row['swaps']} | " + " | ".join(f"{100 * value:.1f}" for value in numbers) + " |")
    draw(table)
    return table


def draw(table: pd.DataFrame) -> None:
    """Draw the differences of closed form and rehearsal: bars of three Monte Carlo errors, two points in grey."""
    from antexp.report.pictures import as_svg
    from antexp.report.style import INK, MATTER, PATH, house_style, new_axes

    rows = table.iloc[::-1].reset_index(drop=True)
    with house_style():
        axes = new_axes(8.2, 1.2 + 0.3 * len(rows))
        axes.axvspan(-2, 2, color="#e4e8ec", zorder=0)
        axes.axvline(0, color=INK, linewidth=1.2)
        difference = 100 * (rows["closed form"] - rows["rehearsed"])
        axes.errorbar(difference, rows.index, xerr=300 * rows["error"], fmt="o", color=PATH, capsize=3)
        axes.set_yticks(rows.index, [f"{row.design} ({100 * row.rehearsed:.0f} %)" for row in rows.itertuples()])
        axes.grid(axis="y", visible=False)
        reach = max(3.0, 1.2 * float(np.abs(difference).max()))
        axes.set_xlim(-reach, reach)
        axes.set_xlabel("closed form less rehearsed chance, points")
        axes.axvline(-2, color=MATTER, linewidth=0.8)
        axes.axvline(2, color=MATTER, linewidth=0.8)
    PICTURE.write_text(as_svg(axes), encoding="utf-8")
    print(f"\ndrawn: {PICTURE.name}")


def timed(action) -> float:
    """Return how long an action takes."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def peak_mb(who: int = resource.RUSAGE_SELF) -> float:
    """Return the most memory a process has held so far."""
    return resource.getrusage(who).ru_maxrss / 1024


if __name__ == "__main__":
    asked = sys.argv[1:] or ["speed", "grid"]
    if "speed" in asked:
        speed()
    if "grid" in asked:
        grid()
