"""G-code files made by hand for the tests of the replay."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import MultiPolygon, Polygon, box

from flushwork.job.records import FaceName
from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.planes import shares_by_tile
from flushwork.strata.replay import replay
from flushwork.strata.steps import Action, BoardSpec, CutStep, ReplayStep
from flushwork.strata.surfaces import CutReport, FaceStack, Replay
from flushwork.strata.tiles import layers, tile_window
from flushwork.toolpaths.moves import Move, MoveKind, Program

Point3 = tuple[float, float, float]

CLEAR_MM = 5.0
FLAT = Bit("3.175 mm flat", BitKind.FLAT, 3.175, 1)
FINE = Bit("0.794 mm flat", BitKind.FLAT, 0.794, 2)
V_BIT_30 = Bit("30 degree V-bit", BitKind.V_BIT, 6.0, 3, angle_rad=math.radians(30.0))
BALL = Bit("3 mm ball", BitKind.BALL, 3.0, 4)


def board(
    cell_mm: float = 0.1,
    length_mm: float = 80.0,
    width_mm: float = 60.0,
    thickness_mm: float = 19.0,
    turn_about_x: bool = True,
) -> BoardSpec:
    return BoardSpec(length_mm, width_mm, thickness_mm, turn_about_x, cell_mm)


def program(*paths: Sequence[Point3]) -> Program:
    """Plunge at each path's first point, follow it, lift off."""
    moves: list[Move] = []
    for path in paths:
        x, y, _ = path[0]
        moves.append(Move(MoveKind.RAPID, x, y, CLEAR_MM))
        moves.extend(Move(MoveKind.FEED, *point) for point in path)
        moves.append(Move(MoveKind.RAPID, *path[-1][:2], CLEAR_MM))
    return Program((0.0, 0.0, CLEAR_MM), tuple(moves))


def turned(point: Point3, turn_rad: float, shift: tuple[float, float]) -> Point3:
    x, y, z = point
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    return (x * cos - y * sin + shift[0], x * sin + y * cos + shift[1], z)


def pocket_path(
    length: float, width: float, radius: float, depths: Sequence[float], step: float = 1.2
) -> list[Point3]:
    """Contour offsets of a rectangle with its lower left corner at (0, 0), deepest last."""
    path: list[Point3] = []
    for z in depths:
        offset = radius
        while offset < min(length, width) / 2.0:
            a, b, c, d = offset, offset, length - offset, width - offset
            path += [(a, b, z), (c, b, z), (c, d, z), (a, d, z), (a, b, z)]
            offset += step
        path += [(width / 2, width / 2, z), (length - width / 2, width / 2, z)]
    return path


def cut(
    bit: Bit,
    *paths: Sequence[Point3],
    face: FaceName = "front",
    turn_rad: float = 0.0,
    shift: tuple[float, float] = (0.0, 0.0),
    zero_mm: float = 0.0,
) -> CutStep:
    placed = [[turned(point, turn_rad, shift) for point in path] for path in paths]
    return CutStep(face, "by hand", program(*placed), bit, (0.0, 0.0), zero_mm)


def run(spec: BoardSpec, *actions: Action) -> Replay:
    """One stage per action, numbered from 1."""
    steps = [ReplayStep(number, (action,)) for number, action in enumerate(actions, 1)]
    return replay(spec, steps)


def cut_report(spec: BoardSpec, made: CutStep) -> CutReport:
    return run(spec, made).cuts[0]


def rectangle(west: float, south: float, east: float, north: float) -> MultiPolygon:
    return MultiPolygon([box(west, south, east, north)])


def many(polygon: Polygon) -> MultiPolygon:
    return MultiPolygon([polygon])


def inlay_volume_mm3(
    stack: FaceStack, spec: BoardSpec, material: str, region: MultiPolygon | None = None
) -> float:
    """Return the volume of a material on a face, in mm3, within a region or everywhere."""
    area = spec.cell_mm**2
    if region is None:
        return area * sum(
            float(layers(stack, tile_window(key)).thickness_mm(material).sum(dtype=np.float64))
            for key in stack.tiles
        )
    total = 0.0
    for key, share in shares_by_tile(spec, region):
        if key in stack.tiles:
            thickness = layers(stack, tile_window(key)).thickness_mm(material)
            total += float((share * thickness).sum(dtype=np.float64))
    return total * area
