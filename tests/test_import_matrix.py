"""The rooms stand in a row: each may import the leaves and the rooms before it, no other."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "flushwork"
LEAVES = ("core", "findings", "errors", "units", "tolerances", "runtime")
ROW: tuple[tuple[str, ...], ...] = (
    ("kernels",),
    ("colour",),
    ("shelf",),
    ("job",),
    ("geometry",),
    ("fit",),
    ("toolpaths",),
    ("strata",),
    ("resin", "wood"),
    ("plan",),
    ("built",),
    ("proof",),
    ("pipeline",),
    ("store",),
    ("book",),
    ("usecases",),
    ("bench",),
    ("cli",),
)
PLACE = {room: index for index, rooms in enumerate(ROW) for room in rooms}


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
    return other == room or PLACE[other] <= PLACE[room]


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
    assert not allowed("strata", "plan")
    assert not allowed("kernels", "job")
    assert not allowed("units", "shelf")
    assert allowed("proof", "strata")


def test_kernels_know_no_records() -> None:
    for path in (SOURCE / "kernels").glob("*.py"):
        assert imports_of(path) <= {"kernels", "tolerances"}, path.name


@pytest.mark.parametrize(
    "room", [room for rooms in ROW for room in rooms if room not in {"store", "cli", "pipeline"}]
)
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
