"""One small change to a module's syntax tree, and an importer that serves the changed module."""

from __future__ import annotations

import ast
import importlib
import importlib.abc
import importlib.machinery
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from types import CodeType, ModuleType

COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
OPERATIONS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip
HEAVY = ["numpy", "scipy.stats", "scipy.optimize", "scipy.linalg", "scipy.integrate", "pandas", "pytest"]


@dataclass(frozen=True)
class Place:
    """Where a module can be changed: the number of the node in the walk, and which part of it."""

    node: int
    part: int
    line: int
    what: str


def _left_out(tree: ast.Module) -> set[int]:
    """Return the nodes that say something or name a type: messages, docstrings, annotations, imports."""
    found: set[int] = set()
    for node in ast.walk(tree):
        silent: list[ast.AST | None] = []
        if isinstance(node, ast.Raise | ast.Import | ast.ImportFrom | ast.JoinedStr):
            silent = [node]
        elif isinstance(node, ast.ClassDef):
            silent = [*node.decorator_list]
        elif isinstance(node, ast.keyword) and node.arg == "strict":
            silent = [node]
        elif isinstance(node, ast.FunctionDef):
            silent = [node.returns, *node.decorator_list, *(arg.annotation for arg in ast.walk(node.args)
                                                            if isinstance(arg, ast.arg))]
        elif isinstance(node, ast.AnnAssign):
            silent = [node.annotation]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("cast", "Notice"):
            silent = [node]
        found |= {id(inner) for one in silent if one is not None for inner in ast.walk(one)}
    return found


def _choices(node: ast.AST) -> Iterator[tuple[int, str]]:
    """Yield the changes a node allows: which part, and in words."""
    if isinstance(node, ast.Compare):
        for part, operator in enumerate(node.ops):
            if type(operator) in COMPARISONS:
                yield part, f"{type(operator).__name__} → {COMPARISONS[type(operator)].__name__}"
    elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in OPERATIONS:
        yield 0, f"{type(node.op).__name__} → {OPERATIONS[type(node.op)].__name__}"
    elif isinstance(node, ast.BoolOp):
        yield 0, "and → or" if isinstance(node.op, ast.And) else "or → and"
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not | ast.Invert):
        yield 0, f"{type(node.op).__name__} dropped"
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
        yield 0, f"{node.value!r} → {_moved(node.value)!r}"


def _moved(value: bool | int | float) -> bool | int | float:
    """Return another number."""
    if isinstance(value, bool):
        return not value
    return value + 1 if isinstance(value, int) or value == 0.0 else value * 1.5


def places(source: str) -> list[Place]:
    """List every place where a source can be changed."""
    tree = ast.parse(source)
    silent = _left_out(tree)
    lines = source.splitlines()
    return [
        Place(number, part, node.lineno, f"{what}   in: {lines[node.lineno - 1].strip()}")
        for number, node in enumerate(ast.walk(tree)) if id(node) not in silent
        for part, what in _choices(node)
    ]  # fmt: skip


def changed(source: str, place: Place) -> ast.Module:
    """Return the source's tree with one change."""
    tree = ast.parse(source)
    target = list(ast.walk(tree))[place.node]
    if isinstance(target, ast.UnaryOp):
        for node in ast.walk(tree):
            for name, value in ast.iter_fields(node):
                if value is target:
                    setattr(node, name, target.operand)
                elif isinstance(value, list) and any(one is target for one in value):
                    setattr(node, name, [target.operand if one is target else one for one in value])
    elif isinstance(target, ast.Compare):
        target.ops[place.part] = COMPARISONS[type(target.ops[place.part])]()
    elif isinstance(target, ast.BinOp | ast.AugAssign):
        target.op = OPERATIONS[type(target.op)]()
    elif isinstance(target, ast.BoolOp):
        target.op = ast.Or() if isinstance(target.op, ast.And) else ast.And()
    else:
        assert isinstance(target, ast.Constant)
        target.value = _moved(target.value)
    return ast.fix_missing_locations(tree)


class _Served(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module from ready-made code."""

    def __init__(self, name: str, code: CodeType) -> None:
        self.name, self.code = name, code

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        return importlib.machinery.ModuleSpec(fullname, self) if fullname == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(self.code, module.__dict__)


def serve(name: str, code: CodeType) -> None:
    """Let the next import of a module find this code; it must not have been imported yet."""
    if name in sys.modules:
        raise RuntimeError(f"{name} is imported already: the change would not be seen")
    sys.meta_path.insert(0, _Served(name, code))


def import_what_does_not_change() -> None:
    """Import heavy libraries once, before the forks."""
    for name in HEAVY:
        importlib.import_module(name)
