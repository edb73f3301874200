"""Every code that the program can tell has its entry in the catalogue, and every entry its code."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from flushwork.checks.catalogue import catalogue, nearest, parse_catalogue

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "flushwork"
PAGE = (ROOT / "docs" / "findings.md").read_text("utf-8")
CODE = re.compile(r"[a-z]+(-[a-z]+)+")
SILENT_ROOMS = {"book", "views", "usecases", "cli", "bench"}
"""Rooms that render findings and make none."""
OTHERS = {
    # words of SVG, of RS-274, mirrors and a bit, that look like codes
    "clip-path", "fill-opacity", "fill-rule", "left-right", "marker-end", "marker-mid",
    "marker-start", "non-modal", "non-scaling-stroke", "stroke-dasharray", "stroke-linecap",
    "stroke-linejoin", "stroke-miterlimit", "stroke-opacity", "stroke-width", "top-bottom",
    "vector-effect", "round-over", "auto-start-reverse", "stroke-dashoffset", "mask-type",
    "transform-origin", "clip-rule",
}  # fmt: skip

Functions = dict[str, int | None]


def trees(rooms_without: set[str]) -> Iterator[ast.Module]:
    for path in sorted(SOURCE.rglob("*.py")):
        room = path.relative_to(SOURCE).parts[0].removesuffix(".py")
        if room not in rooms_without and path.name != "renamed.py":  # which holds old codes
            yield ast.parse(path.read_text("utf-8"))


def words() -> set[str]:
    """Every constant that is built like a code, wherever it stands: in tables, in choices."""
    return {
        node.value
        for tree in trees(SILENT_ROOMS)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and CODE.fullmatch(node.value)
    } - OTHERS


def takers() -> Functions:
    """Functions and classes that take a ``code``, with its place among the arguments."""
    found: Functions = {"Finding": 0}
    for tree in trees({"bench"}):  # a key that opens a door is a code there
        for node in ast.walk(tree):
            if not isinstance(node, ast.FunctionDef):
                continue
            names = [item.arg for item in node.args.args if item.arg not in {"self", "cls"}]
            if "code" in names and node.name not in {"add", "note", "warning", "__init__"}:
                found[node.name] = names.index("code")
    return found


def told() -> set[str]:
    """Every constant handed over as a ``code``, each branch of a choice included."""
    taking = takers()
    found: set[str] = set()
    for tree in trees({"gcode", "bench"}):
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                name = ast.unparse(node.func)
                # of the names of many things only a finding's own count
                name = "Finding" if name.startswith("Finding.") else name.rpartition(".")[2]
                handed = [item.value for item in node.keywords if item.arg == "code"]
                place = taking.get(name or "")
                if not handed and place is not None and place < len(node.args):
                    handed = [node.args[place]]
                for value in handed:
                    found |= {
                        part.value
                        for part in outcomes(value)
                        if isinstance(part, ast.Constant) and isinstance(part.value, str)
                    }
    return found


def outcomes(value: ast.expr) -> Iterator[ast.expr]:
    if isinstance(value, ast.IfExp):
        yield from outcomes(value.body)
        yield from outcomes(value.orelse)
    else:
        yield value


def test_codes_and_entries_are_the_same() -> None:
    entries = re.findall(r"^## (\S+)$", PAGE, re.MULTILINE)
    assert len(entries) == len(set(entries))
    assert words() == set(entries)


def test_every_entry_is_named_by_a_test() -> None:
    """This file names a few codes for other reasons and does not count."""
    tests = [path for path in (ROOT / "tests").rglob("*.py") if path != Path(__file__)]
    named = {
        node.value
        for path in tests
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    assert set(parse_catalogue(PAGE)) - named == set()


def test_what_is_handed_over_as_a_code_is_built_like_one_and_has_its_entry() -> None:
    codes = told()
    assert len(codes) > 60
    assert all(CODE.fullmatch(code) for code in codes)
    assert codes <= set(catalogue())


def test_every_entry_is_whole() -> None:
    for code, entry in parse_catalogue(PAGE).items():
        assert entry.severity in {"must fix", "warning", "note"}, code
        for part in (entry.cause, entry.sum, entry.remedy, entry.source):
            assert part[-1] in ".?", (code, part)
            assert "# " not in part, (code, part)


def test_a_mistyped_code_finds_the_nearest() -> None:
    assert nearest("wood-between-to-thin") == "wood-between-too-thin"
    assert nearest("zzzzzz") is None
