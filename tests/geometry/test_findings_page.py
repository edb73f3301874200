"""Every code the geometry room can raise has its entry, and every entry its code."""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROOM = ROOT / "src" / "flushwork" / "geometry"
PAGE = ROOT / "docs" / "findings" / "geometry.md"
CODE = re.compile(r"[a-z]+(-[a-z]+)+")
OTHERS = {
    # words of SVG, and mirrors, that look like codes
    "clip-path", "fill-opacity", "fill-rule", "left-right", "marker-end", "marker-mid",
    "marker-start", "non-scaling-stroke", "stroke-dasharray", "stroke-linecap", "stroke-linejoin",
    "stroke-miterlimit", "stroke-opacity", "stroke-width", "top-bottom", "vector-effect",
}  # fmt: skip


def raised() -> set[str]:
    return {
        node.value
        for path in ROOM.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and CODE.fullmatch(node.value)
    } - OTHERS


def test_codes_and_entries_are_the_same() -> None:
    entries = re.findall(r"^## (\S+)$", PAGE.read_text("utf-8"), re.MULTILINE)
    assert len(entries) == len(set(entries))
    assert raised() == set(entries)


def test_every_entry_is_whole() -> None:
    for entry in re.split(r"^## ", PAGE.read_text("utf-8"), flags=re.MULTILINE)[1:]:
        for part in ("Severity", "Cause", "Sum", "Remedy", "Source"):
            assert f"\n**{part}.** " in entry, entry.splitlines()[0]
        assert re.search(r"\*\*Severity\.\*\* (stop|caution|note)\n", entry)
