"""Sections along any line: what the page is told is what the replay holds at that place."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.desk.desk import Desk
from flushwork.bench.film.section_data import ABSENT_MM, section_data
from flushwork.built import Build
from flushwork.job.records import FaceName
from flushwork.pipeline import build
from flushwork.strata.planes import HOLE_MM, other_name
from flushwork.strata.surfaces import TILE_CELLS
from tests.bench.conftest import ask, waited
from tests.many import examples

SEAMED = """\
flushwork: 2
title: A lid with a seam line on each face
cell: 0.2 mm
pieces: 1
blank: {wood: sugar maple, length: 70 mm, width: 50 mm, thickness: 12 mm}
trim line: {rectangle: 60 mm x 40 mm, round: 4 mm}
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
  pale: {resin: coating epoxy, pigments: [{name: white powder, share: 3 %}]}
front:
  inlays:
    - {name: field, circle: 20 mm, at: [-12 mm, 4 mm], depth: 2 mm, fill: dark}
    - {name: edge, seam line: {along: [field], width: 1 mm, edges: all}, depth: 1.2 mm, fill: pale}
  holes:
    - {name: pegs, points: [[12 mm, -6 mm]], diameter: 3.175 mm, depth: through}
back:
  inlays:
    - {name: leaf, rectangle: 14 mm x 9 mm, at: [14 mm, 2 mm], depth: 2 mm, fill: pale}
    - {name: rim, seam line: {along: [leaf], width: 1 mm, edges: all}, depth: 1.2 mm, fill: dark}
"""
PLACES = 20
EXAMPLES = Path(__file__).parents[2] / "examples"
SHARES = st.floats(-0.05, 1.05, allow_nan=False)


@pytest.fixture(scope="module")
def seamed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    path = tmp_path_factory.mktemp("seamed") / "lid.yaml"
    path.write_text(SEAMED, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    waited(desk)
    yield desk
    desk.close()


def uppermost(made: Build, stage: int, face: FaceName, x_mm: float, y_mm: float) -> str:
    """Return what lies uppermost at a place by the replay's own cells; a hole is empty."""
    spec = made.replay.spec
    if not (0.0 <= x_mm <= spec.length_mm and 0.0 <= y_mm <= spec.width_mm):
        return ""
    state = made.replay.after(stage)
    turned = (x_mm, spec.width_mm - y_mm) if spec.turn_about_x else (spec.length_mm - x_mm, y_mm)
    stacks = []
    for name, (x, y) in ((face, (x_mm, y_mm)), (other_name(face), turned)):
        stack = state.face(name)
        column = min(int(x / spec.cell_mm), math.ceil(spec.length_mm / spec.cell_mm) - 1)
        row = min(int(y / spec.cell_mm), math.ceil(spec.width_mm / spec.cell_mm) - 1)
        tile = stack.tiles.get((column // TILE_CELLS, row // TILE_CELLS))
        if tile is None:
            stacks.append([("wood", stack.plane_mm)])
        else:
            at = (row % TILE_CELLS, column % TILE_CELLS)
            stacks.append(
                [
                    (material, float(heights[at]))
                    for material, heights in zip(tile.materials, tile.heights, strict=True)
                ]
            )
    near, far = stacks
    if near[0][1] + far[0][1] + spec.thickness_mm <= HOLE_MM:
        return ""
    for (material, top), (_, below) in zip(near[:0:-1], near[-2::-1], strict=True):
        if top - below > ABSENT_MM:
            return material
    return "wood"


def told(data: dict[str, Any], at_mm: float) -> str:
    """Return what a section shows uppermost so far along its line."""
    positions = data["positions"]
    right = int(np.searchsorted(positions, at_mm))
    nearest = min((max(0, right - 1), min(right, len(positions) - 1)),
                  key=lambda i: abs(positions[i] - at_mm))  # fmt: skip
    if nearest in data["hole"]:
        return ""
    tops = [(layer["material"], layer["top"][nearest]) for layer in data["near"]]
    for (material, top), (_, below) in zip(tops[:0:-1], tops[-2::-1], strict=True):
        if top - below > ABSENT_MM:
            return str(material)
    return "wood"


def agrees(made: Build, data: dict[str, Any], stage: int, line: tuple[float, ...]) -> int:
    """Hold a section to the replay at places along it; return at how many it was held.

    Where the replay itself changes within a step on either side, either is right.
    """
    x0, y0, x1, y1 = line
    face: FaceName = data["face"]
    length_mm = data["length_mm"]
    step_mm = 1.5 * max(made.replay.spec.cell_mm, length_mm / 2000.0)
    held = 0
    for share in (np.arange(PLACES) + 0.5) / PLACES:
        offs = {-step_mm, -step_mm / 2.0, 0.0, step_mm / 2.0, step_mm}
        # a line that begins at the very corner of the board has one column on it
        nearest = min(data["positions"], key=lambda each: abs(each - share * length_mm))
        offs |= {off for off in (nearest - share * length_mm,) if abs(off) < step_mm}
        near = {
            uppermost(made, stage, face, x0 + (x1 - x0) * s, y0 + (y1 - y0) * s)
            for s in (min(1.0, max(0.0, share + off / length_mm)) for off in offs)
        }
        assert told(data, share * length_mm) in near, (line, share, near)
        held += len(near) == 1
    return held


@given(
    ends=st.tuples(SHARES, SHARES, SHARES, SHARES),
    back=st.booleans(),
    late=st.floats(0.0, 1.0),
)
@example(ends=(0.05, 0.95, 0.95, 0.95), back=False, late=1.0)
@example(ends=(0.05, 0.95, 0.95, 0.95), back=True, late=1.0)
@example(ends=(0.0, 0.0, 0.03125, -0.03125), back=False, late=0.0)
@settings(max_examples=examples(20), deadline=None)
def test_every_line_is_answered_with_what_the_replay_holds(
    seamed: Desk, ends: tuple[float, ...], *, back: bool, late: float
) -> None:
    snapshot = waited(seamed)
    made, spec = snapshot.made, snapshot.made.replay.spec
    line = tuple(
        round(share * size, 3)
        for share, size in zip(ends, (spec.length_mm, spec.width_mm) * 2, strict=True)
    )
    states = made.replay.states
    stage = states[round(late * (len(states) - 1))].stage
    x0, y0, x1, y1 = line
    answer = ask(
        seamed,
        "GET",
        f"/board/{snapshot.generation}/section?stage={stage}&face={'back' if back else 'front'}"
        f"&x0={x0}&y0={y0}&x1={x1}&y1={y1}",
    )
    if math.dist((x0, y0), (x1, y1)) < spec.cell_mm:
        assert answer.status_code == 400, answer.text
        return
    assert answer.status_code == 200, (line, answer.text)
    agrees(made, answer.json(), stage, line)


def test_a_line_of_no_length_is_refused_in_words(seamed: Desk) -> None:
    snapshot = waited(seamed)
    path = f"/board/{snapshot.generation}/section?stage=0&face=front&x0=9&y0=9&x1=9&y1=9"
    answer = ask(seamed, "GET", path)
    assert answer.status_code == 400
    assert "length" in answer.json()["error"]


def test_the_seams_a_line_crosses_are_told_where_it_crosses_them(seamed: Desk) -> None:
    made = waited(seamed).made
    last = made.replay.final.stage
    across = section_data(made, last, "front", (2.0, 29.0), (68.0, 29.0))
    assert {seam["name"] for seam in across["seams"]} == {"edge"}
    beside = section_data(made, last, "front", (2.0, 3.0), (68.0, 3.0))
    assert beside["seams"] == []


@pytest.mark.skipif("FLUSHWORK_MANY" not in os.environ, reason="many lines on whole examples")
@pytest.mark.parametrize("name", ["coaster", "house-sign", "tray", "kingfisher"])
def test_a_thousand_lines_on_each_face_of_the_examples(name: str) -> None:
    """A thousand lines at ``FLUSHWORK_MANY=50``, on both faces and after random stages."""
    made = build(EXAMPLES / name / "job.yaml")
    spec = made.replay.spec
    rng = np.random.default_rng(7)
    stages = [state.stage for state in made.replay.states]
    faces: tuple[FaceName, ...] = ("front", "back")
    for face in faces:
        lines = held = 0
        while lines < examples(20):
            ends = rng.uniform(-0.02, 1.02, 4) * ([spec.length_mm, spec.width_mm] * 2)
            line = tuple(float(each) for each in np.round(ends, 3))
            stage = int(rng.choice(stages))
            data = section_data(made, stage, face, line[:2], line[2:])  # type: ignore[arg-type]
            json.dumps(data, allow_nan=False)
            held += agrees(made, data, stage, line)
            lines += 1
        assert held > 0.8 * lines * PLACES, "most places lie well within one material"
