"""The rooms stand in a row: each may import the leaves and the rooms before it, no other."""

from __future__ import annotations

import ast
from collections import Counter
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "flushwork"
LEAVES = ("core", "runtime")
ROW: tuple[str, ...] = (
    "kernels",
    "colour",
    "cutlist",
    "shelf",
    "job",
    "art",
    "fit",
    "toolpaths",
    "gcode",
    "strata",
    "resin",
    "wood",
    "process",
    "schedule",
    "built",
    "checks",
    "pipeline",
    "store",
    "views",
    "book",
    "usecases",
    "bench",
    "cli",
)
CROWDED = 16
"""A folder with more modules than this is hard to find anything in."""
NAMED_FOR_OTHERS = ("keys", "usecases", "making")
"""Modules there go by what they are the keys or the use of; elsewhere a name stands once."""
PLACE = {room: index for index, room in enumerate(ROW)}


def room_of(path: Path) -> str:
    return path.relative_to(SOURCE).parts[0].removesuffix(".py")


def imports_of(path: Path) -> set[str]:
    """Return the rooms a module imports, wherever in it the import stands."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names = (
                [f"flushwork.{alias.name}" for alias in node.names]
                if node.module == "flushwork"
                else [node.module]
            )
        else:
            assert not (isinstance(node, ast.ImportFrom) and node.level), f"relative: {path}"
            continue
        found |= {name.split(".")[1] for name in names if name.startswith("flushwork.")}
    return found


def allowed(room: str, other: str) -> bool:
    if other in LEAVES:
        return room not in LEAVES or LEAVES.index(other) < LEAVES.index(room) or other == room
    if room in LEAVES:
        return False
    return PLACE[other] <= PLACE[room]


MODULES = sorted(
    path for path in SOURCE.rglob("*.py") if path.parent != SOURCE or path.stem[0] != "_"
)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(SOURCE).as_posix())
def test_a_module_imports_only_rooms_before_its_own(path: Path) -> None:
    room = room_of(path)
    assert room in LEAVES or room in PLACE, f"{room} is in no room of the row"
    upward = {other for other in imports_of(path) if not allowed(room, other)}
    assert not upward, f"{path.name} of {room} imports {sorted(upward)}"


def test_an_upward_import_would_be_noticed() -> None:
    assert not allowed("strata", "process")
    assert not allowed("kernels", "job")
    assert not allowed("kernels", "checks")
    assert not allowed("core", "shelf")
    assert allowed("checks", "strata")


def test_kernels_know_no_records() -> None:
    for path in (SOURCE / "kernels").glob("*.py"):
        assert imports_of(path) <= {"kernels", "core"}, path.name
        assert "runtime" not in imports_of(path), path.name


def test_book_and_bench_share_views_and_nothing_else() -> None:
    for path in (SOURCE / "bench").rglob("*.py"):
        assert "book" not in imports_of(path), path.name


def named(path: Path) -> str:
    parts = path.relative_to(SOURCE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def test_no_module_imports_in_a_circle() -> None:
    names = {named(path): path for path in SOURCE.rglob("*.py")}
    graph: dict[str, set[str]] = {}
    for name, path in names.items():
        graph[name] = set()
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.ImportFrom) and node.module:
                for alias in node.names:
                    whole = f"{node.module}.{alias.name}"
                    graph[name].add(whole if whole in names else node.module)
    tuple(TopologicalSorter(graph).static_order())


def test_no_folder_is_crowded() -> None:
    crowded = {
        folder.relative_to(SOURCE).as_posix(): len(modules)
        for folder in [SOURCE, *(each for each in SOURCE.rglob("*") if each.is_dir())]
        if len(modules := [path for path in folder.glob("*.py") if path.stem[0] != "_"]) > CROWDED
    }
    assert not crowded


def test_no_file_name_stands_twice() -> None:
    often = Counter(
        path.stem
        for path in SOURCE.rglob("*.py")
        if path.stem[0] != "_" and path.parent.name not in NAMED_FOR_OTHERS
    )
    assert {stem for stem, count in often.items() if count > 1} == set()


@pytest.mark.parametrize("room", [room for room in ROW if room not in {"store", "cli", "pipeline"}])
def test_nothing_below_the_store_prints_writes_or_reads_the_clock(room: str) -> None:
    modules = list((SOURCE / room).rglob("*.py")) if (SOURCE / room).is_dir() else []
    for path in modules:
        called = {
            ast.unparse(node.func)
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, ast.Call)
        }
        forbidden = {"print", "datetime.now", "date.today", "time.time", "datetime.datetime.now"}
        assert not called & forbidden, f"{path.name}: {called & forbidden}"
