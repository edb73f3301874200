"""Volumes of the replay against closed forms of plane and solid geometry.

Area of a rectangle with corners rounded to r: l w - (4 - pi) r^2.  Disc: pi r^2.  Slot of width w
and length L with round ends: w L + pi w^2 / 4.  Groove of a cone of full angle a, depth d, length
L: L d^2 tan(a/2) + pi/3 d^3 tan^2(a/2).  Spherical cap: pi h^2 (3 r - h) / 3.  (Any handbook of
mensuration, such as CRC Standard Mathematical Tables, 30th edition, chapter 4.)
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold, OpType
from shapely import LineString, box

from flushwork.core.tolerances import CELL_MM
from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.measure import least_wood_between_faces
from flushwork.strata.replay import choose_cell_mm
from flushwork.strata.steps import Fill, Plane
from flushwork.strata.tiles import grid, surface
from flushwork.toolpaths.moves import Move, MoveKind, Program
from tests.strata.hand_made import (
    BALL,
    FINE,
    FLAT,
    V_BIT_30,
    board,
    cut,
    cut_report,
    inlay_volume_mm3,
    many,
    pocket_path,
    rectangle,
    run,
)

R = FLAT.radius_mm
POCKET_MM3 = 2.0 * (1000.0 - (4.0 - math.pi) * R * R)

shifts = st.floats(0.0, 0.3)
turns = st.floats(-math.pi, math.pi)


def test_pocket_40_by_25_by_2() -> None:
    report = cut_report(
        board(), cut(FLAT, pocket_path(40, 25, R, (-0.7, -1.4, -2.0)), shift=(20, 18))
    )
    assert pytest.approx(1995.7, abs=0.05) == POCKET_MM3
    assert report.removed_mm3.sum() == pytest.approx(POCKET_MM3, rel=1e-4)


@settings(max_examples=12, deadline=None)
@given(dx=shifts, dy=shifts, turn=turns)
def test_pocket_off_the_lattice(dx: float, dy: float, turn: float) -> None:
    made = cut(FLAT, pocket_path(40, 25, R, (-1.0, -2.0)), turn_rad=turn, shift=(60 + dx, 60 + dy))
    report = cut_report(board(length_mm=120, width_mm=120), made)
    assert report.removed_mm3.sum() == pytest.approx(POCKET_MM3, rel=2e-3)


def test_33_flat_bottom_holes() -> None:
    holes = [
        [(10.0 + 6.13 * column, 10.0 + 7.07 * row, -6.35)]
        for column in range(11)
        for row in range(3)
    ]
    report = cut_report(board(), cut(FLAT, *holes))
    truth = 33 * 6.35 * math.pi * R * R
    assert truth == pytest.approx(1659.0, abs=0.5)
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=2e-3)


@settings(max_examples=15, deadline=None)
@given(dx=shifts, dy=shifts, turn=turns)
def test_fine_slot_straight_at_any_angle(dx: float, dy: float, turn: float) -> None:
    line = [(-15.0, 0.0, -0.5), (15.0, 0.0, -0.5)]
    report = cut_report(board(), cut(FINE, line, turn_rad=turn, shift=(40 + dx, 30 + dy)))
    truth = 0.5 * (30.0 * 0.794 + math.pi * 0.397**2)
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=4e-3)


def test_fine_slot_on_the_diagonal() -> None:
    line = [(10.0, 10.0, -0.5), (40.0, 40.0, -0.5)]
    report = cut_report(board(), cut(FINE, line))
    truth = 0.5 * (30.0 * math.sqrt(2.0) * 0.794 + math.pi * 0.397**2)
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=2e-3)


@settings(max_examples=10, deadline=None)
@given(dx=shifts, dy=shifts, radius=st.floats(2.0, 20.0))
def test_fine_slot_on_a_circle(dx: float, dy: float, radius: float) -> None:
    x, y = 40.0 + dx, 30.0 + dy
    moves = (
        Move(MoveKind.RAPID, x + radius, y, 5.0),
        Move(MoveKind.FEED, x + radius, y, -0.5),
        Move(MoveKind.ARC, x + radius, y, -0.5, centre_x_mm=x, centre_y_mm=y, turn_rad=2 * math.pi),
        Move(MoveKind.RAPID, x + radius, y, 5.0),
    )
    made = cut(FINE)
    made = type(made)("front", "arc", Program((0.0, 0.0, 5.0), moves), FINE, (0.0, 0.0), 0.0)
    truth = 0.5 * 0.794 * 2.0 * math.pi * radius
    assert cut_report(board(), made).removed_mm3.sum() == pytest.approx(truth, rel=4e-3)


def test_v_bit_groove_of_30_degrees_1_mm_deep() -> None:
    cell = choose_cell_mm(2.0 * math.tan(math.radians(15.0)))
    line = [(15.03, 20.02, -1.0), (65.03, 20.02, -1.0)]
    replayed = run(board(cell), cut(V_BIT_30, line))
    tangent = math.tan(math.radians(15.0))
    heights = surface(replayed.final.front, grid(replayed.spec), 0)
    section = -heights[:, int(40.0 / cell)]
    assert section.sum(dtype=np.float64) * cell == pytest.approx(tangent, rel=0.01)
    # the width at the face, from where both walls, fitted, meet it
    across = (np.arange(section.size) + 0.5) * cell
    wall = (section > 0.25) & (section < 0.75)
    near, far = wall & (across < 20.02), wall & (across > 20.02)
    edges = [
        np.polynomial.Polynomial.fit(across[side], section[side], 1).roots()[0]
        for side in (near, far)
    ]
    assert edges[1] - edges[0] == pytest.approx(2.0 * tangent, abs=0.01)
    assert replayed.cuts[0].removed_mm3.sum() == pytest.approx(
        50.0 * tangent + math.pi / 3.0 * tangent**2, rel=0.01
    )
    assert replayed.cuts[0].bite_mm.max() == pytest.approx(1.0, abs=0.1)


def test_v_bit_groove_as_many_short_moves_is_the_same() -> None:
    line = [(15.0 + 0.05 * n, 20.0 + 0.011 * n, -1.0) for n in range(600)]
    report = cut_report(board(0.05), cut(V_BIT_30, line))
    length = math.hypot(0.05 * 599, 0.011 * 599)
    tangent = math.tan(math.radians(15.0))
    truth = length * tangent + math.pi / 3.0 * tangent**2
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=0.01)


@settings(max_examples=8, deadline=None)
@given(dx=shifts, turn=turns)
def test_v_bit_groove_60_degrees_3_mm(dx: float, turn: float) -> None:
    v_bit = Bit("60 degree V-bit", BitKind.V_BIT, 12.0, 5, angle_rad=math.radians(60.0))
    made = cut(v_bit, [(-20, 0, -3.0), (20, 0, -3.0)], turn_rad=turn, shift=(40 + dx, 35))
    report = cut_report(board(width_mm=70), made)
    assert report.removed_mm3.sum() == pytest.approx(217.27087, rel=5e-3)


@pytest.mark.parametrize("tip", [0.0, 0.2])
def test_v_bit_plunge_is_a_frustum(tip: float) -> None:
    v_bit = Bit("V-bit", BitKind.V_BIT, 6.0, 5, tip_mm=tip, angle_rad=math.radians(90.0))
    report = cut_report(board(), cut(v_bit, [(20.03, 20.01, -2.0)]))
    a, b = tip / 2.0, tip / 2.0 + 2.0
    truth = math.pi * 2.0 / 3.0 * (a * a + a * b + b * b)
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=5e-3)


def test_pointed_drill() -> None:
    drill = Bit("drill", BitKind.DRILL, 6.0, 6, angle_rad=math.radians(118.0))
    report = cut_report(board(), cut(drill, [(20.03, 20.01, -8.0)]))
    point = 3.0 / math.tan(math.radians(59.0))
    truth = math.pi * 9.0 * (8.0 - point) + math.pi * 9.0 * point / 3.0
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=5e-3)


def test_ball_groove() -> None:
    report = cut_report(board(), cut(BALL, [(15, 20.02, -1.0), (55, 20.02, -1.0)]))
    half = math.acos((1.5 - 1.0) / 1.5)
    segment = 1.5**2 * (half - math.sin(half) * math.cos(half))
    truth = 40.0 * segment + math.pi * (3.0 * 1.5 - 1.0) / 3.0
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=5e-3)


def test_ramp_of_a_flat_bit() -> None:
    # the floor under a ramp lies at the tip's height where its rim last passed: per width v,
    # full depth over the semicircle behind, then rising evenly; with both ends on the disc
    report = cut_report(board(), cut(FLAT, [(20, 30, 0.0), (50, 30, -3.0)]))
    slope = 3.0 / 30.0
    # along the row at v the floor at x is -slope (x + h) up to x = 30 - h, then -3, h = half chord
    rows = np.linspace(-R, R, 20001)
    half = np.sqrt(np.maximum(0.0, R * R - rows**2))
    area = slope * 30.0**2 / 2.0 + 3.0 * 2.0 * half
    truth = float(np.trapezoid(area, rows))
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=5e-3)


def test_ramp_of_a_v_bit() -> None:
    # a cone moved down a line less steep than its side: the envelope is still a wedge
    tangent = math.tan(math.radians(15.0))
    report = cut_report(board(0.05), cut(V_BIT_30, [(15, 20, 0.0), (55, 20, -2.0)]))
    slope, steep = 2.0 / 40.0, 1.0 / tangent
    # z(v) = z(x) + |v| sqrt(steep^2 - slope^2) before the end cone (calculus of envelopes)
    side = math.sqrt(steep**2 - slope**2)
    wedge = (slope**2 * 40.0**3 / 3.0) / side
    cone_half = math.pi / 6.0 * 2.0**3 * tangent**2
    assert report.removed_mm3.sum() == pytest.approx(wedge + cone_half, rel=0.01)


def test_helix_makes_a_round_hole_with_a_ramp_for_a_floor() -> None:
    x, y, orbit = 30.0, 30.0, 1.2
    moves = [Move(MoveKind.RAPID, x + orbit, y, 0.0)]
    moves += [
        Move(
            MoveKind.ARC, x + orbit, y, -0.5 * n, centre_x_mm=x, centre_y_mm=y, turn_rad=2 * math.pi
        )
        for n in (1, 2, 3, 4)
    ]
    moves.append(
        Move(MoveKind.ARC, x + orbit, y, -2.0, centre_x_mm=x, centre_y_mm=y, turn_rad=2 * math.pi)
    )
    made = type(cut(FLAT))(
        "front", "helix", Program((0, 0, 5), tuple(moves)), FLAT, (0.0, 0.0), 0.0
    )
    report = cut_report(board(), made)
    assert report.removed_mm3.sum() == pytest.approx(2.0 * math.pi * (R + orbit) ** 2, rel=3e-3)
    turn_mm3 = report.removed_mm3[1:5]
    assert turn_mm3[1] == pytest.approx(0.5 * math.pi * (R + orbit) ** 2, rel=5e-3)


def _tool_at(bit: Bit, point: tuple[float, float, float]) -> Manifold:
    x, y, z = point
    r, tall = bit.radius_mm, 30.0
    if bit.kind is BitKind.BALL:
        ball = Manifold.sphere(r, 128).translate([0.0, 0.0, r])
        solid = Manifold.batch_hull([ball, ball.translate([0.0, 0.0, tall])])
    elif bit.kind is BitKind.V_BIT:
        high = (r - bit.tip_mm / 2.0) / math.tan(bit.angle_rad / 2.0)
        cone = Manifold.cylinder(high, bit.tip_mm / 2.0, r, 128)
        solid = Manifold.batch_hull([cone, cone.translate([0.0, 0.0, tall])])
    else:
        solid = Manifold.cylinder(tall, r, r, 256)
    return solid.translate([x, y, z])


@pytest.mark.parametrize(
    "bit",
    [
        FLAT,
        BALL,
        Bit("60 degree V-bit", BitKind.V_BIT, 8.0, 5, tip_mm=0.3, angle_rad=math.radians(60.0)),
    ],
    ids=lambda bit: bit.kind.value,
)
def test_against_a_solid_geometry_library(bit: Bit) -> None:
    """A convex bit moved along a line sweeps the hull of its two ends; united and subtracted."""
    path = [
        (10.0, 12.0, -0.4),
        (48.0, 17.0, -2.6),
        (30.0, 44.0, -2.6),
        (55.0, 50.0, 0.5),
        (61.0, 22.0, -3.2),
        (61.0, 22.0, -4.0),
        (15.0, 30.0, -1.0),
    ]
    blank = Manifold.cube([80.0, 60.0, 19.0]).translate([0.0, 0.0, -19.0])
    swept = [Manifold.batch_hull([_tool_at(bit, a), _tool_at(bit, b)]) for a, b in pairwise(path)]
    left = blank - Manifold.batch_boolean(swept, OpType.Add)
    report = cut_report(board(), cut(bit, path))
    assert report.removed_mm3.sum() == pytest.approx(blank.volume() - left.volume(), rel=4e-3)


def test_fill_takes_the_pocket_s_volume() -> None:
    region = many(box(20, 18, 60, 43).buffer(-R).buffer(R, quad_segs=64))
    made = cut(FLAT, pocket_path(40, 25, R, (-1.0, -2.0)), shift=(20, 18))
    replayed = run(board(), made, Fill("front", "p", "teal", region, 0.0, 0.0, 0.97))
    liquid = replayed.poured[0]
    assert liquid.pocket_mm3 == pytest.approx(POCKET_MM3, rel=1e-3)
    assert liquid.over_mm3 == 0.0
    assert liquid.greatest_mm == pytest.approx(2.0, abs=1e-3)
    left = inlay_volume_mm3(replayed.final.front, replayed.spec, "teal")
    assert left == pytest.approx(0.97 * POCKET_MM3, rel=1e-3)


def test_overfilled_fill_adds_its_overfill() -> None:
    made = cut(FLAT, pocket_path(40, 25, R, (-2.0,)), shift=(20, 18))
    overfilled = Fill("front", "p", "teal", rectangle(20, 18, 60, 43), 0.4, 1.0, 1.0)
    liquid = run(board(), made, overfilled).poured[0]
    grown_mm2 = 40 * 25 + 2 * (40 + 25) * 1.0 + math.pi
    assert liquid.pocket_mm3 == pytest.approx(POCKET_MM3, rel=1e-3)
    assert liquid.over_mm3 == pytest.approx(0.4 * grown_mm2, rel=2e-3)


def test_recess_after_cure() -> None:
    """A scraped slot keeps its share of thickness: recess = depth (1 - keeps)."""
    line = [(15.0, 20.0, -0.5), (55.0, 20.0, -0.5)]
    region = many(LineString([(15, 20), (55, 20)]).buffer(0.397, quad_segs=64))
    keeps = 0.811 * 0.97
    replayed = run(board(), cut(FINE, line), Fill("front", "l", "gold", region, 0.0, 0.0, keeps))
    top = surface(replayed.final.front, grid(replayed.spec), -1)
    assert -float(top[200, 350]) == pytest.approx(0.5 * (1.0 - keeps), abs=1e-5)


@pytest.mark.parametrize(
    ("front_mm", "back_mm", "zero_mm", "wood_between_mm"),
    [(8.5, 6.5, -1.1, 1.8), (8.5, 6.5, -0.8, 2.4)],
    ids=["below the finished face", "below the flattened face"],
)
def test_wood_between_of_two_faces(
    front_mm: float, back_mm: float, zero_mm: float, wood_between_mm: float
) -> None:
    """19.0 sawn, 0.8 surfaced and 0.3 sanded off each face, 8.5 and 6.5 deep.

    Wood between the faces = what stands between the planes the depths count from, less both depths.
    """
    pocket = pocket_path(20, 12, R, (-2.0, -4.0, -6.5))
    deep = pocket_path(20, 12, R, (-2.0, -4.0, -6.0, -8.5))
    replayed = run(
        board(),
        Plane("front", -0.8, "surfaced"),
        Plane("back", -0.8, "surfaced"),
        cut(FLAT, deep, shift=(20, 18), zero_mm=zero_mm),
        cut(FLAT, pocket, face="back", shift=(30, 60 - 18 - 12 - 3), zero_mm=zero_mm),
        Plane("front", -1.1, "sanded"),
        Plane("back", -1.1, "sanded"),
    )
    found = least_wood_between_faces(replayed.final, replayed.spec)
    assert found is not None
    assert found.wood_between_mm == pytest.approx(wood_between_mm, abs=1e-3)
    assert 30.0 < found.x_mm < 40.0
    assert 21.0 < found.y_mm < 30.0
    assert replayed.thickness_table[-1].thickness_mm == pytest.approx(16.8)


def test_breakthrough_is_a_negative_wood_between() -> None:
    """12.0 finished with 6.5 deep from each face is through by 1.0."""
    pocket = pocket_path(20, 12, R, (-2.0, -4.0, -6.5))
    replayed = run(
        board(thickness_mm=12.0),
        cut(FLAT, pocket, shift=(20, 18)),
        cut(FLAT, pocket, face="back", shift=(20, 30)),
    )
    found = least_wood_between_faces(replayed.final, replayed.spec)
    assert found is not None
    assert found.wood_between_mm == pytest.approx(-1.0, abs=1e-3)


def test_hole_over_pocket() -> None:
    """A pocket 8 mm deep under 6 mm holes in a blank of 12.7: -1.3 mm."""
    replayed = run(
        board(thickness_mm=12.7),
        cut(FLAT, pocket_path(20, 12, R, (-4.0, -8.0)), shift=(20, 18)),
        Fill("front", "p", "teal", rectangle(20, 18, 40, 30), 0.3, 1.0, 1.0),
        cut(FLAT, [(30.0, 60.0 - 24.0, -6.0)], face="back"),
    )
    found = least_wood_between_faces(replayed.final, replayed.spec, rectangle(20, 18, 40, 30))
    assert found is not None
    assert found.wood_between_mm == pytest.approx(-1.3, abs=1e-3)
    assert (found.x_mm - 30.0) ** 2 + (found.y_mm - 24.0) ** 2 < R * R


def test_default_cell_serves_the_fine_slot() -> None:
    assert choose_cell_mm(0.794) == CELL_MM
