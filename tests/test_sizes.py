"""Files and functions stay small; the few that may be longer stand here, each with its reason.

House rule, no outside source: a file of more than 300 lines or a function of more than 60 (its docstring left out)
is read in parts anyway, so it is written in parts.
"""

from __future__ import annotations

import ast
from pathlib import Path

TREE = Path(__file__).parents[1]
MOST_LINES_OF_A_FILE = 300
MOST_LINES_OF_A_FUNCTION = 60
FOLDERS = ["antexp", "tests", "examples", "docs"]

# file → (most lines, why); a file that has become short enough must leave this list
LONGER_FILES = {
    "tests/field/ends/test_pages_in_a_browser.py": (560, "one browser serves all its tests; starting it is the cost"),
    "tests/field/ends/test_recorder.py": (340, "one scripted terminal and its key names, one test a situation"),
    "tests/plan/test_reader.py": (360, "one table of faulty plans and the message of each"),
}
LONGER_FUNCTIONS: dict[str, tuple[int, str]] = {
    "tests/benchmarks/fuzzed_readers.py:readers": (70, "a table of readers, one entry a reader, each a closure"),
}

FILES = sorted(path for folder in FOLDERS for path in (TREE / folder).rglob("*.py"))


def named(path: Path) -> str:
    return path.relative_to(TREE).as_posix()


def length(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function without its docstring."""
    first = function.body[0]
    said = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str)
    return function.end_lineno - function.lineno + 1 - (first.end_lineno - first.lineno + 1 if said else 0)


def functions(source: str) -> list[tuple[str, int]]:
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef)
    return [(node.name, length(node)) for node in ast.walk(ast.parse(source)) if isinstance(node, kinds)]


def test_files_are_small():
    lines = {named(path): len(path.read_text(encoding="utf-8").splitlines()) for path in FILES}
    allowed = {name: LONGER_FILES.get(name, (MOST_LINES_OF_A_FILE, ""))[0] for name in lines}
    assert {name: count for name, count in lines.items() if count > allowed[name]} == {}
    assert [name for name in LONGER_FILES if lines[name] <= MOST_LINES_OF_A_FILE] == [], "short again: take it off"


def test_functions_are_small():
    found = {f"{named(path)}:{name}": count for path in FILES for name, count in functions(path.read_text("utf-8"))}
    allowed = {name: LONGER_FUNCTIONS.get(name, (MOST_LINES_OF_A_FUNCTION, ""))[0] for name in found}
    assert {name: count for name, count in found.items() if count > allowed[name]} == {}
    assert [name for name in LONGER_FUNCTIONS if found[name] <= MOST_LINES_OF_A_FUNCTION] == [], "short: take it off"


def test_the_package_has_no_exception():
    assert not [name for name in {*LONGER_FILES, *LONGER_FUNCTIONS} if name.startswith("antexp/")]


def test_a_docstring_does_not_count():
    assert functions('def f():\n    """One.\n\n    Two.\n    """\n    return 1\n') == [("f", 2)]
