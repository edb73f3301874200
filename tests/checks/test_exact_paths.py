"""Paths and holes against the drawing, exactly: whatever the cells, whoever wrote the file."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon

from flushwork.built import Build
from flushwork.checks.exact_paths import FINE_MM, asked_of, chords_below
from flushwork.checks.rules.machine import outline_rules
from flushwork.checks.rules.machine.outline_rules import measured
from flushwork.core.findings import Finding, Severity, Source
from flushwork.gcode.program import gcode_file
from flushwork.job.records import ImportedFile
from flushwork.toolpaths.orders import DrillCut, GcodeFile, Operation, PocketCut, TrimCut, Work
from tests.checks.hearing import undated, written
from tests.many import examples
from tests.small_jobs import changed

SHOP = "bits: [1.588 mm flat, 3.175 mm flat, 6.35 mm flat, 25 mm facing bit, 60 deg V-bit]\n"
JOB = """\
flushwork: 2
title: Held against its drawing
cell: {cell} mm
blank: {{wood: sugar maple, length: 120 mm, width: 76 mm, thickness: 14 mm}}
trim line: {{rectangle: 92 mm x 58 mm, round: 5 mm, tabs: 4}}
mixes:
  dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
front:
  inlays:
    - {{name: plate, rectangle: 24 mm x 17 mm, at: [-26 mm, 6 mm], round: 3.5 mm, depth: 2 mm,
       fill: dark}}
    - {{name: pond, circle: 13.3 mm, at: [-2 mm, 9 mm], depth: 1.6 mm, fill: dark}}
    - {{name: letters, text: AK, font: sans bold, size: 15 mm, spacing: 20 %, at: [-20 mm, -16 mm],
       depth: 2 mm, engrave: yes, fill: dark}}
  holes:
    - {{name: pegs, grid: {{columns: 3, rows: 2, pitch: 9 mm}}, at: [26 mm, -8 mm],
       diameter: 3.175 mm, depth: 6 mm}}
    - {{name: eyes, grid: {{columns: 2, rows: 1, pitch: 16 mm}}, at: [28 mm, 14 mm],
       diameter: 7.5 mm, depth: 4 mm}}
"""


@pytest.fixture(scope="module", params=["0.1", "0.3"])
def build(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Build:
    folder = tmp_path_factory.mktemp("exact")
    return undated(written(folder, JOB.format(cell=request.param), SHOP))


def imported(file: GcodeFile, text: str) -> GcodeFile:
    """Return a file as if another program had written that text for the same order."""
    order = file.order
    source = order.bit.name
    return gcode_file(
        replace(
            order,
            imported=ImportedFile("other.nc", text, "utf-8", order.bit, None, _source(source)),
        )
    )


def _source(name: str) -> Source:
    return Source("job.yaml", 1, 1, name)


def held(build: Build, file: GcodeFile, altered: GcodeFile) -> list[Finding]:
    """Return what the exact rules say once a file is another."""
    files = tuple(altered if each is file else each for each in build.gcode_files)
    changed_case = replace(build, gcode_files=files)
    return [finding for rule in outline_rules.RULES for finding in rule(changed_case)]


def moved(text: str, dx: float, dy: float) -> str:
    """Shift every X and Y of a text, as a zero set wrongly does."""
    by = {"X": dx, "Y": dy}

    def shifted(hit: re.Match[str]) -> str:
        return f"{hit[1]}{float(hit[2]) + by[hit[1]]:.3f}"

    lines = [
        line if line.startswith("(") else re.sub(r"([XY])(-?\d+\.?\d*)", shifted, line)
        for line in text.splitlines()
    ]
    return "\n".join(lines) + "\n"


def cutting(build: Build, *works: Work) -> list[GcodeFile]:
    return [
        file
        for file in build.gcode_files
        if {each.work for each in file.order.operations} <= set(works or Work) - {Work.MILL_FLUSH}
    ]


def test_what_is_right_is_silent(build: Build) -> None:
    """Our own files, and the same text read as another program's, stay within 0.015 mm."""
    assert len(cutting(build)) >= 5
    for file in cutting(build):
        again = imported(file, file.text)
        assert again.problems == ()
        assert held(build, file, again) == []
        chords = chords_below(file.program, 0.0, file.order.origin_mm, FINE_MM)
        by = np.stack([measured(asked, chords) for asked in asked_of(build, file)])
        assert by.min(axis=0).max() < 0.015


@settings(max_examples=examples(25), deadline=None)
@given(data=st.data())
def test_a_cut_sideways_is_noticed(build: Build, data: st.DataObject) -> None:
    """Whatever the file, wherever it goes: 0.05 mm is noticed, and measured to 0.02 mm."""
    file = data.draw(st.sampled_from(cutting(build)))
    by = data.draw(st.floats(0.05, 0.4))
    angle = data.draw(st.floats(0.0, 2.0 * math.pi))
    text = moved(file.text, by * math.cos(angle), by * math.sin(angle))
    found = held(build, file, imported(file, text))
    assert found, (file.file_name, by, angle)
    assert {item.severity for item in found} == {Severity.MUST_FIX}
    off = max(item.measure.value for item in found if item.measure is not None)
    assert off == pytest.approx(by, abs=0.02)


def grown_by(file: GcodeFile, by: float) -> GcodeFile:
    """Trace the same order with its axis so much further out, as for a narrower bit."""

    def wider(region: MultiPolygon, mm: float) -> MultiPolygon:
        return MultiPolygon(shapely.get_parts(shapely.buffer(region, mm, quad_segs=32)).tolist())

    def grown(each: Operation) -> Operation:
        if isinstance(each, TrimCut):
            return replace(each, region=wider(each.region, -by))
        assert isinstance(each, PocketCut)
        return replace(each, centres=wider(each.centres, by), region=wider(each.region, by))

    operations = tuple(grown(each) for each in file.order.operations)
    return imported(file, gcode_file(replace(file.order, operations=operations)).text)


@settings(max_examples=examples(10), deadline=None)
@given(data=st.data())
def test_a_bit_of_another_width_is_noticed(build: Build, data: st.DataObject) -> None:
    """A cut 0.05 mm outside its outline all around, or inside it."""
    file = data.draw(st.sampled_from(cutting(build, Work.POCKET, Work.TRIM)))
    by = data.draw(st.floats(0.05, 0.3)) * data.draw(st.sampled_from([-1.0, 1.0]))
    found = held(build, file, grown_by(file, by))
    assert found, (file.file_name, by)
    words = "beyond the outline" if by > 0.0 else "standing inside the outline"
    assert all(words in item.message for item in found), [item.message for item in found]


@settings(max_examples=examples(12), deadline=None)
@given(data=st.data())
def test_one_hole_off_is_noticed(build: Build, data: st.DataObject) -> None:
    """Drilled straight or bored by a helix: 0.1 mm is noticed."""
    file = data.draw(st.sampled_from(cutting(build, Work.DRILL)))
    (operation,) = file.order.operations
    assert isinstance(operation, DrillCut)
    number = data.draw(st.integers(0, len(operation.points) - 1))
    by, angle = data.draw(st.floats(0.1, 0.5)), data.draw(st.floats(0.0, 2.0 * math.pi))
    points = list(operation.points)
    x, y = points[number]
    points[number] = x + by * math.cos(angle), y + by * math.sin(angle)
    other = replace(file.order, operations=(replace(operation, points=tuple(points)),))
    found = held(build, file, imported(file, gcode_file(other).text))
    assert {item.code for item in found} == {"hole-off-place"}
    assert all(item.place is not None for item in found)
    spots = [(item.place.x_mm, item.place.y_mm) for item in found if item.place is not None]
    assert all(math.dist(spot, (x, y)) < 5.0 for spot in spots)


def test_a_v_bit_too_deep_cuts_beyond_its_outline(build: Build) -> None:
    (file,) = cutting(build, Work.ENGRAVE)
    deeper = re.sub(r"Z(-\d+\.\d+)", lambda hit: f"Z{float(hit[1]) - 0.1:.3f}", file.text)
    found = held(build, file, imported(file, deeper))
    assert [item.code for item in found] == ["path-off-outline"]
    assert found[0].measure is not None
    assert found[0].measure.value == pytest.approx(0.1 * math.tan(math.radians(30.0)), abs=0.01)


def test_a_v_bit_not_deep_enough_stays_short_of_its_outline(build: Build) -> None:
    (file,) = cutting(build, Work.ENGRAVE)
    higher = re.sub(r"Z(-\d+\.\d+)", lambda hit: f"Z{float(hit[1]) + 0.1:.3f}", file.text)
    found = held(build, file, imported(file, higher))
    assert [item.code for item in found] == ["path-off-outline"]
    assert "standing inside the outline of letters" in found[0].message
    assert found[0].measure is not None
    assert found[0].measure.value == pytest.approx(0.1 * math.tan(math.radians(30.0)), abs=0.012)


def test_the_tolerance_is_printed_and_can_be_set(tmp_path: Path) -> None:
    wide = f"machine: {{cut tolerance: 0.08 mm}}\n{SHOP}"
    for shop, noticed in ((SHOP, True), (wide, False)):
        heard = undated(written(tmp_path / str(noticed), JOB.format(cell="0.3"), shop))
        file = cutting(heard, Work.POCKET)[0]
        found = held(heard, file, imported(file, moved(file.text, 0.06, 0.0)))
        assert bool(found) is noticed
        if noticed:
            assert "0.030 mm is allowed" in found[0].message
            assert "other.nc, line" in found[0].message
            assert found[0].measure is not None
            assert found[0].measure.limit == 0.03


SHAPES = st.one_of(
    st.builds(lambda w, h, r: f"rectangle: {w} mm x {h} mm, turn: {r} deg",
              st.integers(5, 30), st.integers(5, 24), st.integers(0, 89)),
    st.builds(lambda d: f"circle: {d / 10} mm", st.integers(40, 260)),
    st.builds(lambda t, s: f"text: {t}, font: sans bold, size: {s} mm",
              st.sampled_from(["B", "Q8", "XW"]), st.integers(12, 24)),
)  # fmt: skip


@settings(max_examples=examples(3), deadline=None)
@given(shape=SHAPES, seed=st.integers(0, 100), angle=st.floats(0.0, 6.28))
def test_random_shapes_right_and_shifted(
    tmp_path_factory: pytest.TempPathFactory, shape: str, seed: int, angle: float
) -> None:
    """Any shape, cut by bits of any width: silent as it is, noticed when shifted by 0.05 mm."""
    bits = [
        "1 mm flat, 3.175 mm flat",
        "1.588 mm flat, 3.175 mm flat",
        "3.175 mm flat, 6.35 mm flat",
    ][seed % 3]
    text = changed(
        "rectangle: 24 mm x 16 mm, at: [-18 mm, 0 mm], round: 3 mm", f"{shape}, at: [-16 mm, 0 mm]"
    ).replace("\ntitle:", "\ncell: 0.3 mm\ntitle:")
    folder = tmp_path_factory.mktemp("shape")
    heard = undated(written(folder, text, f"bits: [{bits}, 25 mm facing bit]\n"))
    files = [file for file in cutting(heard, Work.POCKET) if len(file.program.moves) > 3]
    for file in files:
        assert held(heard, file, imported(file, file.text)) == []
        if len(files) == 1:
            shifted = moved(file.text, 0.05 * math.cos(angle), 0.05 * math.sin(angle))
            assert held(heard, file, imported(file, shifted))
