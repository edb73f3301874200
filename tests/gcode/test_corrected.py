"""G-code files corrected by registration marks.

They land on the moved board where the old ones would.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Point, distance

from flushwork.checks import registration
from flushwork.core.findings import Source
from flushwork.gcode.corrected import Correction, corrected
from flushwork.gcode.program import gcode_file
from flushwork.job.records import RegistrationMark
from flushwork.shelf.tables import starter_shop
from flushwork.strata.cutting import segments
from flushwork.strata.replay import replay
from flushwork.strata.steps import BoardSpec, CutStep, ReplayStep
from flushwork.strata.surfaces import FaceStack
from flushwork.toolpaths.moves import Program
from flushwork.toolpaths.orders import CutOrder, GcodeFile
from tests.gcode.cut_samples import line, order_of

CELL = 0.1
BIT = next(item for item in starter_shop().bits if item.name == "1 mm flat")
Floats = NDArray[np.float64]
HERE = Source("marks", 1, 1, "")

PLACES = ((0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0))
READ = ((0.12, 0.05), (0.12, -0.04), (0.18, 0.16), (0.18, 0.25))
"""Four marks on a 300 x 200 mm board, grain along X, as read: a worked example of the trade."""


def marks(read: tuple[tuple[float, float], ...] = READ) -> list[RegistrationMark]:
    return [RegistrationMark(*at, *off, HERE) for at, off in zip(PLACES, read, strict=True)]


def ring() -> CutOrder:
    """Ask for a ring groove and a bent line, far from the zero."""
    circle = Point(250.0, 160.0).buffer(12.0, quad_segs=90).exterior
    bent = LineString([(40.0, 150.0), (120.0, 190.0), (200.0, 150.0)])
    lines = MultiLineString([LineString(circle.coords), bent])
    return order_of(line(BIT, lines=lines))


def correction() -> Correction:
    moved = registration.fit(marks(), (0.0, 0.0), grain_along_x=True)
    return Correction(moved.shift_mm, (0.0, 0.0), moved.turn_rad, 0.0, moved.stretch)


def test_the_four_marks_say_shift_turn_and_stretch() -> None:
    moved = registration.fit(marks(), (0.0, 0.0), grain_along_x=True)
    assert moved.shift_mm == pytest.approx((0.12, 0.05), abs=0.005)
    assert 1000.0 * moved.turn_rad == pytest.approx(-0.30, abs=0.005)
    assert 100.0 * moved.stretch == pytest.approx(0.10, abs=0.005)
    assert moved.worst_mm < 0.01


def test_a_sign_slip_in_the_third_is_found() -> None:
    read = (READ[0], READ[1], (-0.18, 0.16), READ[3])
    moved = registration.fit(marks(read), (0.0, 0.0), grain_along_x=True)
    assert moved.worst_mm > registration.AGREE_MM
    found = registration.misread(marks(read), (0.0, 0.0), grain_along_x=True)
    assert found is not None
    assert found[0] == 2


def moved_back(path: Floats, shift: tuple[float, float], turn: float, stretch: float) -> Floats:
    """Return places on the moved board as places of the board as it was: the true inverse."""
    away = path[:, :2] - np.array(shift)
    cos, sin = math.cos(turn), math.sin(turn)
    turned = away @ np.array([[cos, -sin], [sin, cos]])
    return np.column_stack([turned[:, 0], turned[:, 1] / (1.0 + stretch), path[:, 2]])


def path_of(file: GcodeFile, program: Program | None = None) -> Floats:
    order = file.order
    ran = CutStep(order.face, "", program or file.program, order.bit, order.origin_mm, 0.0)
    path, _ = segments(ran)
    return path[1:, 3:]


def farthest(path: Floats, other: Floats) -> float:
    """Return the greatest distance of places of one path from the line of another, below Z0."""
    cutting = path[path[:, 2] < 0.0]
    line = LineString(other[:, :2])
    return float(max(distance(Point(x, y), line) for x, y in cutting[:, :2]))


@pytest.mark.parametrize("arcs", [True, False])
@pytest.mark.parametrize("inch", [False, True])
def test_it_lands_within_a_hundredth_on_the_moved_board(arcs: bool, inch: bool) -> None:
    order = ring()
    dialect = replace(order.machine.dialect, arcs=arcs, inch=inch, decimals=4 if inch else 3)
    file = gcode_file(replace(order, machine=replace(order.machine, dialect=dialect)))
    after = corrected(file, correction(), ("corrected",))
    true = ((0.12, 0.05), -0.30e-3, 0.10e-2)
    back = moved_back(path_of(after), *true)
    plain = path_of(file)
    assert farthest(back, plain) < 0.01
    assert farthest(plain, back) < 0.01
    assert farthest(path_of(after), plain) > 0.05
    assert after.problems == ()
    assert "(corrected)" in after.text
    assert after.file_name.endswith("-corrected.nc")
    assert after.cut_s == pytest.approx(file.cut_s, rel=0.05)


def test_the_replayed_grooves_lie_where_the_moved_board_wants_them() -> None:
    """Replay both; the second board is laid back by the true movement."""
    order = ring()
    plain = replace(order.machine.dialect, arcs=False)
    file = gcode_file(replace(order, machine=replace(order.machine, dialect=plain)))
    after = corrected(file, correction(), ())
    spec = BoardSpec(300.0, 200.0, 15.0, True, CELL)
    stacks = []
    for program in (file.program, moved_back_program(after.program), after.program):
        cut = CutStep("front", "x", program, file.order.bit, (0.0, 0.0), 0.0)
        stacks.append(replay(spec, (ReplayStep(1, (cut,)),)).final.front)
    for east, west in ((0.0, 220.0), (220.0, 300.0)):
        was, back, moved = (middle(stack, east, west) for stack in stacks)
        assert back[0] == pytest.approx(was[0], rel=2e-3)
        assert math.dist(back[1:], was[1:]) < 0.01
        assert math.dist(moved[1:], was[1:]) > 0.1


def middle(stack: FaceStack, west_mm: float, east_mm: float) -> tuple[float, float, float]:
    """Return the volume cut between two lines, mm3, and the place of its middle, mm."""
    total, moment = 0.0, np.zeros(2)
    for (column, row), tile in stack.tiles.items():
        gone = (stack.plane_mm - tile.heights[-1]).astype(np.float64)
        count = gone.shape[0]
        x = (np.arange(count) + 0.5 + column * count) * CELL
        y = (np.arange(count) + 0.5 + row * count) * CELL
        gone = gone * ((x > west_mm) & (x < east_mm))
        total += gone.sum()
        moment += ((gone.sum(axis=0) * x).sum(), (gone.sum(axis=1) * y).sum())
    return total * CELL**2, moment[0] / total, moment[1] / total


def moved_back_program(program: Program) -> Program:
    places = np.array([(m.x_mm, m.y_mm, m.z_mm) for m in program.moves])
    back = moved_back(places, (0.12, 0.05), -0.30e-3, 0.10e-2)
    moves = tuple(
        replace(move, x_mm=place[0], y_mm=place[1])
        for move, place in zip(program.moves, back.tolist(), strict=True)
    )
    return replace(program, moves=moves)


def test_a_correction_by_nothing_changes_no_place() -> None:
    file = gcode_file(ring())
    still = Correction((0.0, 0.0), (0.0, 0.0), 0.0, 0.0, 0.0)
    after = corrected(file, still, ())
    # chords and arcs again, 0.001 mm each, and twice the 0.002 mm that an arc's rounding may take
    assert farthest(path_of(after), path_of(file)) < 0.006
    assert min(m.z_mm for m in after.program.moves) == min(m.z_mm for m in file.program.moves)


@settings(max_examples=40, deadline=None)
@given(
    shift=st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5)),
    turn=st.floats(-2e-3, 2e-3),
    stretch=st.floats(-3e-3, 3e-3),
    along_x=st.booleans(),
)
def test_marks_that_move_so_are_answered_so(
    shift: tuple[float, float], turn: float, stretch: float, along_x: bool
) -> None:
    by = Correction(
        shift, (0.0, 0.0), turn, 0.0 if along_x else stretch, stretch if along_x else 0.0
    )
    read = [
        RegistrationMark(x, y, by.place(x, y)[0] - x, by.place(x, y)[1] - y, HERE)
        for x, y in PLACES
    ]
    moved = registration.fit(read, (0.0, 0.0), grain_along_x=along_x)
    assert moved.worst_mm < 1e-9
    assert moved.turn_rad == pytest.approx(turn, abs=1e-12)
    assert moved.stretch == pytest.approx(stretch, abs=1e-12)
