"""How many changed constants and signs the tests notice, and which ones they let pass.

Takes constants, literals and signs of the rooms whose tests are quick, and numbers of the shelf's
tables, spread evenly; changes one at a time (a number by ``FACTOR``, + to -, * to /) and runs the
tests that run through it, those of its own room and of ``tests/truth`` first, until one fails.  The
tests are gathered once, and run once to see which functions each of them goes through; each change
is made in a copy of the process, in memory alone.  What no test notices
is a survivor; ``mutation_survivors.csv`` keeps each with the reason why it may stay.

Left out: ``kernels``, whose machine code is compiled ahead, and rooms whose tests build whole jobs.

One file of over 400 lines: it is run by itself, and each of its three parts (what can be changed,
how, what tests it) means nothing without the others.  A change made in memory, in a copy that has
the tests gathered, takes a second; one made in the text takes five, for gathering them anew.

Run: python design/mutation.py [count] [module or table, to look at one alone]
"""

from __future__ import annotations

import ast
import csv
import gc
import hashlib
import importlib
import inspect
import os
import resource
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields, is_dataclass
from itertools import accumulate
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any, Final, TypeGuard

import hypothesis
import pytest
from _pytest.runner import runtestprotocol

ROOT: Final = Path(__file__).parents[1]
SOURCE: Final = ROOT / "src" / "flushwork"
SURVIVORS: Final = Path(__file__).with_name("mutation_survivors.csv")

FACTOR: Final = 1.3
"""A number off by three tenths: the least that was once found to pass unseen."""

COUNT: Final = 150
WANTED: Final = 0.9
SECONDS: Final = 30
"""No change is tested for longer."""

SLOWEST_S: Final = 5.0
BUDGET_S: Final = 12.0
"""Tests that take longer by themselves are left out, and those past this sum for each change."""

ROOMS: Final = ("resin", "wood", "colour", "shelf")
MODULES: Final = ("job/keys/mixes.py", "strata/palette.py", "fit/cutting_force.py", "fit/feeds.py")
TESTS: Final = ("resin", "wood", "shelf", "fit", "truth", "cutlist", "job", "strata")
ROUNDING: Final = 1e-3
"""Lesser numbers are guards against rounding, which a change by a factor leaves as good."""
UNTRIED: Final = (
    "test_whole_way.py",
    "test_published_schedules.py",
    "test_tours.py",
    "test_hand_worked_days.py",
    "test_hand_worked_cost.py",
    "test_rs274.py",
    "test_rs274_programs.py",
    "test_odds_closed_forms.py",
)
"""Files of ``tests/truth`` about rooms that are left out."""

SWAPS: Final[dict[type[ast.operator], type[ast.operator]]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}


@dataclass(frozen=True)
class Change:
    """One change: where it is, in words that outlast other edits, and how to make it."""

    where: str
    what: str
    make: Callable[[], None]

    @property
    def key(self) -> str:
        """The change in one line."""
        return f"{self.where}: {self.what}"


# --- what can be changed


def changes_of(path: Path) -> Iterator[Change]:
    """Yield the changes of one module: its named numbers, and what its functions reckon with."""
    tree = ast.parse(path.read_text("utf-8"))
    module = "flushwork." + ".".join(path.relative_to(SOURCE).with_suffix("").parts)
    short = path.relative_to(SOURCE).as_posix()
    for node in tree.body:
        name = _named(node)
        if name and isinstance(node, (ast.Assign, ast.AnnAssign)) and node.value is not None:
            for place, leaf in enumerate(_numbers(node.value)):
                what = _told(leaf) + (f" (no. {place + 1})" if place else "")
                yield Change(
                    f"{short} {name}", what, _constant(tree, module, name, node.value, leaf)
                )
    for qualname, function in _functions(tree):
        spots = list(_spots(function))
        for number, spot in enumerate(spots, start=1):
            make = _in_function(path, module, qualname, number)
            yield Change(f"{short} {qualname}", f"spot {number}, {_told(spot)}", make)


def _named(node: ast.stmt) -> str:
    if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        return node.target.id if node.target.id.isupper() or node.target.id[0] == "_" else ""
    if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
        return node.targets[0].id if node.targets[0].id.isupper() else ""
    return ""


def _numbers(value: ast.expr) -> Iterator[ast.Constant]:
    for node in ast.walk(value):
        if _counts(node, int, float):
            yield node


def _counts(node: ast.AST, *kinds: type[float]) -> TypeGuard[ast.Constant]:
    """Whether a node is a number of one of these kinds, and no guard against rounding."""
    if not isinstance(node, ast.Constant) or type(node.value) not in kinds:
        return False
    return abs(float(str(node.value))) > ROUNDING


def _is_sign(node: ast.AST) -> TypeGuard[ast.UnaryOp]:
    return (
        isinstance(node, ast.UnaryOp)
        and isinstance(node.op, ast.USub)
        and not isinstance(node.operand, ast.Constant)
    )


def _functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            yield node.name, node
        elif isinstance(node, ast.ClassDef):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef):
                    yield f"{node.name}.{inner.name}", inner


def _spots(function: ast.FunctionDef) -> Iterator[ast.expr]:
    """Yield the numbers, signs and operators of a function's body that a change may turn."""
    words = {id(part) for each in ast.walk(function) if isinstance(each, ast.JoinedStr)
             for part in ast.walk(each)}  # fmt: skip
    for statement in function.body:
        for node in ast.walk(statement):
            if id(node) in words:
                continue
            if (
                _counts(node, float)
                or (isinstance(node, ast.BinOp) and type(node.op) in SWAPS and not _text(node))
                or _is_sign(node)
            ):
                yield node


def _text(node: ast.BinOp) -> bool:
    """Whether an operator may join strings or lists instead of numbers."""
    kinds = (ast.JoinedStr, ast.List, ast.Tuple, ast.ListComp)
    sides = (node.left, node.right)
    return any(
        isinstance(side, kinds) or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in sides
    )


def _told(spot: ast.expr) -> str:
    line = " ".join(ast.unparse(spot).split())
    if isinstance(spot, ast.Constant):
        return f"{line} x {FACTOR}" if isinstance(spot.value, float) else f"{line} + 1"
    return f"sign of {line[:60]}"


def _turn(spot: ast.expr) -> None:
    if isinstance(spot, ast.Constant):
        spot.value = float(spot.value) * FACTOR  # type: ignore[arg-type]
    elif isinstance(spot, ast.BinOp):
        spot.op = SWAPS[type(spot.op)]()
    elif isinstance(spot, ast.UnaryOp):
        spot.op = ast.UAdd()


# --- how a change is made


def _constant(
    tree: ast.Module, module: str, name: str, value: ast.expr, leaf: ast.Constant
) -> Callable[[], None]:
    def make() -> None:
        leaf.value = leaf.value * FACTOR if isinstance(leaf.value, float) else leaf.value + 1  # type: ignore[operator]
        changed = {name}
        _put(module, name, value)
        # what the module made of it while it was read is made anew
        for node in tree.body:
            later = _named(node)
            if (
                isinstance(node, (ast.Assign, ast.AnnAssign))
                and node.value is not None
                and later not in changed
                and any(
                    isinstance(part, ast.Name) and part.id in changed
                    for part in ast.walk(node.value)
                )
            ):
                changed.add(later)
                _put(module, later, node.value)
        _forget()

    return make


def _put(module: str, name: str, value: ast.expr) -> None:
    """Put a named value's changed self wherever the value is held; a record is changed in place."""
    home = importlib.import_module(module)
    before = getattr(home, name)
    code = compile(ast.fix_missing_locations(ast.Expression(value)), module, "eval")
    after = eval(code, vars(home))  # noqa: S307
    if is_dataclass(before) and type(before) is type(after):
        for field in fields(before):
            object.__setattr__(before, field.name, getattr(after, field.name))
        return
    for other in list(sys.modules.values()):
        if getattr(other, "__dict__", {}).get(name) is before:
            setattr(other, name, after)


def _in_function(path: Path, module: str, qualname: str, number: int) -> Callable[[], None]:
    def make() -> None:
        tree = ast.parse(path.read_text("utf-8"))
        function = dict(_functions(tree))[qualname]
        _turn(list(_spots(function))[number - 1])
        code = compile(ast.fix_missing_locations(tree), str(path), "exec")
        for part in qualname.split("."):
            code = next(
                each
                for each in code.co_consts
                if isinstance(each, CodeType) and each.co_name == part
            )
        owner: Any = importlib.import_module(module)
        for part in qualname.split("."):
            owner = inspect.getattr_static(owner, part)
        _plain(owner).__code__ = code
        _forget()

    return make


def _plain(found: Any) -> FunctionType:
    """Return the function under whatever wraps it."""
    if isinstance(found, property):
        found = found.fget
    while hasattr(found, "__wrapped__") or hasattr(found, "func"):
        found = getattr(found, "__wrapped__", None) or found.func
    if not isinstance(found, FunctionType):
        raise TypeError(found)
    return found


def _forget() -> None:
    """Drop every answer that a function of ours keeps."""
    for module in [each for name, each in sys.modules.items() if name.startswith("flushwork")]:
        for value in list(vars(module).values()):
            if hasattr(value, "cache_clear"):
                value.cache_clear()


def cells(table: Path) -> Iterator[Change]:
    """Yield a change of every number of one of the shelf's tables."""
    lines = list(csv.DictReader(table.read_text("utf-8").splitlines()))
    for line in lines:
        for column, text in line.items():
            if column in {"name", "number", "source", "also"} or not _is_number(text):
                continue
            make = _cell(table.stem, line["name"], column)
            where = f"shelf/tables/{table.name} {line['name']}"
            yield Change(where, f"{column} {text} x {FACTOR}", make)


def _is_number(text: str) -> bool:
    try:
        return float(text) != 0.0
    except (TypeError, ValueError):
        return False


def _cell(table: str, name: str, column: str) -> Callable[[], None]:
    def make() -> None:
        from flushwork.shelf import tables  # noqa: PLC0415

        plain = tables.rows

        def turned(asked: str) -> tuple[dict[str, Any], ...]:
            rows = plain(asked)
            if asked == table:
                for row in rows:
                    if row["name"] == name:
                        row[column] *= FACTOR
            return rows

        vars(tables)["rows"] = turned
        _forget()

    return make


# --- which of them, and what tests them


def chosen(count: int, only: str) -> list[Change]:
    """Return so many changes, as many from each module and table as its share, always the same."""
    paths = [
        *(path for room in ROOMS for path in sorted((SOURCE / room).rglob("*.py"))),
        *(SOURCE / name for name in MODULES),
    ]
    every = [change for path in paths for change in changes_of(path)]
    tables = sorted((SOURCE / "shelf" / "tables").glob("*.csv"))
    every += [
        change for table in tables if not table.stem.startswith("hazard") for change in cells(table)
    ]
    if only:
        return [change for change in every if only in change.where]
    by_place: dict[str, list[Change]] = {}
    for change in sorted(every, key=lambda each: hashlib.sha256(each.key.encode()).digest()):
        by_place.setdefault(change.where.split(" ")[0], []).append(change)
    picked: list[Change] = []
    while len(picked) < min(count, len(every)):
        for place in sorted(by_place):
            if by_place[place] and len(picked) < count:
                picked.append(by_place[place].pop(0))
    return sorted(picked, key=lambda each: each.where)


class Runner:
    """Gathers the tests once, then runs every change in a copy of the process."""

    def __init__(self, changes: list[Change]) -> None:
        self.changes = changes
        self.survivors: list[Change] = []
        self.tried = 0

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try each change; stands in for pytest's own loop."""
        gc.freeze()
        items = self._timed(session.items)
        print(f"{len(items)} tests of {sum(items.values()):.0f} s", flush=True)
        nothing = Change("truth/", "nothing changed", lambda: None)
        quick = sorted(items, key=items.__getitem__)[: len(items) // 2]
        if self._noticed(nothing, quick):
            raise RuntimeError("a test fails where nothing was changed")
        begun = time.monotonic()
        for number, change in enumerate(self.changes, start=1):
            noticed = self._noticed(change, _order(change, items, self.passed))
            if not noticed:
                self.survivors.append(change)
            self.tried = number
            word = "noticed " if noticed else "SURVIVED"
            taken = time.monotonic() - begun
            print(f"{number:4d} {taken:6.0f} s  {word}  {change.key}", flush=True)
        return True

    def _timed(self, items: list[pytest.Item]) -> dict[pytest.Item, float]:
        """Return the tests that pass unchanged and are quick, each with its seconds."""
        read, write = os.pipe()
        child = os.fork()
        if not child:
            os.close(read)
            with os.fdopen(write, "w") as told:
                for place, item in enumerate(items):
                    _forget()
                    begun = time.process_time()
                    with passing() as through:
                        failed = _fails(item)
                    if not failed:
                        taken = time.process_time() - begun
                        told.write(f"{place} {taken} {' '.join(sorted(through))}\n")
            os._exit(0)
        os.close(write)
        with os.fdopen(read) as heard:
            lines = [line.split() for line in heard]
        os.waitpid(child, 0)
        timed = {
            items[int(place)]: (float(taken), frozenset(passed))
            for place, taken, *passed in lines
            if float(taken) <= SLOWEST_S
        }
        self.passed = {item: passed for item, (_, passed) in timed.items()}
        return {item: taken for item, (taken, _) in timed.items()}

    def _noticed(self, change: Change, items: list[pytest.Item]) -> bool:
        child = os.fork()
        if not child:
            resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
            silence = os.open(os.devnull, os.O_WRONLY)
            os.dup2(silence, 1)
            os.dup2(silence, 2)
            try:
                change.make()
            except Exception:  # noqa: BLE001
                os._exit(3)
            os._exit(1 if any(_fails(item) for item in items) else 0)
        _, status = os.waitpid(child, 0)
        if os.waitstatus_to_exitcode(status) == 3:
            print(f"     could not be made: {change.key}")
        # a change that never ends is noticed too
        return os.waitstatus_to_exitcode(status) not in {0, 3}


def _fails(item: pytest.Item) -> bool:
    return any(report.failed for report in runtestprotocol(item, log=False, nextitem=None))


@contextmanager
def passing() -> Iterator[set[str]]:
    """Gather the functions of the program that are gone through meanwhile, as ``file:name``."""
    through: set[str] = set()
    root = f"{SOURCE}{os.sep}"
    codes: set[CodeType] = set()

    def called(frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            codes.add(frame.f_code)

    sys.setprofile(called)
    try:
        yield through
    finally:
        sys.setprofile(None)
        for code in codes:
            if code.co_filename.startswith(root):
                short = code.co_filename[len(root) :]
                through.add(f"{short}:{code.co_qualname.split('.<locals>')[0]}")


def _through(change: Change, passed: frozenset[str]) -> bool:
    """Whether a test that goes through these functions may notice a change."""
    path, _, name = change.where.partition(" ")
    if path.startswith("shelf/tables/"):
        return "shelf/tables.py:rows" in passed
    if f"{path}:{name}" in passed:
        return True
    if name.split(".")[-1].upper() != name.split(".")[-1]:
        return False
    holders = {
        Path(module.__file__).relative_to(SOURCE).as_posix()
        for key, module in list(sys.modules.items())
        if key.startswith("flushwork.") and name in vars(module) and module.__file__
    }
    return any(each.partition(":")[0] in holders for each in passed)


def _order(
    change: Change, items: dict[pytest.Item, float], passed: dict[pytest.Item, frozenset[str]]
) -> list[pytest.Item]:
    """Return the tests that go through what is changed: its own room's and the truth's first."""
    path = change.where.split(" ")[0]
    room = path.split("/", maxsplit=1)[0]
    module = path.removesuffix(".py").replace("/", ".")
    texts = {item.path: item.path.read_text("utf-8") for item in items}
    mine = [item for item in items if module in texts[item.path] or _through(change, passed[item])]
    ranked = sorted(
        mine,
        key=lambda item: (
            item.path.parent.name not in {room, "truth"},
            module not in texts[item.path],
            items[item],
        ),
    )
    spent = list(accumulate(items[item] for item in ranked))
    return [item for item, after in zip(ranked, spent, strict=True) if after <= BUDGET_S]


def main() -> int:
    """Try the changes, print what survived, and return 0 where that is known and little."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    only = sys.argv[2] if len(sys.argv) > 2 else ""
    changes = chosen(count, only)
    hypothesis.settings.register_profile(
        "changes", derandomize=True, database=None, deadline=None,
        phases=(hypothesis.Phase.explicit, hypothesis.Phase.generate),
    )  # fmt: skip
    hypothesis.settings.load_profile("changes")
    folders = [str(ROOT / "tests" / room) for room in TESTS]
    left_out = [f"--ignore={ROOT / 'tests' / 'truth' / name}" for name in UNTRIED]
    runner = Runner(changes)
    quiet = ("-q", "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning")
    pytest.main([*quiet, *left_out, *folders], plugins=[runner])
    with SURVIVORS.open(encoding="utf-8") as kept:
        known = {row["change"]: row["reason"] for row in csv.DictReader(kept)}
    share = 1.0 - len(runner.survivors) / max(1, len(changes))
    print(f"\n{len(changes)} changes, {100 * share:.1f} % noticed; not noticed:")
    fresh = [change for change in runner.survivors if not known.get(change.key)]
    for change in runner.survivors:
        print(f"  {change.key}  --  {known.get(change.key, 'NO REASON KEPT')}")
    whole = runner.tried == len(changes)
    return 0 if whole and share >= WANTED and not fresh else 1


if __name__ == "__main__":
    sys.exit(main())
