"""`antexp repeats`: how many repeats a plan needs, or what its hours can do."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from antexp.cli.options import Json, PlanArgument
from antexp.cli.print_json import print_json
from antexp.cli.progress import progress_bar
from antexp.errors import Fault, RepeatsError

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from antexp.repeats.answer import Answer


def command(
    plan: PlanArgument,
    records: Annotated[int, typer.Option(metavar="N", help="Records of the rehearsal; 0 leaves it out.")] = 10_000,
    seed: Annotated[int, typer.Option(metavar="N", help="Of the rehearsal.")] = 1,
    all_days: Annotated[bool, typer.Option("--all-days", help="Rehearse every number of blocks.")] = False,
    trade_offs: Annotated[bool, typer.Option("--trade-offs", help="Spend the same hours in other ways.")] = False,
    pilot_df: Annotated[
        Optional[float],
        typer.Option(metavar="DF", help="Degrees of freedom of the pilot that measured rehang_sd_db.",
                     show_default=False),
    ] = None,
    output: Annotated[
        Optional[Path],
        typer.Option("--output", "-o", metavar="DIR", help="Folder for the pictures.", show_default=False),
    ] = None,
    workers: Annotated[int, typer.Option(metavar="N", help="Processes that share the rehearsal.")] = 1,
    cluster: Annotated[
        Optional[str],
        typer.Option(metavar="ADDRESS", help="Scheduler of a dask cluster that takes the rehearsal.",
                     show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """Say how many repeats are needed, and what your hours can do."""
    from antexp.plan.reader import read_plan
    from antexp.repeats.answer import how_many_repeats

    the_plan = read_plan(plan)
    pilot = None if pilot_df is None else {"rehang_sd_db": pilot_df}
    with _executor(workers, cluster) as executor, progress_bar(json, "weighing") as progress:
        answer = how_many_repeats(the_plan, records=records, seed=seed, pilot_df=pilot, rehearse_all=all_days,
                                  executor=executor, progress=progress)
    ways = None
    if trade_offs:
        from antexp.repeats.trade_offs import trade_offs as spend_otherwise

        ways = spend_otherwise(the_plan, answer.hours)
    written = [] if output is None else _write_pictures(answer, output)
    if json:
        _print_json(answer, ways)
        return
    from antexp.report.repeats_text import print_repeats

    print_repeats(answer, trade_offs=ways)
    for path in written:
        print(f"Wrote {path}.")


@contextmanager
def _executor(workers: int, cluster: str | None) -> Iterator[Executor | None]:
    """Return where the rehearsal runs: here, in processes, or on a cluster."""
    if workers < 1 or (workers > 1 and cluster is not None):
        got = f"--workers {workers}" + (f" --cluster {cluster}" if cluster else "")
        raise RepeatsError(Fault("where the rehearsal is to run is not clear", got=got,
                                 allowed="--workers of 1 or more, or --cluster alone"))
    if cluster is not None:
        from antexp.repeats.cluster import cluster_executor

        with cluster_executor(cluster) as executor:
            yield executor
    elif workers == 1:
        yield None
    else:
        import multiprocessing
        from concurrent.futures import ProcessPoolExecutor

        # a worker with threads of its own for linear algebra would fight the others for the same cores
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        os.environ.setdefault("OMP_NUM_THREADS", "1")
        with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as executor:
            yield executor


def _write_pictures(answer: Answer, folder: Path) -> list[Path]:
    """Write the pictures into a folder."""
    from antexp.files import write_folder
    from antexp.report.pictures import as_svg
    from antexp.report.repeats_figures import guess_figure, repeats_figure

    return [*write_folder(folder, {"repeats.svg": as_svg(repeats_figure(answer).axes[0]),
                                   "guesses.svg": as_svg(guess_figure(answer))})]


def _print_json(answer: Answer, ways: Any) -> None:
    """Print the JSON document."""
    document = answer.to_dict()
    if ways is not None:
        document["trade_offs"] = ways.to_dict(orient="records")
    print_json(document)
