"""The script that breaks the kernel on purpose makes one change at a time, and only where code computes."""

from __future__ import annotations

import ast
import importlib.util
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
KERNEL = Path(__file__).parents[2] / "antexp" / "mixed"


@pytest.fixture(scope="module")
def one_change():
    spec = importlib.util.spec_from_file_location("one_change_of_the_kernel", HERE / "one_change.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    yield module
    del sys.modules[spec.name]


SOURCE = '''
"""Says 1 < 2."""
from x import y

def f(a: int = 3) -> float:
    """Return 4 + 4."""
    if not a > 0 and a is not None:
        raise ValueError(f"got {a + 1}")
    a += 2
    return -a ** 2.5
'''


def test_messages_docstrings_and_types_stay(one_change):
    found = [place.what.partition("   in: ")[0] for place in one_change.places(SOURCE)]
    assert sorted(found) == sorted([
        "3 → 4", "and → or", "Not dropped", "Gt → GtE", "0 → 1", "IsNot → Is", "Add → Sub", "2 → 3", "USub dropped",
        "Pow → Mult", "2.5 → 3.75",
    ])  # fmt: skip


@pytest.mark.parametrize("name", ["verdict", "kenward_roger"])
def test_every_place_gives_another_program_that_compiles(one_change, name):
    source = (KERNEL / f"{name}.py").read_text(encoding="utf-8")
    whole = ast.dump(ast.parse(source))
    made = [one_change.changed(source, place) for place in one_change.places(source)]
    assert len({ast.dump(tree) for tree in made} | {whole}) == len(made) + 1
    for tree in made:
        compile(tree, name, "exec")


def test_a_module_that_is_imported_already_is_not_served(one_change):
    with pytest.raises(RuntimeError, match="is imported already"):
        one_change.serve("ast", compile("", "nothing", "exec"))
