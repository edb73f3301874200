"""Closed forms met at the end of the whole way: job text, G-code files, replay, check."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.pipeline import build
from flushwork.toolpaths.orders import Work

R = 1.5875
SHOP = """\
flushwork shop: 2
name: one bit
bits: [3.175 mm flat, 25 mm facing bit, 6.35 mm flat]
"""
JOB = """\
flushwork: 2
title: Closed forms
shop: shop.yaml
blank: {{wood: sugar maple, length: 120 mm, width: 80 mm, thickness: {thickness}}}
allowances: {{surface: 0 mm, sand: 0 mm, light sand: 0 mm}}
mixes:
  dark: {{resin: casting epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
{faces}"""
FLAT = "measured from: face as it stands, bits: [3.175 mm flat], fill: dark"


def made(folder: Path, faces: str, thickness: str = "19 mm") -> Build:
    (folder / "shop.yaml").write_text(SHOP, encoding="utf-8")
    path = folder / "job.yaml"
    path.write_text(JOB.format(faces=faces, thickness=thickness), encoding="utf-8")
    return build(path)


def removed_mm3(result: Build, work: Work) -> float:
    """Return what the files of one kind of work removed in the replay."""
    names = {
        file.file_name
        for file in result.gcode_files
        if any(operation.work is work for operation in file.order.operations)
    }
    return float(
        sum(report.removed_mm3.sum() for report in result.replay.cuts if report.file_name in names)
    )


def test_a_pocket_loses_its_four_corners(tmp_path: Path) -> None:
    """Area of a rectangle opened by a disc: a b - (4 - pi) r^2."""
    faces = f"front:\n  inlays:\n    - {{name: p, rectangle: 40 mm x 25 mm, depth: 2 mm, {FLAT}}}\n"
    result = made(tmp_path, faces)
    assert result.replay.spec.cell_mm == 0.1
    truth = 2.0 * (1000.0 - (4.0 - math.pi) * R**2)
    assert truth == pytest.approx(1995.7, abs=0.05)
    assert removed_mm3(result, Work.POCKET) == pytest.approx(truth, rel=0.01)


def test_thirty_three_flat_holes(tmp_path: Path) -> None:
    faces = (
        "front:\n  holes:\n    - {name: h, grid: {columns: 7, rows: 7, pitch: 9.13 mm, skip: "
        "[[1, 1], [2, 1], [1, 2], [2, 2], [6, 1], [7, 1], [6, 2], [7, 2], [1, 6], [2, 6], [1, 7], "
        "[2, 7], [6, 6], [7, 6], [6, 7], [7, 7]]}, diameter: 1/8 in, depth: 1/4 in}\n"
    )
    result = made(tmp_path, faces)
    (pattern,) = result.faces[0].holes
    assert [place.number for place in pattern.places] == list(range(1, 34))
    truth = 33.0 * math.pi * R**2 * 6.35
    assert truth == pytest.approx(1659.0, abs=0.2)
    assert removed_mm3(result, Work.DRILL) == pytest.approx(truth, rel=0.01)


BENT = "lines: [[[-30 mm, -10 mm], [0 mm, 0 mm], [30 mm, -14 mm]]], width: {width}, ends: round"


def test_a_bent_slot_as_wide_as_the_bit_passes(tmp_path: Path) -> None:
    line = BENT.format(width="3.175 mm")
    faces = f"front:\n  inlays:\n    - {{name: s, {line}, depth: 1 mm, {FLAT}}}\n"
    result = made(tmp_path, faces)
    assert not [item for item in result.findings if item.code == "bit-cannot-pass"]
    length_mm = math.hypot(30.0, 10.0) + math.hypot(30.0, 14.0)
    removed = removed_mm3(result, Work.LINE) + removed_mm3(result, Work.POCKET)
    bend = math.pi - (math.atan2(30.0, 10.0) + math.atan2(30.0, 14.0))
    overlap_mm2 = R**2 * (math.tan(bend / 2.0) - bend / 2.0)
    truth = length_mm * 2.0 * R + math.pi * R**2 - overlap_mm2
    assert removed == pytest.approx(truth, rel=0.01)


def test_a_slot_a_twentieth_narrower_does_not_and_the_place_is_told(tmp_path: Path) -> None:
    line = BENT.format(width="3.125 mm")
    faces = f"front:\n  inlays:\n    - {{name: s, {line}, depth: 1 mm, {FLAT}}}\n"
    result = made(tmp_path, faces)
    told = [item for item in result.findings if item.code == "bit-cannot-pass"]
    assert told
    assert told[0].stands
    place, measure = told[0].place, told[0].measure
    assert place is not None
    assert measure is not None
    assert measure.value == pytest.approx(3.125, abs=0.01)
    assert 25.0 < place.x_mm < 95.0


def test_a_pocket_under_holes_from_the_other_face(tmp_path: Path) -> None:
    """12.7 - 8 - 6 = -1.3 mm of wood between the faces."""
    faces = (
        f"front:\n  inlays:\n    - {{name: deep, rectangle: 40 mm x 25 mm, depth: 8 mm, {FLAT}}}\n"
        "back:\n  holes:\n    - {name: pegs, grid: {columns: 2, rows: 1, pitch: 10 mm}, "
        "diameter: 3.175 mm, depth: 6 mm}\n"
    )
    result = made(tmp_path, faces, thickness="12.7 mm")
    (told,) = [item for item in result.findings if item.code == "hole-meets-inlay"]
    assert told.stands
    assert told.measure is not None
    assert told.place is not None
    assert told.measure.value == pytest.approx(-1.3, abs=0.01)
    assert told.place.y_mm == pytest.approx(40.0, abs=2.0)
    assert min(abs(told.place.x_mm - x) for x in (55.0, 65.0)) < 2.0
