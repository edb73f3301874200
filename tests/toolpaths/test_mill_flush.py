"""Flush milling: the whole region faced, entered from beside it."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from shapely import MultiPolygon

from flushwork.toolpaths.moves import MoveKind
from tests.fit.shapes import QUARTER, box, disc, many
from tests.gcode.cut_samples import left_standing, level, traced, wary

FACING = replace(QUARTER, diameter_mm=25.0, pass_mm=0.5, plunges=False)
REGIONS = {
    "long": box(0, 0, 120, 50),
    "upright": box(0, 0, 40, 90),
    "apart": many(shapely.union(disc(10), box(90, 0, 110, 30))),
    "arms": many(shapely.union_all([box(0, 0, 10, 100), box(0, 0, 100, 10), box(90, 0, 100, 100)])),
    "frame": many(shapely.difference(box(0, 0, 150, 150), box(45, 45, 105, 105))),
}


@pytest.mark.parametrize("name", REGIONS)
def test_the_whole_region_is_faced(name: str) -> None:
    work = level(FACING, region=REGIONS[name], top=0.4, floor=0.15)
    moves = traced(work).moves
    assert left_standing(moves, REGIONS[name], FACING, 0.15) == []
    assert min(move.z_mm for move in moves) == 0.15
    assert wary(moves, FACING, 0.4, 5.4) == []


@pytest.mark.parametrize("name", REGIONS)
def test_the_bit_comes_down_beside_the_region(name: str) -> None:
    work = level(FACING, region=REGIONS[name], top=1.4, floor=0.15)
    moves = traced(work).moves
    for a, b in pairwise(moves):
        if b.kind is MoveKind.FEED and b.z_mm < a.z_mm:
            away = REGIONS[name].distance(shapely.Point(b.x_mm, b.y_mm))
            assert away >= FACING.radius_mm


def test_lines_lie_along_the_longer_side_no_further_apart_than_the_step() -> None:
    moves = traced(level(FACING, region=REGIONS["upright"], top=0.4, floor=0.1)).moves
    lines = sorted(
        {
            round(b.x_mm, 6)
            for a, b in pairwise(moves)
            if b.kind is MoveKind.FEED and abs(b.y_mm - a.y_mm) > 50
        }
    )
    steps = [b - a for a, b in pairwise(lines)]
    assert max(steps) <= FACING.step * FACING.diameter_mm + 1e-6


def test_depth_of_pass_holds() -> None:
    moves = traced(level(FACING, region=box(0, 0, 60, 20), top=1.4, floor=0.0)).moves
    heights = sorted({round(move.z_mm, 6) for move in moves if move.kind is MoveKind.FEED})
    assert heights == pytest.approx([0.0, 1.4 / 3, 2.8 / 3])
    assert math.isclose(moves[-1].z_mm, 6.4)


def test_nothing_proud() -> None:
    assert traced(level(FACING, region=box(0, 0, 9, 9), floor=0.0)).spans == ()
    assert traced(level(FACING, region=MultiPolygon(), top=1)).spans == ()
