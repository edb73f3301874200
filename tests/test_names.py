"""Names can be followed: no class stands twice, and a module that is told of is there."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from pathlib import Path

SOURCE = Path(__file__).parents[1] / "src" / "flushwork"
LONG = 400
"""A module with more lines than this says in its docstring why it is long."""
TWICE: dict[str, str] = {}
"""Classes that may stand twice, and why: none does."""


def classes() -> dict[str, list[str]]:
    """Return the modules that define each public class, by its name."""
    found: dict[str, list[str]] = defaultdict(list)
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].append(path.relative_to(SOURCE).as_posix())
    return found


def test_no_public_class_name_stands_twice() -> None:
    twins = {name: where for name, where in classes().items() if len(where) > 1}
    assert set(twins) <= set(TWICE), twins


def test_a_long_module_says_why() -> None:
    for path in sorted(SOURCE.rglob("*.py")):
        text = path.read_text("utf-8")
        said = ast.get_docstring(ast.parse(text)) or ""
        assert len(text.splitlines()) <= LONG or "Long because" in said, path.name


def told_places() -> set[tuple[str, str]]:
    """Return every module that the documents and docstrings name, each with where it is named."""
    root = SOURCE.parents[1]
    pages = [*(root / "docs").glob("*.md"), root / "CONTRIBUTING.md", *SOURCE.rglob("*.py")]
    named = re.compile(r"`([a-z_]+(?:/[a-z_]+)*\.py)`")
    return {
        (page.name, place) for page in pages for place in named.findall(page.read_text("utf-8"))
    }


def test_a_module_that_is_told_of_is_there() -> None:
    root = SOURCE.parents[1]
    lost = {
        (page, place)
        for page, place in told_places()
        if not (SOURCE / place).is_file() and not (root / place).is_file()
    }
    assert not lost
    assert ("architecture.md", "art/seams.py") in told_places()
