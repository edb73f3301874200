"""Bits ten times too big, thin wood, breakthrough, holes over an inlay, second passes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.scenarios.expected import Scene, Told, hold
from tests.scenarios.texts import job


def line(width: str, bit: str) -> str:
    return job(
        "front: {inlays: [{name: border, lines: [[[-30 mm, 0 mm], [30 mm, 0 mm]]], "
        f"width: {width}, depth: 1.5 mm, fill: gold line, bits: [{bit}]}}]}}\n"
    )


def bit(diameter: str) -> str:
    return (
        "bits: [3.175 mm flat, 25 mm facing bit, {name: line bit, kind: flat, "
        f"diameter: {diameter}, flute length: 4 mm}}]\n"
    )


TOO_BIG = [
    Scene(
        "a 0.8 mm line and a bit of 8.0 mm",
        line("0.8 mm", "line bit"),
        (
            Told("bit-size-slip", "must fix", "border", 8.0, words=("decimal", "0.8 mm")),
            Told("bit-cannot-pass", "must fix", "border", 0.8, 0.02),
        ),
        shop=bit("8.0 mm"),
    ),
    Scene(
        "0.125 written in mm",
        line("3.175 mm", "3.175 mm flat"),
        (Told("bit-size-slip", "warning", "line bit", 0.125, words=("3.175 mm (0.125 in)",)),),
        shop=bit("0.125 mm"),
    ),
    Scene(
        "a 1.5 mm line and a bit of 15 mm",
        line("1.5 mm", "line bit"),
        (Told("bit-size-slip", "must fix", "border", 15.0, words=("decimal", "1.5 mm")),),
        shop=bit("15 mm"),
    ),
    Scene(
        "the right bit",
        line("0.8 mm", "line bit"),
        silent=("bit-size-slip", "bit-cannot-pass"),
        shop=bit("0.8 mm"),
    ),
]


def faced(
    front: float, back: float, thickness: float, *, surface: float, sand: float, more: str = ""
) -> str:
    return job(
        f"allowances: {{surface: {surface} mm, sand: {sand} mm}}\n"
        "front: {inlays: [{name: lake, rectangle: 40 mm x 30 mm, round: 4 mm, "
        f"depth: {front} mm, fill: navy{more}}}]}}\n"
        "back: {inlays: [{name: hill, rectangle: 30 mm x 20 mm, round: 4 mm, at: [10 mm, 5 mm], "
        f"depth: {back} mm, fill: navy{more}}}]}}\n",
        thickness=thickness,
    )


STANDING = ", measured from: face as it stands"
WOOD_BETWEEN = [
    # 19.0 - 2 x (0.8 + 0.3) = 16.8; 16.8 - 8.5 - 6.5 = 1.8; below the flattened face 17.4 - 15
    Scene(
        "two faces, thin board",
        faced(8.5, 6.5, 19.0, surface=0.8, sand=0.3),
        (
            Told("wood-between-too-thin", "warning", "lake", 1.8, words=("1.50 mm",)),
            Told("depth-face-unsaid", "note", "lake", 2.4),
        ),
        silent=("wood-between-gone",),
    ),
    Scene(
        "the same, measured from the flattened face",
        faced(8.5, 6.5, 19.0, surface=0.8, sand=0.3, more=STANDING),
        (Told("wood-between-too-thin", "warning", "lake", 2.4),),
        silent=("depth-face-unsaid",),
    ),
    # 16.8 - 13 = 3.8, above a fifth of 16.8 = 3.36
    Scene(
        "the front as shallow as opaque colour allows",
        faced(6.5, 6.5, 19.0, surface=0.8, sand=0.3),
        silent=("wood-between-too-thin", "wood-between-gone", "depth-face-unsaid"),
    ),
    # 19 - 2 x 0.5 = 18, no sanding; 18 - 9.5 - 6 = 2.5
    Scene(
        "no sanding at all",
        faced(9.5, 6.0, 19.0, surface=0.5, sand=0.0),
        (Told("wood-between-too-thin", "warning", "lake", 2.5),),
    ),
    # 12.0 finished, 6.5 and 6.5
    Scene(
        "thinner than both depths together",
        faced(6.5, 6.5, 13.4, surface=0.5, sand=0.2),
        (Told("wood-between-gone", "must fix", "lake", -1.0),),
        silent=("wood-between-too-thin",),
    ),
    Scene(
        "half a millimetre through",
        faced(6.5, 6.5, 13.9, surface=0.5, sand=0.2),
        (Told("wood-between-gone", "must fix", "lake", -0.5),),
    ),
    Scene(
        "just not through",
        faced(6.0, 5.9, 13.4, surface=0.5, sand=0.2),
        (Told("wood-between-too-thin", "must fix", "lake", 0.1),),
        silent=("wood-between-gone",),
    ),
    Scene(
        "just through",
        faced(7.0, 5.2, 13.4, surface=0.5, sand=0.2),
        (Told("wood-between-gone", "must fix", "lake", -0.2),),
    ),
]


def pegs(depth: str, rear: float) -> str:
    return job(
        "front: {holes: [{name: pegs, grid: {columns: 12, rows: 6, pitch: 7 mm}, "
        f"diameter: 3.175 mm, depth: {depth}}}]}}\n"
        "back: {inlays: [{name: rear, rectangle: 20 mm x 30 mm, at: [-30 mm, 0 mm], "
        f"depth: {rear} mm, fill: navy}}]}}\n",
        length=110,
        thickness=17.2,
    )


# 17.2 - 2 x 0.5 - 0.2 = 16.0 finished: the front is drilled only, and not sanded
HOLES = [
    Scene(
        "ten deep over 4.5",
        pegs("10 mm", 4.5),
        (
            Told(
                "wood-between-too-thin", "warning", "pegs", 1.5, words=("1.20 mm", "holes 13 to 15")
            ),
        ),
    ),
    Scene(
        "eight deep over 4.5",
        pegs("8 mm", 4.5),
        silent=("wood-between-too-thin", "hole-meets-inlay"),
    ),
    Scene(
        "eleven deep over 4.5",
        pegs("11 mm", 4.5),
        (Told("wood-between-too-thin", "must fix", "pegs", 0.5),),
    ),
    Scene(
        "twelve deep over 4.5",
        pegs("12 mm", 4.5),
        (Told("hole-meets-inlay", "must fix", "pegs", -0.5),),
    ),
]


def nested(first: float, second: float, *, level: float, more: str = "") -> str:
    return job(
        f"allowances: {{mill flush: {level} mm, sand: 0 mm, light sand: 0.2 mm}}\n"
        "front:\n  inlays:\n"
        f"    - {{name: body, rectangle: 40 mm x 20 mm, depth: {first} mm, "
        "measured from: face as it stands, fill: navy}\n"
        f"    - {{name: wing, circle: 10 mm, second pass of: [body], depth: {second} mm, "
        "measured from: face as it stands, fill: gold line}\n" + more
    )


NESTED = [
    # 3.0 - 0.3 = 2.7 left of the first when the second is cut 3.0
    Scene(
        "second pass too deep",
        nested(3.0, 3.0, level=0.3),
        (Told("second-pass-through", "must fix", "wing", -0.3, words=("at most 2.20 mm",)),),
        silent=("flush-milling-off",),
    ),
    Scene(
        "as deep as half a millimetre allows",
        nested(3.0, 2.2, level=0.3),
        silent=("second-pass-through", "second-pass-floor-thin", "cut-depth-off"),
    ),
    Scene(
        "0.2 mm left",
        nested(3.0, 2.5, level=0.3),
        (Told("second-pass-floor-thin", "warning", "wing", 0.2, words=("at most 2.20 mm",)),),
    ),
    Scene(
        "more milled flush away",
        nested(3.0, 2.5, level=0.8),
        (Told("second-pass-through", "must fix", "wing", -0.3, words=("at most 1.70 mm",)),),
    ),
]

SCENES = [*TOO_BIG, *WOOD_BETWEEN, *HOLES, *NESTED]


@pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)
def test_it_is_told(tmp_path: Path, scene: Scene) -> None:
    hold(tmp_path, scene)
