"""The one-way rule: a room imports only from rooms before it; kernels see arrays only."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "antexp"
ROOMS = ["plan", "design", "repeats", "field", "analysis", "report", "demo", "cli"]
KERNELS = ["mixed", "radio"]
FOUNDATION = ["errors", "interrupts", "placing", "files", "notices", "columns", "decibels", "views", "spreadsheet",
              "json_text"]
FORBIDDEN_IN_KERNELS = {"pandas", "pydantic", "typer", "rich", "jinja2", "matplotlib", "seaborn", "statsmodels"}


def imports_of(path: Path) -> set[str]:
    """Every module a file imports, inside functions too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} has a relative import"
            found.add(node.module or "")
    return found


def room_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


FILES = sorted(ROOT.rglob("*.py"))


def test_the_tree_holds_nothing_but_the_rooms_named_here():
    found = {room_of(path) for path in FILES}
    assert found == {"__init__", "__main__", *ROOMS, *KERNELS, *FOUNDATION}


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_arrow_points_back(path: Path):
    room = room_of(path)
    if room in ("__init__", "__main__"):  # the top of all: it may take from everywhere
        return
    allowed = {*FOUNDATION}
    if room in FOUNDATION:
        allowed = set(FOUNDATION[: FOUNDATION.index(room)])
    elif room in KERNELS:
        allowed |= {room}
    else:
        allowed |= {*KERNELS, *ROOMS[: ROOMS.index(room) + 1]}
    for module in imports_of(path):
        if module.startswith("antexp."):
            target = module.split(".")[1]
            assert target in allowed, f"{path.relative_to(ROOT)} imports {module}: the arrow points back"


@pytest.mark.parametrize("path", [p for p in FILES if room_of(p) in KERNELS], ids=lambda p: str(p.relative_to(ROOT)))
def test_kernels_see_arrays_only(path: Path):
    heads = {module.split(".")[0] for module in imports_of(path)}
    assert not heads & FORBIDDEN_IN_KERNELS


def test_the_check_sees_an_arrow_that_points_back(tmp_path: Path):
    source = tmp_path / "sample.py"
    source.write_text("def f():\n    from antexp.cli.main import app\n    return app\n", encoding="utf-8")
    assert imports_of(source) == {"antexp.cli.main"}


def test_no_junk_drawers():
    drawers = {"utils", "util", "helpers", "helper", "common", "misc"}
    assert not [path for path in FILES if path.stem in drawers or set(path.relative_to(ROOT).parts) & drawers]
