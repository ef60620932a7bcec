"""Break kernel and verdicts on purpose, one small change after another, and count what the tests notice.

Run by hand: ``python tests/benchmarks/mutation.py`` (all modules named in `KERNEL`, `VERDICTS` and `PROMISES`), with
module names for some of them (``intervals`` is ``antexp/mixed/intervals.py``, ``analysis/best`` is
``antexp/analysis/best.py``), ``--most N`` for a fixed-seed draw of N changes a module, ``--all`` for every change,
``--tests FILE …`` to hold changes against the tests of these files alone. It prints a line a module and every change
that no test noticed. Nothing is written to disk: each change lives in a forked process.

A change swaps an operator or a comparison, drops a sign or a ``not``, or moves a number. Each is tried against the
tests of its room (`TESTS`) that run through its line, quickest first: `QUICK_S` seconds of them, and `SLOW_S` more
where those notice nothing, the other tests of the same files last (they may look at what a shared fixture computed).
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import resource
import signal
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

TREE = Path(__file__).parents[2]
sys.path[:0] = [str(TREE), str(Path(__file__).parent)]

KERNEL = [
    "verdict", "kenward_roger", "error_line", "intervals", "multivariate_t", "multivariate_t_many", "family_tail",
    "chance", "spending", "between_sites", "best", "contrasts", "reml", "restricted_likelihood", "fixed_part",
    "many_contrasts", "flat_limits", "planned",
]  # fmt: skip
VERDICTS = [f"analysis/{name}" for name in (
    "comparisons", "gap_table", "more_blocks", "family_gaps", "scopes", "record_model", "receiver_weights",
    "record_fits", "best", "judge", "coarse_record", "flat_record", "identifiable", "spreads", "looks", "pooled_gaps",
    "pool", "compare_days", "choice", "variance_limits", "pilot", "setup_checks", "gap_shares", "record_notices",
    "noise_floor", "settings", "hanging_times", "results_values", "wire_loads", "pool_checks", "pool_notices",
    "match_losses", "budget_notices", "budget_result", "gap_budgets", "receivers",
)]  # fmt: skip
PROMISES = ["design/planned_looks", "repeats/closed_form", "repeats/joint_chance", "repeats/planned_detectable"]
TESTS = {
    "mixed": ["tests/mixed", "tests/analysis/test_best.py", "tests/analysis/test_looks.py",
              "tests/analysis/test_pooled_gaps.py", "tests/repeats/test_best_many.py"],
    "analysis": ["tests/analysis"],
    "design": ["tests/design/test_planned_looks.py"],
    "repeats": ["tests/repeats/test_closed_form.py", "tests/repeats/test_joint_chance.py",
                "tests/repeats/test_planned_detectable.py"],
}  # fmt: skip
FATES = ("noticed", "hung", "survived", "no test")
QUICK_S = 6.0  # of tests for one change
SLOW_S = 25.0  # more of them for one that the quick tests do not notice
MOST_BYTES = 4 * 2**30


@dataclass(frozen=True)
class Trial:
    """What became of one change."""

    line: int
    what: str
    fate: str  # one of FATES


def room_of(module: str) -> str:
    """Return the room a named module stands in; without one it is the kernel's."""
    return module.rpartition("/")[0] or "mixed"


def path_of(module: str) -> str:
    """Return where a named module stands in the tree."""
    return f"antexp/{room_of(module)}/{module.rpartition('/')[2]}.py"


def changes_of(module: str) -> list[tuple[int, str, ast.Module]]:
    """Return every change of a module: line, words, changed tree."""
    from one_change import changed, places

    source = (TREE / path_of(module)).read_text(encoding="utf-8")
    return [(place.line, place.what, changed(source, place)) for place in places(source)]


def learn(tests: list[str]) -> tuple[dict[tuple[str, int], set[str]], dict[str, float]]:
    """Run the tests once; return which tests run through a line of a file, and how long each takes."""
    import coverage
    import pytest

    recorder = coverage.Coverage(data_file=None, source=[str(TREE / "antexp" / room) for room in TESTS])
    seconds: dict[str, float] = {}

    class Contexts:
        def pytest_runtest_logstart(self, nodeid: str) -> None:
            recorder.switch_context(nodeid)

        def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
            seconds[report.nodeid] = seconds.get(report.nodeid, 0.0) + report.duration

    recorder.start()
    status = pytest.main([*tests, "-q", "-p", "no:cacheprovider", "--hypothesis-seed=0"], plugins=[Contexts()])
    recorder.stop()
    if status != 0:
        raise SystemExit("the tests fail before anything is changed")
    data = recorder.get_data()
    found: dict[tuple[str, int], set[str]] = {}
    for path in data.measured_files():
        for line, contexts in data.contexts_by_lineno(path).items():
            found[Path(path).relative_to(TREE).as_posix(), line] = {context for context in contexts if context}
    return found, seconds


def learn_apart(tests: list[str]) -> tuple[dict[tuple[str, int], set[str]], dict[str, float]]:
    """Learn in a forked process, so that this one never imports what will be changed."""
    import json

    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        quiet()
        lines, seconds = learn(tests)
        text = json.dumps([[[*key, sorted(value)] for key, value in lines.items()], seconds])
        with os.fdopen(write, "w") as stream:
            stream.write(text)
        os._exit(0)
    os.close(write)
    with os.fdopen(read) as stream:
        text = stream.read()
    os.waitpid(child, 0)
    if not text:
        raise SystemExit("the tests fail before anything is changed, or could not be run")
    lines, seconds = json.loads(text)
    return {(path, line): set(names) for path, line, names in lines}, seconds


def quiet() -> None:
    """Send this process's words nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)


def try_change(module: str, tree: ast.Module, tests: list[str], limit_s: float) -> str:
    """Run tests with a changed module in a forked process."""
    child = os.fork()
    if child == 0:
        quiet()
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        from one_change import serve

        serve(path_of(module).removesuffix(".py").replace("/", "."), compile(tree, f"<changed {module}>", "exec"))
        import pytest

        os._exit(int(pytest.main([*tests, "-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=0"])) and 1)
    end = time.monotonic() + limit_s
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return "survived" if status == 0 else "noticed"
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "hung"


def chosen_tests(names: set[str], seconds: dict[str, float]) -> list[list[str]]:
    """Return the quick tests among these, and for what they miss the slower ones; each quickest first."""
    quick, slow, total = [], [], 0.0
    files = {name.partition("::")[0] for name in names}
    beside = {name for name in seconds if name.partition("::")[0] in files} - names
    for name in sorted(names | beside, key=lambda one: (one in beside, seconds.get(one, 0.0), one)):
        total += seconds.get(name, 0.0)
        if total <= QUICK_S and name in names:
            quick.append(name)
        elif total <= QUICK_S + SLOW_S:
            slow.append(name)
    return [tests for tests in (quick, slow) if tests]


def trials(module: str, most: int | None, lines: dict[tuple[str, int], set[str]], seconds: dict[str, float]
           ) -> Iterator[Trial]:
    """Try the changes of a module, or a draw of them."""
    changes = changes_of(module)
    if most is not None and most < len(changes):
        changes = random.Random(20260101).sample(changes, most)
    whole = set().union(*(names for (path, _), names in lines.items() if path == path_of(module)))
    for line, what, tree in sorted(changes, key=lambda change: change[0]):
        names = lines.get((path_of(module), line)) or whole  # a line that ran on import serves every test of its module
        fate = "no test"
        for tests in chosen_tests(names, seconds):
            fate = try_change(module, tree, tests, 15.0 + 8.0 * sum(seconds[name] for name in tests))
            if fate != "survived":
                break
        yield Trial(line, what, fate)


def main() -> None:
    """Print a table a room, and the survivors."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("modules", nargs="*")
    parser.add_argument("--most", type=int, default=40, help="changes drawn a module")
    parser.add_argument("--all", action="store_true", help="every change")
    parser.add_argument("--tests", nargs="+", help="files of tests; else those of the module's room")
    wanted = parser.parse_args()
    import one_change

    one_change.import_what_does_not_change()
    os.chdir(TREE)
    for room in TESTS:
        named = [module for module in wanted.modules or KERNEL + VERDICTS + PROMISES if room_of(module) == room]
        if named:
            table(named, None if wanted.all else wanted.most, *learn_apart(wanted.tests or TESTS[room]))


def table(modules: list[str], most: int | None, lines: dict[tuple[str, int], set[str]], seconds: dict[str, float]
          ) -> None:
    """Try the changes of the modules of a room; print a line each, and what no test noticed."""
    print(f"{'module':26} tried noticed hung survived no-test", flush=True)
    totals = dict.fromkeys(FATES, 0)
    for module in modules:
        found = list(trials(module, most, lines, seconds))
        fates = {fate: sum(trial.fate == fate for trial in found) for fate in FATES}
        totals = {fate: totals[fate] + count for fate, count in fates.items()}
        print(f"{module:26} {len(found):5} {fates['noticed']:7} {fates['hung']:4} {fates['survived']:8} "
              f"{fates['no test']:7}", flush=True)
        for trial in found:
            if trial.fate in ("survived", "no test"):
                print(f"    {trial.fate}: {path_of(module)}:{trial.line}  {trial.what}", flush=True)
    tried = sum(totals.values())
    print(f"{'all':26} {tried:5} noticed or hung: {(totals['noticed'] + totals['hung']) / max(tried, 1):.1%}")


if __name__ == "__main__":
    main()
