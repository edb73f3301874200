"""Orders, moves and comparisons for the tests of G-code file text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from flushwork.gcode.emit import write
from flushwork.shelf.items import Bit, BitKind, Dialect, Machine
from flushwork.toolpaths.drill import DrillHole
from flushwork.toolpaths.moves import Move, MoveKind, Program
from flushwork.toolpaths.orders import CutOrder, DrillCut, Operation, OperationSpan
from tests.gcode.second_reader import Visit

FLAT = Bit("flat 1/8 in", BitKind.FLAT, 3.175, 2)
DIALECT = Dialect()
MACHINE = Machine(
    name="bench router",
    travel_x_mm=400.0,
    travel_y_mm=300.0,
    travel_z_mm=80.0,
    feed_mm_min=2500.0,
    plunge_mm_min=600.0,
    rapid_mm_min=4000.0,
    spindle_min_rpm=8000.0,
    spindle_max_rpm=24000.0,
    acceleration_mm_s2=400.0,
    clear_mm=5.0,
    dialect=DIALECT,
)


def order(
    dialect: Dialect = DIALECT,
    *,
    job: str = "Travelling set",
    bit: Bit = FLAT,
    operations: tuple[Operation, ...] = (),
    notes: tuple[str, ...] = (),
) -> CutOrder:
    return CutOrder(
        name="m1 front, flat 1/8 in",
        job=job,
        face="front",
        setup=1,
        sequence=2,
        bit=bit,
        machine=replace(MACHINE, dialect=dialect),
        origin_mm=(0.0, 0.0),
        face_z_mm=-0.5,
        operations=operations,
        notes=notes,
    )


def drill_operation(points: Sequence[tuple[float, float]], depth_mm: float, flat: bool) -> DrillCut:
    return DrillCut(
        subject="peg holes",
        bit=FLAT,
        top_mm=0.0,
        floor_mm=-depth_mm,
        points=tuple(points),
        hole_mm=3.175,
        flat_bottom=flat,
    )


def rapid(x: float, y: float, z: float) -> Move:
    return Move(MoveKind.RAPID, x, y, z, spindle_rpm=18000.0)


def feed(x: float, y: float, z: float, rate: float = 900.0) -> Move:
    return Move(MoveKind.FEED, x, y, z, feed_mm_min=rate, spindle_rpm=18000.0)


def arc(start: Move, centre: tuple[float, float], turn_rad: float, z: float) -> Move:
    dx, dy = start.x_mm - centre[0], start.y_mm - centre[1]
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    return Move(
        MoveKind.ARC,
        centre[0] + dx * cos - dy * sin,
        centre[1] + dx * sin + dy * cos,
        z,
        feed_mm_min=700.0,
        centre_x_mm=centre[0],
        centre_y_mm=centre[1],
        turn_rad=turn_rad,
        spindle_rpm=18000.0,
    )


def visits(program: Program) -> list[Visit]:
    """Return where the tip comes by, an arc by its middle and its end, as the second reader."""
    found: list[Visit] = []
    x, y, z = program.start
    kinds = {MoveKind.RAPID: "rapid", MoveKind.DWELL: "dwell"}
    for move in program.moves:
        if move.kind is MoveKind.ARC:
            half = move.turn_rad / 2.0
            dx, dy = x - move.centre_x_mm, y - move.centre_y_mm
            found.append(
                (
                    "cut",
                    move.centre_x_mm + dx * math.cos(half) - dy * math.sin(half),
                    move.centre_y_mm + dx * math.sin(half) + dy * math.cos(half),
                    (z + move.z_mm) / 2.0,
                )
            )
        x, y, z = move.x_mm, move.y_mm, move.z_mm
        found.append((kinds.get(move.kind, "cut"), x, y, z))
    return found


def moving(places: Sequence[Visit]) -> list[Visit]:
    """Return the places without those that do not differ from the place before."""
    kept: list[Visit] = []
    for place in places:
        still = kept and math.dist(place[1:], kept[-1][1:]) < 1e-6
        if not (still and place[0] == "rapid"):
            kept.append(place)
    return kept


def apart_mm(one: Sequence[Visit], other: Sequence[Visit]) -> float:
    """Return the greatest distance of two ways, infinite where they differ in kind or number."""
    a, b = moving(one), moving(other)
    if [place[0] for place in a] != [place[0] for place in b]:
        return math.inf
    return max((math.dist(p[1:], q[1:]) for p, q in zip(a, b, strict=True)), default=0.0)


def emit(
    order: CutOrder,
    moves: Sequence[Move],
    drills: Sequence[DrillHole] = (),
    spans: Sequence[OperationSpan] = (),
) -> str:
    """Return the text of a G-code file that makes ``moves``."""
    return write(order, moves, drills, spans).text
