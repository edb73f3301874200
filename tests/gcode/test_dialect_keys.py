"""Every fact of a machine's dialect.

The shop file's key, and the G-code file that follows from it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import pytest

from flushwork.art.draw import draw_faces
from flushwork.core.keys.declare import declared
from flushwork.gcode.program import gcode_file
from flushwork.job.read import read_job
from flushwork.process.infer_stages import infer_plan
from flushwork.process.orders.cut_orders import cut_orders
from flushwork.shelf.items import Dialect
from flushwork.toolpaths.orders import GcodeFile
from tests.checks.hearing import written
from tests.fit.by_itself import fit_faces

JOB = """\
flushwork: 2
title: One ring and six holes
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 16 mm}
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
front:
  inlays:
    - {name: disc, circle: 20 mm, at: [-18 mm, 0 mm], depth: 1 mm, fill: dark,
       bits: [6.35 mm flat]}
  holes:
    - {name: pegs, grid: {columns: 3, rows: 2, pitch: 8 mm}, at: [20 mm, 0 mm],
       diameter: 3.175 mm, depth: 3 mm, flat bottom: no}
"""


def files_for(folder: Path, keys: str) -> tuple[GcodeFile, GcodeFile]:
    """Return the pocket's and the holes' file for a machine with these keys."""
    folder.mkdir(exist_ok=True)
    shop = f"machine: {{gcode files: {{{keys}}}}}\n" if keys else ""
    job = read_job(written(folder, JOB, shop))
    faces = draw_faces(job)
    plan = infer_plan(job, faces)
    orders = cut_orders(job, faces, fit_faces(faces, job.shop.bits), plan)
    files = [gcode_file(order) for _, order in orders]
    assert all(file.problems == () for file in files)
    (pocket,) = [file for file in files if "pocket: disc" in file.text]
    (holes,) = [file for file in files if "drill: pegs" in file.text]
    return pocket, holes


def code(file: GcodeFile) -> list[str]:
    return [line for line in file.text.splitlines() if not line.lstrip().startswith("(")]


Sees = Callable[[GcodeFile, GcodeFile], bool]


def has(file: GcodeFile, pattern: str) -> bool:
    return any(re.search(pattern, line) for line in code(file))


FACTS: list[tuple[str, str, Sees, str, Sees]] = [
    (
        "units",
        "metric", lambda pocket, _: has(pocket, r"\bG21\b") and not has(pocket, r"\bG20\b"),
        "inch", lambda pocket, _: has(pocket, r"\bG20\b") and not has(pocket, r"\bG21\b"),
    ),
    (
        "decimals",
        "2", lambda pocket, _: has(pocket, r"X-?\d+\.\d\d\b") and not has(pocket, r"X\d+\.\d{3}"),
        "5", lambda pocket, _: has(pocket, r"X-?\d+\.\d{5}\b"),
    ),
    (
        "arcs",
        "yes", lambda pocket, _: has(pocket, r"\bG[23]\b"),
        "no", lambda pocket, _: not has(pocket, r"\bG[23]\b") and has(pocket, r"\bG1\b"),
    ),
    (
        "drilling cycles",
        "yes", lambda _, holes: has(holes, r"\bG8[123]\b"),
        "no", lambda _, holes: not has(holes, r"\bG8[1-9]\b") and has(holes, r"\bG1 Z-"),
    ),
    (
        "line numbers",
        "yes", lambda pocket, _: all(re.match(r"N\d+ ", line) for line in code(pocket)),
        "no", lambda pocket, _: not has(pocket, r"^N\d"),
    ),
    (
        "file ending",
        "nc", lambda *both: all(each.file_name.endswith(".nc") for each in both),
        ".TXT", lambda *both: all(each.file_name.endswith(".txt") for each in both),
    ),
    (
        "program end",
        "M2", lambda pocket, _: code(pocket)[-1] == "M2",
        "M30", lambda pocket, _: code(pocket)[-1] == "M30",
    ),
    (
        "spindle start",
        "M3", lambda pocket, _: has(pocket, r"\bM3 S\d") and not has(pocket, r"\bM4\b"),
        "M4", lambda pocket, _: has(pocket, r"\bM4 S\d") and not has(pocket, r"\bM3\b"),
    ),
    (
        "tool change",
        "stop", lambda pocket, _: has(pocket, r"\bM0\b") and not has(pocket, r"\bM6\b"),
        "number", lambda pocket, _: has(pocket, r"\bT5 M6\b") and not has(pocket, r"\bM0\b"),
    ),
]  # fmt: skip


@pytest.mark.parametrize("fact", FACTS, ids=[fact[0] for fact in FACTS])
def test_each_key_shows_in_the_gcode_file(
    tmp_path: Path, fact: tuple[str, str, Sees, str, Sees]
) -> None:
    key, one, sees_one, other, sees_other = fact
    assert sees_one(*files_for(tmp_path / "one", f"{key}: {one}"))
    assert sees_other(*files_for(tmp_path / "other", f"{key}: {other}"))
    assert not sees_other(*files_for(tmp_path / "one", f"{key}: {one}"))


def test_there_is_a_key_and_a_test_for_every_fact() -> None:
    assert {fact[0] for fact in FACTS} == {key.name for key in declared(Dialect)}
    assert len(fields(Dialect)) == len(FACTS)


def test_the_same_work_whatever_the_dialect(tmp_path: Path) -> None:
    """Lowest places and extents agree, in inches without arcs and cycles too."""
    plain = files_for(tmp_path / "plain", "")
    other = files_for(
        tmp_path / "other", "units: inch, arcs: no, drilling cycles: no, line numbers: yes"
    )
    for ours, theirs in zip(plain, other, strict=True):
        for axis in ("x_mm", "y_mm", "z_mm"):
            values = [
                [getattr(move, axis) for move in file.program.moves] for file in (ours, theirs)
            ]
            assert min(values[0]) == pytest.approx(min(values[1]), abs=0.001)
