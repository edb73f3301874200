"""The public interface: what the page about it says runs, and importing it costs nothing."""

from __future__ import annotations

import ast
import doctest
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import flushwork
from tests.test_import_matrix import ROW, SOURCE

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "api.md"


def test_every_example_on_the_page_comes_out_as_printed() -> None:
    failed, tried = doctest.testfile(str(PAGE), module_relative=False)
    assert tried > 25
    assert failed == 0


def test_the_page_names_every_public_name_and_each_is_documented() -> None:
    text = PAGE.read_text("utf-8")
    named = set(re.findall(r"`([A-Za-z_]\w*)[`(]", text)) | set(
        re.findall(r"flushwork\.(\w+)", text)
    )
    for name in flushwork.__all__:
        if name.startswith("__"):
            continue
        assert name in named, name
        assert getattr(flushwork, name).__doc__, name
    assert set(flushwork.__all__) <= set(dir(flushwork))
    with pytest.raises(AttributeError):
        _ = flushwork.nothing_of_that_name


def test_importing_the_package_loads_none_of_it() -> None:
    told = (
        "import sys, flushwork; print(sorted(n for n in sys.modules if n.startswith('flushwork')))"
    )
    said = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "['flushwork']"


CALLED_BELOW = {
    "the text of the job, in the editor": {"*job.text"},
    "the bench's own files": {"cache_folder", "digest", "replace_text", "write_folder"}
    | {"write_new_bytes"},
    "the pixels of the film": {"bare_wood", "base_tile", "coarse_tops", "coverage", "grid"}
    | {"holes", "may_be_holed", "layer_inks", "looks", "opposite", "other_name", "part_of"}
    | {"pixels", "region_edges", "show_layers", "still_free", "tile_window", "tiles_under"},
    "the outlines of a face, seen close up": {"back_map", "grown"},
    "the first picture of a changed depth": {"move_floor", "shares_by_tile"},
    "a section, and a bit on its way": {"move_times_s", "section", "segments"},
}
"""The functions that the bench or a command calls below the use cases, by what for; a star stands
before a folder of which any may be called."""

BELOW = frozenset(ROW[: ROW.index("store") + 1])
FOLDERS = {name for names in CALLED_BELOW.values() for name in names if name[0] == "*"}
PUBLIC = {(home, name) for name, home in flushwork._HOME.items()}


def called_below() -> Iterator[tuple[Path, str, str]]:
    """Yield what a command or the bench imports from below and is no record and no constant."""
    for room in ("bench", "cli"):
        for path in sorted((SOURCE / room).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if not isinstance(node, ast.ImportFrom) or node.module is None:
                    continue
                home = f"{node.module}.".removeprefix("flushwork.").split(".")[0]
                if not node.module.startswith("flushwork") or home not in BELOW:
                    continue
                for each in node.names:
                    known = each.name[0].isupper() or (node.module, each.name) in PUBLIC
                    folder = "*" + ".".join(node.module.split(".")[1:3])
                    known_by = folder if folder in FOLDERS else each.name
                    if not known:
                        yield path, node.module, known_by


def test_commands_and_bench_call_nothing_below_the_use_cases() -> None:
    allowed = set().union(*CALLED_BELOW.values())
    found = list(called_below())
    over = [f"{path.name}: {home}.{name}" for path, home, name in found if name not in allowed]
    assert not over, "call a use case, or the public interface"
    unused = allowed - {name for _, _, name in found}
    assert not unused, "nobody calls these any more: take them off the list"
