"""What is imported is declared, what is declared is imported, and everything the package needs is shipped."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from fnmatch import fnmatch
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet
from packaging.utils import canonicalize_name
from packaging.version import Version

import antexp

TREE = Path(__file__).parents[1]
PACKAGE = TREE / "antexp"
PROJECT = tomllib.loads((TREE / "pyproject.toml").read_text(encoding="utf-8"))


def bounds(requirements: list[str]) -> dict[str, SpecifierSet]:
    """Name → what is asked of its version."""
    return {canonicalize_name(each.name): each.specifier for each in map(Requirement, requirements)}


NEEDED = bounds(PROJECT["project"]["dependencies"])
CLUSTER = bounds(PROJECT["project"]["optional-dependencies"]["cluster"])


def imported_from_outside() -> dict[str, set[str]]:
    """Distribution → the files that import it, inside functions too."""
    homes = packages_distributions()
    found: dict[str, set[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            modules = [node.module or ""] if isinstance(node, ast.ImportFrom) else (
                [alias.name for alias in node.names] if isinstance(node, ast.Import) else [])
            for module in modules:
                head = module.partition(".")[0]
                if head not in sys.stdlib_module_names and head != "antexp":
                    for home in homes[head]:
                        found.setdefault(canonicalize_name(home), set()).add(str(path.relative_to(TREE)))
    return found


def test_every_import_is_declared_and_every_declaration_is_imported():
    found = imported_from_outside()
    undeclared = {home: files for home, files in found.items() if home not in NEEDED and home not in CLUSTER}
    assert not undeclared
    assert set(NEEDED) <= set(found), "declared but never imported"


def test_what_only_a_cluster_needs_is_imported_in_one_place():
    found = imported_from_outside()
    only_cluster = set.union(set(), *(found[home] for home in CLUSTER if home not in NEEDED))
    assert only_cluster == {"antexp/repeats/cluster.py"}


def test_the_lowest_versions_that_are_tried_are_the_bounds():
    lines = (TREE / ".ci" / "lowest-versions.txt").read_text(encoding="utf-8").splitlines()
    tried = bounds([line for line in lines if line and not line.startswith("#")])

    def versions(bound: SpecifierSet, operator: str) -> list[Version]:
        return [Version(each.version) for each in bound if each.operator == operator]

    assert {name: versions(bound, "==") for name, bound in tried.items()} == {
        name: versions(bound, ">=") for name, bound in NEEDED.items()
    }


@pytest.mark.parametrize(
    "path",
    [path for path in sorted(PACKAGE.rglob("*")) if path.is_file() and path.suffix not in {".py", ".pyc"}],
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_files_that_are_no_python_are_shipped(path: Path):
    patterns = PROJECT["tool"]["setuptools"]["package-data"]["antexp"]
    inner = path.relative_to(PACKAGE).as_posix()
    assert any(fnmatch(inner, pattern) or fnmatch(inner, pattern.removeprefix("**/")) for pattern in patterns)


def test_every_folder_with_python_is_a_package():
    """setuptools ships folders with an ``__init__.py`` only."""
    folders = {path.parent for path in PACKAGE.rglob("*.py")}
    assert not [folder for folder in folders if not (folder / "__init__.py").is_file()]


def test_the_version_stands_once_in_meaning():
    assert PROJECT["project"]["version"] == antexp.__version__
    assert f"## {antexp.__version__}" in (TREE / "docs" / "changelog.md").read_text(encoding="utf-8")


def test_metadata_is_complete():
    project = PROJECT["project"]
    assert (PACKAGE / "py.typed").is_file()
    for file in (project["readme"], *project["license-files"]):
        assert (TREE / file).read_text(encoding="utf-8").strip()
    oldest = re.fullmatch(r">=3\.(\d+)", project["requires-python"])[1]
    assert f"Programming Language :: Python :: 3.{oldest}" in project["classifiers"]
    assert "Typing :: Typed" in project["classifiers"]
