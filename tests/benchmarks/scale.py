"""A campaign of a thousand sites on one machine: `python -m tests.benchmarks.scale [PART …]`.

`pool` puts 1,000 results files together; `limits` counts, over many campaigns of few and many sites with known truth,
how often the pooled limits of all gaps hold it, `many` the same for 1,000 sites; `logs` cuts 100,000,000 samples in ten
files into readings; `cluster` runs a rehearsal on a dask cluster of one and of two local workers. Each part runs in a
process of its own, so that one's memory is not another's. The figures stand in docs/explanation/scale.md. Times depend
on the machine: nothing is asserted about them here.
"""

from __future__ import annotations

import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # workers share the cores among themselves

import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

BASES, SITES = 60, 1_000
CAMPAIGNS = {3: 2_000, 5: 2_000, 10: 2_000, 100: 1_000}
"""How many campaigns of so many sites."""
LOG_FILES, LOG_ROWS = 10, 10_000_000
LOG_ROW_BYTES = 31
RECORDS, ROUNDS = 400_000, 4
PARTS = ("pool", "limits", "many", "logs", "cluster")


def pool_part() -> None:
    """Pool a thousand results files."""
    import numpy as np

    from antexp.analysis.pool import pool
    from tests.benchmarks.invented_sites import SITE_SD_DB, judged_bases, write_sites

    bases, seconds = timed(lambda: judged_bases(BASES))
    print(f"{BASES} records simulated and judged: {seconds:.1f} s; varied to {SITES:,} sites")
    with tempfile.TemporaryDirectory() as name:
        folders = write_sites(bases, SITES, 1, Path(name))
        size = sum((folder / "results.json").stat().st_size for folder in folders)
        for count in (10, 100, SITES):
            before = peak_mb()
            pooled, seconds = timed(lambda count=count: pool(folders[:count]))
            print(f"pool of {count:,} folders: {seconds:.2f} s, peak memory {peak_mb():.0f} MB "
                  f"({peak_mb() - before:.0f} MB more), {len(pooled.gaps)} gaps")
        print(f"the {SITES:,} results files: {size / 1e6:.1f} MB")
        command(folders)
    print(f"between sites: true sd {np.sqrt(2) * SITE_SD_DB:.3f} dB, "
          f"found {', '.join(f'{value:.3f}' for value in pooled.gaps['between_sd_db'])}")


def command(folders: list[Path]) -> None:
    """Run the whole command, with its picture."""
    together = folders[0].parent / "together"
    words = [sys.executable, "-c", "from antexp.cli.main import run; run()", "pool", *map(str, folders), "-o",
             str(together)]
    done, seconds = timed(lambda: subprocess.run(words, capture_output=True, text=True, check=False))
    print(f"antexp pool with {len(folders):,} folders and a picture: {seconds:.1f} s, exit status {done.returncode}")
    if done.returncode:
        print(done.stderr[-400:])
    else:
        sizes = (f"{path.name} {path.stat().st_size / 1e6:.2f} MB" for path in sorted(together.iterdir()))
        print("  " + ", ".join(sizes))


def limits_part() -> None:
    """Count over many campaigns whether the pooled limits hold the truth."""
    import numpy as np

    from tests.benchmarks.invented_sites import SITE_SD_DB, judged_bases

    print("| days | gap between sites, SD dB | sites | campaigns | all limits hold, % | each, % |\n" + "|---" * 6 + "|")
    for blocks in ((4,), (2, 4, 8)):
        bases = judged_bases(BASES, blocks)
        for site_sd_db in (SITE_SD_DB, 1.5):
            for sites, campaigns in CAMPAIGNS.items():
                held = np.array(held_in(bases, sites, campaigns, site_sd_db))
                together = held.all(axis=1).mean()
                error = (together * (1 - together) / campaigns) ** 0.5
                print(f"| of {' or '.join(map(str, blocks))} blocks | {np.sqrt(2) * site_sd_db:.2f} | {sites} | "
                      f"{campaigns:,} | {100 * together:.1f} ± {100 * error:.1f} | {100 * held.mean():.1f} |",
                      flush=True)


def many_part() -> None:
    """Count over 1,000 campaigns of 1,000 sites whether the pooled limits hold the truth."""
    import numpy as np

    from tests.benchmarks.invented_sites import SITE_SD_DB, judged_bases

    held = np.array(held_in(judged_bases(BASES), SITES, 1_000, SITE_SD_DB, mixed=False, seed=50_000))
    together = held.all(axis=1).mean()
    error = (together * (1 - together) / len(held)) ** 0.5
    print(f"{len(held):,} campaigns of {SITES:,} sites: all limits hold in {100 * together:.1f} ± {100 * error:.1f} %, "
          f"each in {100 * held.mean():.1f} %")


def held_in(bases: list, sites: int, campaigns: int, site_sd_db: float, mixed: bool = True,
            seed: int = 10_000) -> list[list[bool]]:
    """Return of each campaign, whose sites vary the bases (mixed: drawn anew), which gaps' limits hold the truth."""
    import numpy as np

    from antexp.analysis.pool import pool
    from tests.benchmarks.invented_sites import TRUTH_DB, covered, varied_sites

    random = np.random.default_rng([sites, len(bases), round(100 * site_sd_db)])
    found = []
    for number in range(campaigns):
        drawn = [bases[place] for place in random.permutation(len(bases))] if mixed else bases
        found.append(covered(pool(varied_sites(drawn, sites, seed + number, site_sd_db)), TRUTH_DB))
    return found


def logs_part() -> None:
    """Cut a hundred million samples into readings and print the peak of memory on the way."""
    rows = LOG_ROWS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        # twice what is written, and some for everybody else on the machine
        if shutil.disk_usage(folder).free < 2 * LOG_FILES * rows * LOG_ROW_BYTES + 5e9:
            rows = LOG_ROWS // 5
            print("too little free disk for all: a fifth of the rows")
        _, seconds = timed(lambda: make_logs(folder, rows))
        size = sum(path.stat().st_size for path in folder.iterdir())
        print(f"{LOG_FILES} logs of {rows:,} rows and a short one written: {size / 1e9:.2f} GB, {seconds:.0f} s")
        cut_logs(folder, rows)


def make_logs(folder: Path, rows: int) -> None:
    """Write the logs in a process of their own: its memory is not the cutting's."""
    words = [sys.executable, "-m", "tests.benchmarks.invented_logs"]
    subprocess.run([*words, str(folder / "short.csv"), str(rows // 10), "0"], check=True)
    for number in range(LOG_FILES):
        subprocess.run([*words, str(folder / f"{number}.csv"), str(rows), str(number + 1)], check=True)


def cut_logs(folder: Path, rows: int) -> None:
    """Cut one log after another, hold each reading against the level it was made with, and print."""
    from antexp.field.level_log import cut_log
    from tests.benchmarks.invented_logs import parts_of, worst_error_db

    print(f"peak memory before the first log: {peak_mb():.0f} MB")
    total = 0.0
    jobs = [("short", rows // 10, 0), *((str(number), rows, number + 1) for number in range(LOG_FILES))]
    for name, some, seed in jobs:
        parts = parts_of(some)
        found, seconds = timed(lambda name=name, parts=parts: cut_log(folder / f"{name}.csv", parts))
        total += seconds if name != "short" else 0.0
        print(f"log {name}: {some:,} rows, {len(found)} readings, {seconds:.1f} s, peak memory {peak_mb():.0f} MB, "
              f"furthest from the truth {worst_error_db(found, seed):.4f} dB")
    print(f"{LOG_FILES * rows:,} rows: {total:.0f} s, {LOG_FILES * rows / total / 1e6:.2f} million rows a second")


def cluster_part() -> None:
    """Rehearse on one and on two workers in turn, and print ratios of times of the same round."""
    import pandas as pd
    from distributed import LocalCluster

    from antexp.design.order import make_order
    from antexp.plan.reader import plan_from_dict
    from antexp.repeats.cluster import cluster_executor
    from antexp.repeats.rehearsal import rehearse

    plan = plan_from_dict({"candidates": [f"wire {i}" for i in range(9)], "matter_db": 1.0,
                           "meter": "spectrum analyser", "field": {"blocks": 12}})
    order, gaps = make_order(plan), {"wire 3": 1.0}
    alone, seconds = timed(lambda: rehearse(plan, order, gaps, records=RECORDS))
    print(f"{RECORDS:,} records of {len(order.table)} swaps in this process: {seconds:.1f} s")
    for number in range(ROUNDS):
        took = {}
        for workers in (1, 2) if number % 2 == 0 else (2, 1):
            with LocalCluster(n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None,
                              scheduler_port=0) as cluster, cluster_executor(cluster.scheduler_address) as executor:
                rehearse(plan, order, gaps, records=20_000, executor=executor)  # workers import antexp
                found, took[workers] = timed(
                    lambda executor=executor: rehearse(plan, order, gaps, records=RECORDS, executor=executor))
            pd.testing.assert_frame_equal(alone.table, found.table, check_exact=True)
        print(f"round {number + 1}: one worker {took[1]:.1f} s, two {took[2]:.1f} s, ratio {took[1] / took[2]:.2f}; "
              f"results identical to those of one process; load of the machine {os.getloadavg()[0]:.1f}")


def timed(action: Callable):
    """Return what an action gives and the seconds it took."""
    start = time.perf_counter()
    found = action()
    return found, time.perf_counter() - start


def peak_mb() -> float:
    """Return the most memory this process has held since it began (Linux: VmHWM, which a parent does not raise)."""
    lines = Path("/proc/self/status").read_text("utf-8").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024


if __name__ == "__main__":
    if sys.argv[1:2] == ["--part"]:
        globals()[f"{sys.argv[2]}_part"]()
    else:
        for part in sys.argv[1:] or PARTS:
            print(f"## {part}", flush=True)
            root = Path(__file__).parents[2]
            subprocess.run([sys.executable, "-m", "tests.benchmarks.scale", "--part", part], cwd=root, check=True)
