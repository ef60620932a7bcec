"""The public names as a whole: found, typed, quick to import, and one way to hand things over."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import os
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest

import antexp
from antexp.repeats.world import World, WorldKeywords

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "examples" / "broken-day"
CLASSES = [name for name in antexp.__all__ if inspect.isclass(getattr(antexp, name))]
CALLS = [name for name in antexp.__all__ if name not in CLASSES]


def test_type_checkers_and_the_interpreter_find_the_same_names():
    tree = ast.parse(Path(antexp.__file__).read_text(encoding="utf-8"))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    typed = {alias.name: node.module for node in block.body if isinstance(node, ast.ImportFrom) for alias in node.names}
    loaded = {name: module for module, names in antexp._HOMES.items() for name in names}
    assert typed == loaded and set(typed) == set(antexp.__all__)
    assert dir(antexp) == sorted([*antexp.__all__, "__version__"])
    with pytest.raises(AttributeError, match="no attribute 'jugde'"):
        antexp.jugde  # noqa: B018


def test_importing_antexp_loads_none_of_the_heavy_libraries():
    code = "import sys, antexp; print(*{'numpy', 'pandas', 'scipy', 'matplotlib', 'pydantic'} & set(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert ran.stdout.strip() == ""


@pytest.mark.parametrize("name", CALLS)
def test_every_call_is_typed_and_says_what_it_takes_returns_and_raises(name: str):
    call = getattr(antexp, name)
    signature = inspect.signature(call)
    assert signature.return_annotation not in (inspect.Signature.empty, "Any")
    for parameter in signature.parameters.values():
        assert parameter.annotation not in (inspect.Parameter.empty, "Any"), parameter.name
        assert parameter.name in call.__doc__.partition("Returns\n")[0], parameter.name
    assert "Returns\n    -------" in call.__doc__ and "Raises\n    ------" in call.__doc__


@pytest.mark.parametrize("name", [name for name in CLASSES if name not in ("InputError", "Plan")])
def test_results_are_frozen_and_every_field_is_explained(name: str):
    result = getattr(antexp, name)
    assert dataclasses.is_dataclass(result) and result.__dataclass_params__.frozen
    assert callable(result.to_dict) and callable(result.to_json)
    for field in dataclasses.fields(result):
        assert field.name in result.__doc__, field.name


def test_a_plan_is_frozen():
    with pytest.raises(ValueError, match="frozen"):
        antexp.read_plan(EXAMPLE / "plan.toml").title = "another"


def test_the_keywords_of_a_simulation_are_the_fields_of_its_world():
    fields = {field.name for field in dataclasses.fields(World)}
    assert set(WorldKeywords.__annotations__) == fields - {"gaps_db", "path_db"}


def test_a_path_does_as_well_as_the_object(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(EXAMPLE)
    plan, order = antexp.read_plan("plan.toml"), antexp.read_order("order.csv")
    by_name = antexp.simulate("plan.toml", "order.csv", seed=3)
    pd.testing.assert_frame_equal(by_name, antexp.simulate(plan, order, seed=3))
    assert antexp.rehearse("plan.toml", "order.csv", records=50).to_json() == \
        antexp.rehearse(plan, order, records=50).to_json()
    assert antexp.make_order("plan.toml").table.equals(antexp.make_order(plan).table)
    assert antexp.how_many_repeats("plan.toml", records=0).to_json() == \
        antexp.how_many_repeats(plan, records=0).to_json()
    assert antexp.expected_losses("plan.toml").to_json() == antexp.expected_losses(plan).to_json()
    assert antexp.check_range("plan.toml").to_json() == antexp.check_range(plan).to_json()
    assert antexp.trim_sheet("plan.toml").to_json() == antexp.trim_sheet(plan).to_json()
    files = ("readings.csv", "plan.toml", "order.rest.csv")
    objects = ("readings.csv", plan, antexp.read_order("order.rest.csv"))
    assert antexp.check_readings(*files).to_json() == antexp.check_readings(*objects).to_json()
    assert antexp.judge(*files).to_json() == antexp.judge(*objects).to_json()


SCRIPT = '''\
"""What a user's own script might look like."""

import pandas as pd

import antexp


def day(plan: antexp.Plan, seed: int) -> antexp.Judgement:
    order: antexp.Order = antexp.make_order(plan, seed=seed)
    readings: pd.DataFrame = antexp.simulate(plan, order, gaps_db={"b": -1.0}, seed=seed, rehang_sd_db=0.2)
    return antexp.judge(readings, plan, order, matter_db=1.0, compare="reference", drift="steady")


plan = antexp.read_plan("plan.toml")
answer: antexp.Answer = antexp.how_many_repeats(plan)
share: float = antexp.rehearse(plan, "order.csv", records=100).all_noticed
days = [day(plan, seed) for seed in (1, 2)]
pooled: antexp.Pooled = antexp.pool(days)
changes: pd.DataFrame = antexp.compare_days("one", days[1]).table
for notice in days[0].warnings:
    print(notice.code, notice.text)
print(days[0].spread.rehang_sd_db, days[0].to_json(), antexp.bare_gap(2.0).verdict, answer.blocks, share)
try:
    antexp.choose("readings.csv", plan, span_m=20.0)
except antexp.InputError as error:
    print([fault.what for fault in error.faults])
'''

WRONG = '''
antexp.jugde("readings.csv")
antexp.simulate(plan, "order.csv", rehang_sd=0.2)
answer.blocks = 3
'''


def test_a_users_script_passes_strict_type_checks_and_slips_do_not(request: pytest.FixtureRequest, tmp_path: Path):
    script, config = tmp_path / "script.py", tmp_path / "mypy.ini"
    script.write_text(SCRIPT + WRONG, encoding="utf-8")
    # silent, as for an installed package: faults inside antexp are not the user's
    config.write_text("[mypy]\nstrict = True\n[mypy-antexp.*]\nfollow_imports = silent\n"
                      "[mypy-scipy.*,statsmodels.*,seaborn.*,matplotlib.*]\nfollow_imports = skip\n", encoding="utf-8")
    cache = request.config.cache.mkdir("mypy-of-a-users-script")
    ran = subprocess.run([sys.executable, "-m", "mypy", "--config-file", str(config), "--cache-dir", str(cache),
                          str(script)], capture_output=True, text=True, cwd=tmp_path,
                         env={**os.environ, "MYPYPATH": str(ROOT)})
    first_wrong = SCRIPT.count("\n") + 2
    found = [line.split(":", 3)[1:] for line in ran.stdout.splitlines() if ": error:" in line]
    assert [int(line) for line, *_ in found] == [first_wrong, first_wrong + 1, first_wrong + 2], ran.stdout + ran.stderr
    assert 'has no attribute "jugde"' in ran.stdout and "rehang_sd" in ran.stdout and "read-only" in ran.stdout
    assert (ROOT / "antexp" / "py.typed").is_file()
