"""How quick antexp is beside statsmodels and, where R is installed, lme4 with pbkrtest: ratios taken within one run.

Run ``OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.speed``; ``--write`` puts what was measured, with the picture of
growth, into docs/explanation/speed.md. Work inside a process is timed in processor time on one thread, whole processes
by the clock; each figure is the median of its repeats with the smallest and largest. Nothing is asserted: time depends
on the machine.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import statsmodels.api as sm

from antexp.design.order import make_order
from antexp.design.swap_model import swap_model
from antexp.mixed import fit_reml
from antexp.mixed.many_responses import many_responses
from antexp.plan.reader import plan_from_dict
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.rehearsal import rehearse, rehearsed_record
from antexp.repeats.what_if import Days
from tests.benchmarks import commands, mixed_kernel, rehearsal, swap_order
from tests.benchmarks.speed_growth import curves
from tests.benchmarks.speed_page import HAS_R, Line, growth_table, machine, table_of, write_page

DRAWS = 2_000  # orders that `make_order` draws for its threshold, at least
RECORDS = 10_000
LOOP = 10  # records that statsmodels is given
ANTEXP = ("-c", "from antexp.cli.main import run; run()")
FIT_FILE = """
import sys, warnings, pandas as pd, statsmodels.formula.api as smf
warnings.simplefilter("ignore")
table = pd.read_csv(sys.argv[1])
smf.mixedlm("level_db ~ candidate + C(block) + C(block):minutes", table, groups="swap").fit(reml=True)
"""


def one_record() -> Iterator[Line]:
    """Fit a day of 180 readings and judge eight gaps."""
    task = "one record of 180 readings, eight gaps"
    day = mixed_kernel.Day(1, 6, 10, 3)
    X, L = day.matrix, day.gaps
    ours = mixed_kernel.seconds(lambda: fit_reml(day.y, X, {"swap": day.code}).contrasts(L), 20)
    yield Line(task, "antexp: REML, Kenward–Roger", ours, ours)
    yield Line(task, "statsmodels: REML alone", mixed_kernel.seconds(mixed_kernel.by_statsmodels(day, X)), ours)
    from_r = mixed_kernel.by_r(day, mixed_kernel.REPEATS + 1, True)
    if from_r:
        yield Line(task, "lme4, pbkrtest: the same inference", from_r[0][1:], ours)


def million_readings() -> Iterator[Line]:
    """Fit a million readings in 1,000 swaps; the others three times."""
    task = "a million readings in 1,000 swaps, eight gaps"
    day = mixed_kernel.Day(2, 5, 200, 1_000_000)
    X, L = day.matrix, day.gaps
    ours = mixed_kernel.seconds(lambda: fit_reml(day.y, X, {"swap": day.code}).contrasts(L))
    yield Line(task, "antexp: REML, Kenward–Roger", ours, ours)
    others = [processor_time(mixed_kernel.by_statsmodels(day, X)) for _ in range(3)]
    yield Line(task, "statsmodels: REML alone", np.array(others), ours)
    from_r = mixed_kernel.by_r(day, 3, False)
    if from_r:
        yield Line(task, "lme4: REML alone", from_r[0], ours)


def many_records(singles: list[Line]) -> Iterator[Line]:
    """Draw, fit and judge 10,000 records of a day; the others by their time for one record."""
    task = f"{RECORDS:,} records of 180 readings"
    day = mixed_kernel.Day(1, 6, 10, 3)
    X, L = day.matrix, day.gaps
    ours = mixed_kernel.seconds(lambda: many_responses(day.records(RECORDS), X, {"swap": day.code}, L))
    yield Line(task, "antexp: drawn, fitted, judged", ours, ours)
    for single in singles:
        yield Line(task, f"{single.who}, {RECORDS:,} times the above", RECORDS * single.seconds, ours)


def closed_form() -> Iterator[Line]:
    """Work out the chance of a day; others would simulate 10,000 records of it and fit them."""
    task = "the chance of a day of 50 swaps, eight gaps"
    plan = rehearsal.plan_of(9, blocks=5)
    order = make_order(plan)
    gaps = {name: 1.0 for name in plan.others}

    def chance() -> object:
        days = Days(plan)
        return days.chances(days.modelled(order.table), spreads_of(plan))

    ours = mixed_kernel.seconds(chance, 10)
    yield Line(task, "antexp: closed form", ours, ours)
    rehearsed = mixed_kernel.seconds(lambda: rehearse(plan, order, gaps, records=RECORDS))
    yield Line(task, f"antexp: {RECORDS:,} records rehearsed and judged", rehearsed, ours)
    records = [rehearsed_record(plan, order, gaps, record=number) for number in range(LOOP)]
    first = records[0]
    X = swap_model(first["candidate"], first["block"], first["minutes"], reference=plan.reference,
                   swap=first["swap"]).X
    loop = [mixed_kernel.seconds(statsmodels_fit(record, X), 1)[0] for record in records]
    yield Line(task, f"statsmodels: {RECORDS:,} times one record, REML alone", RECORDS * np.array(loop), ours)


def statsmodels_fit(record: pd.DataFrame, X: np.ndarray) -> Callable[[], object]:
    """Return a run of MixedLM on a record."""
    def run() -> object:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return sm.MixedLM(record["level_db"].to_numpy(), X, groups=record["swap"].to_numpy()).fit(reml=True)

    return run


def order_search() -> Iterator[Line]:
    """Make orders; beside them the errors of 2,000 drawn orders by least squares one at a time."""
    for name in ("10 candidates, 6 complete blocks", "30 candidates, 20 incomplete blocks of 12"):
        case = swap_order.CASES[name]
        plan = plan_from_dict({"candidates": [f"wire {i}" for i in range(case["count"] + 1)],
                               "question": {"matter_db": 1.0}, "field": case["field"]})
        table = make_order(plan, seed=99).table
        task = f"an order: {name}"
        ours = mixed_kernel.seconds(lambda plan=plan: make_order(plan), 3)
        yield Line(task, "antexp: the whole search", ours, ours)
        model = swap_model(table["candidate"], table["block"], table["minutes"], reference=plan.reference)
        level = np.random.default_rng(1).standard_normal(len(table))

        def errors(level: np.ndarray = level, X: np.ndarray = model.X) -> None:
            for _ in range(40):
                sm.OLS(level, X).fit().cov_params()

        yield Line(task, f"statsmodels: errors of {DRAWS:,} orders by least squares, {DRAWS:,} times one",
                   DRAWS / 40 * mixed_kernel.seconds(errors), ours)


def start_up() -> Iterator[Line]:
    """Start."""
    task = "start-up"
    ours = clock(commands.python(*ANTEXP, "--help"))
    yield Line(task, "antexp --help", ours, ours)
    yield Line(task, "import statsmodels.api", clock(commands.python("-c", "import statsmodels.api")), ours)
    if HAS_R:
        load = ["Rscript", "-e", "suppressPackageStartupMessages({library(lme4); library(pbkrtest)})"]
        yield Line(task, "load lme4, pbkrtest in R", clock(program(load)), ours)


def whole_commands() -> Iterator[Line]:
    """Run whole commands on a file of 180 readings, each in a fresh process."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "readings.csv"
        commands.record().to_csv(path, index=False)
        judge = ["judge", str(path), "--matter", "1"]
        ours = clock(commands.python(*ANTEXP, *judge))
        task = "a file of 180 readings judged, a fresh process"
        yield Line(task, "antexp judge", ours, ours)
        yield Line(task, "statsmodels: REML alone", clock(commands.python("-c", FIT_FILE, str(path))), ours)
        if HAS_R:
            mixed_kernel.Day(1, 6, 10, 3).write(Path(name))
            words = ["Rscript", str(mixed_kernel.HERE / "mixed_kernel.R"), name, "1", "yes"]
            yield Line(task, "lme4, pbkrtest: the same inference", clock(program(words)), ours)
        report = clock(commands.python(*ANTEXP, *judge, "-o", name), 5)
        yield Line(task, "antexp judge -o: with report, pictures, second opinions", report, ours)
        demo = clock(commands.python(*ANTEXP, "demo", str(Path(name) / "demo")), 3)
        yield Line("antexp demo: from a plan to a report and a choice", "antexp", demo, demo)


def clock(action: Callable[[], object], repeats: int = commands.REPEATS) -> np.ndarray:
    """Time whole processes by the clock."""
    return np.array(commands.seconds(action, repeats))


def program(words: list[str]) -> Callable[[], object]:
    """Return an action that runs a program."""
    return lambda: subprocess.run(words, check=True, capture_output=True)


def processor_time(action: Callable[[], object]) -> float:
    """Return the processor time of one run."""
    start = time.process_time()
    action()
    return time.process_time() - start


def main() -> None:
    """Measure, print, and write where asked."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="put the figures into docs/explanation/speed.md")
    asked = parser.parse_args()
    before = os.getloadavg()[0]
    lines = list(one_record())
    singles = lines[1:]
    for part in (million_readings(), many_records(singles), closed_form(), order_search(), start_up(),
                 whole_commands()):
        for line in part:
            lines.append(line)
            print(*line.cells, sep=" | ", file=sys.stderr, flush=True)
    grown = curves()
    conditions = (f"{machine()}. Load of the machine {before:.1f} processes when the run began and "
                  f"{os.getloadavg()[0]:.1f} when it ended, this one among them.")
    print(f"{conditions}\n\n{table_of(lines)}\n{growth_table(grown)}")
    if asked.write:
        write_page(conditions, lines, grown)


if __name__ == "__main__":
    main()
