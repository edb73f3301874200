"""A G-code file written anew for a board that lies, and has grown, otherwise than it was cut.

What was at p now lies at p + a + r J (p - c) + e (p - c) across the grain, with the datum c, the
shift a, the small turn r (J a quarter turn) and the stretch e: the map that registration marks
give. Straight cuts stay straight under it; arcs become chords before, since a stretched arc is
none, and where the moved chords hold arcs again they are written as those.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.gcode.emit import write
from flushwork.gcode.reader.program_text import read_program
from flushwork.gcode.run_time import run_time_s
from flushwork.toolpaths.arcs_on_grid import pieces_of
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import GcodeFile, OperationSpan

CHORD_MM: Final = 0.001
"""Greatest distance of the chords from the arc they stand for."""

Floats = NDArray[np.float64]
Place3 = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Correction:
    """A movement of the board: of the place ``about_mm`` of its face, mm and radians.

    ``stretch_x`` and ``stretch_y`` are shares; one of them is 0, along the grain.
    """

    shift_mm: tuple[float, float]
    about_mm: tuple[float, float]
    turn_rad: float
    stretch_x: float
    stretch_y: float

    def place(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Return where a place of the face lies now."""
        dx, dy = x_mm - self.about_mm[0], y_mm - self.about_mm[1]
        return (
            x_mm + self.shift_mm[0] - self.turn_rad * dy + self.stretch_x * dx,
            y_mm + self.shift_mm[1] + self.turn_rad * dx + self.stretch_y * dy,
        )


def corrected(file: GcodeFile, by: Correction, notes: Sequence[str]) -> GcodeFile:
    """Return a G-code file that cuts a moved board where ``file`` would have cut it before.

    Its zero is that of our own files, the blank's lower left corner and the wood of the face, for
    an imported file too.  ``notes`` go into its head.  Raises ``ValueError`` where it does not
    read back.
    """
    order = replace(
        file.order,
        origin_mm=(0.0, 0.0),
        face_z_mm=file.order.face_z_mm + file.order.face_above_mm,
        face_above_mm=0.0,
        notes=tuple(notes),
        imported=None,
    )
    moves, spans = _moved(file, by, order.machine.clear_mm)
    text = write(order, moves, (), spans).text
    program, problems = read_program(text)
    if problems:
        message = f"{file.file_name} does not read back: {problems[0][1]}"
        raise ValueError(message)
    stem, _, end = file.file_name.rpartition(".")
    return GcodeFile(
        order=order,
        file_name=f"{stem}-corrected.{'nc' if file.order.imported is not None else end}",
        text=text,
        program=program,
        cut_s=run_time_s(program, order.machine),
        spans=(),
    )


def _moved(
    file: GcodeFile, by: Correction, clear_mm: float
) -> tuple[list[Move], list[OperationSpan]]:
    """Return the moves on the moved board in our own zero, the first a lift, and their spans."""
    order = file.order
    lift_mm = max([clear_mm, *(move.z_mm - order.face_above_mm for move in _first_lifts(file))])
    moves = [Move(MoveKind.RAPID, 0.0, 0.0, lift_mm)]
    begins: dict[int, int] = {}
    here = file.program.start
    cutting = False
    for index, move in enumerate(file.program.moves):
        begins[index] = len(moves)
        idle = move.kind in (MoveKind.DWELL, MoveKind.RAPID)
        lifts = move.kind is MoveKind.RAPID and (move.x_mm, move.y_mm) == here[:2]
        if not cutting and (move.kind is MoveKind.DWELL or lifts):
            here = here if move.kind is MoveKind.DWELL else (move.x_mm, move.y_mm, move.z_mm)
            if move.kind is MoveKind.DWELL or move.z_mm - order.face_above_mm >= lift_mm:
                continue
        cutting = cutting or not idle
        points = np.array(
            [
                (*by.place(x + order.origin_mm[0], y + order.origin_mm[1]), z - order.face_above_mm)
                for x, y, z in (here, *_ends(here, move))
            ]
        )
        moves.extend(_between(points, move, arcs=order.machine.dialect.arcs))
        here = (move.x_mm, move.y_mm, move.z_mm)
    spans = [
        replace(span, first=begins[span.first], last=begins.get(span.last + 1, len(moves)) - 1)
        for span in file.spans
    ]
    return moves, [span for span in spans if span.first <= span.last]


def _between(points: Floats, move: Move, *, arcs: bool) -> Iterator[Move]:
    """Yield the moves through moved points (n, 3) of one move: arcs again where they are arcs."""
    kind = MoveKind.FEED if move.kind is MoveKind.ARC else move.kind
    straight = ((index, 0.0, 0.0, 0.0) for index in range(1, len(points)))
    round_again = arcs and move.kind is MoveKind.ARC
    feeds = np.full(len(points) - 1, move.feed_mm_min)
    found = pieces_of(points, feeds, CHORD_MM, CHORD_MM)
    for index, cx, cy, turn in found if round_again else straight:
        x, y, z = points[index].tolist()
        yield replace(
            move,
            kind=MoveKind.ARC if turn else kind,
            x_mm=x,
            y_mm=y,
            z_mm=z,
            centre_x_mm=cx,
            centre_y_mm=cy,
            turn_rad=turn,
        )


def _first_lifts(file: GcodeFile) -> Iterator[Move]:
    """Yield the rapids before the first cut: as high as they go it is safe to cross."""
    for move in file.program.moves:
        if move.kind not in (MoveKind.RAPID, MoveKind.DWELL):
            return
        yield move


def _ends(here: Place3, move: Move) -> Iterator[Place3]:
    """Yield where a move ends, and along an arc the ends of its chords."""
    if move.kind is not MoveKind.ARC:
        yield move.x_mm, move.y_mm, move.z_mm
        return
    dx, dy = here[0] - move.centre_x_mm, here[1] - move.centre_y_mm
    radius = math.hypot(dx, dy)
    grown = math.hypot(move.x_mm - move.centre_x_mm, move.y_mm - move.centre_y_mm) - radius
    most = 2.0 * math.acos(1.0 - CHORD_MM / radius) if radius > CHORD_MM else math.pi / 2.0
    count = max(1, math.ceil(abs(move.turn_rad) / most))
    for step in range(1, count):
        share = step / count
        angle = math.atan2(dy, dx) + share * move.turn_rad
        out = radius + share * grown
        yield (
            move.centre_x_mm + out * math.cos(angle),
            move.centre_y_mm + out * math.sin(angle),
            here[2] + share * (move.z_mm - here[2]),
        )
    yield move.x_mm, move.y_mm, move.z_mm
