"""A name means one thing: no public class of the house stands twice."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

SOURCE = Path(__file__).parents[1] / "src" / "flushwork"
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
