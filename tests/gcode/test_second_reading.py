"""G-code files read twice, by two readers that share no code, to the same places."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.tolerances import FLATTENING_MM
from flushwork.gcode.reader.program_text import read_program
from flushwork.shelf.items import Dialect
from flushwork.toolpaths.drill import DrillHole
from flushwork.toolpaths.moves import Move, MoveKind, Program
from flushwork.toolpaths.speeds import Feeds
from flushwork.toolpaths.track import Track
from tests.gcode import second_reader
from tests.gcode.text_samples import apart_mm, arc, emit, feed, moving, order, rapid, visits

HABITS = Path(__file__).parent / "habits"
AGREE_MM = 0.001

# each file's cutting end points, worked out by hand, in mm
BY_HAND: dict[str, list[tuple[float, float, float]]] = {
    "inch-incremental": [
        (25.4, 25.4, -3.175),
        (76.2, 25.4, -3.175),
        (76.2, 50.8, -3.175),
        (25.4, 50.8, -3.175),
        (25.4, 25.4, -3.175),
    ],
    "modal-bare-axes": [
        (10, 10, -1.5),
        (60, 10, -1.5),
        (60, 40, -1.5),
        (10, 40, -1.5),
        (10, 10, -1.5),
    ],
    "radius-arcs": [(0, 0, -1), (10, 10, -1), (20, 0, -1), (10, -10, -1), (0, 0, -1)],
    "no-spaces": [(5.5, -2.25, -0.75), (5.5, -2.25, -0.75)],
    "spaces-inside": [(12.5, -3, -0.5), (20, -3, -0.5)],
    "both-comments": [(1, 2, -2), (31, 2, -2), (31, 22, -2)],
    "helix": [(25, 10, 0), (25, 10, -1), (25, 10, -2), (25, 10, -2), (20, 10, -2)],
    "drill-grid": [(8.0 * k, 0.0, -6.0) for k in range(5)] + [(50.0, 0.0, -5.0), (50.0, 8.0, -5.0)],
    "peck-inch": [
        (x * 25.4, y * 25.4, z * 25.4)
        for x, y in ((1, 1), (1.5, 1), (2, 1.25))
        for z in (-0.05, -0.2, -0.35, -0.5)
    ],
    "shifted-zero": [(25, 25, -1), (35, 25, -1), (35, 30, -1)],
    "two-zeros": [(1, 1, -1), (9, 1, -1), (101, 1, -1), (109, 1, -1)],
    "inverse-time": [(0, 0, -1), (30, 0, -1), (40, 10, -1), (50, 10, -1)],
    "bored": [(10, 10, -4), (10, 10, 8), (20, 10, -4), (20, 10, 8)],
    "mixed-units": [(25.4, 0, -1.27), (50.8, 0, -1.27), (50.8, 25.4, -1.27), (76.2, 50.8, -1.27)],
}


def test_every_habit_is_worked_out_by_hand() -> None:
    assert {path.stem for path in HABITS.glob("*.nc")} == set(BY_HAND)


@pytest.mark.parametrize("name", BY_HAND)
def test_files_in_other_habits(name: str) -> None:
    text = (HABITS / f"{name}.nc").read_text(encoding="ascii")
    program, problems = read_program(text, parameters={})
    assert problems == ()
    cuts = [
        (move.x_mm, move.y_mm, move.z_mm)
        for move in program.moves
        if move.kind in {MoveKind.FEED, MoveKind.ARC}
    ]
    assert len(cuts) == len(BY_HAND[name])
    for cut, place in zip(cuts, BY_HAND[name], strict=True):
        assert math.dist(cut, place) < AGREE_MM
    assert apart_mm(visits(program), second_reader.read(text)) < AGREE_MM


coordinates = st.floats(-250.0, 250.0, allow_nan=False)
depths = st.floats(-12.0, 4.0, allow_nan=False)
dialects = st.builds(
    Dialect,
    inch=st.booleans(),
    decimals=st.integers(3, 5),
    arcs=st.booleans(),
    cycles=st.booleans(),
    line_numbers=st.booleans(),
    program_end=st.sampled_from(["M2", "M30"]),
)


@st.composite
def ways(draw: st.DrawFn) -> tuple[Move, ...]:
    moves = [rapid(0.0, 0.0, 5.0), rapid(draw(coordinates), draw(coordinates), 5.0)]
    for _ in range(draw(st.integers(1, 12))):
        last = moves[-1]
        kind = draw(st.sampled_from(["rapid", "feed", "arc", "dwell"]))
        if kind == "rapid":
            moves.append(rapid(draw(coordinates), draw(coordinates), draw(depths)))
        elif kind == "feed":
            rate = draw(st.floats(20.0, 2000.0))
            moves.append(feed(draw(coordinates), draw(coordinates), draw(depths), rate))
        elif kind == "dwell":
            moves.append(replace(last, kind=MoveKind.DWELL, dwell_s=1.5))
        else:
            radius, angle = draw(st.floats(0.01, 60.0)), draw(st.floats(0.0, 6.3))
            centre = (last.x_mm + radius * math.cos(angle), last.y_mm + radius * math.sin(angle))
            sign = draw(st.sampled_from([-1.0, 1.0]))
            turn = sign * draw(
                st.one_of(st.floats(0.0001, 2 * math.pi), st.just(2 * math.pi), st.just(math.pi))
            )
            moves.append(arc(last, centre, turn, draw(depths)))
    return tuple(moves)


@settings(max_examples=80, deadline=None)
@given(ways(), dialects)
def test_what_is_written_is_read_alike_by_both(moves: tuple[Move, ...], dialect: Dialect) -> None:
    text = emit(order(dialect), moves)
    program, problems = read_program(text)
    assert problems == ()
    assert apart_mm(visits(program), second_reader.read(text)) < AGREE_MM


@settings(max_examples=60, deadline=None)
@given(ways(), dialects)
def test_every_place_of_the_moves_is_in_the_text(moves: tuple[Move, ...], dialect: Dialect) -> None:
    """Arcs too: their middle lies on what is read, within rounding and the chord bound."""
    read_back = visits(read_program(emit(order(dialect), moves))[0])
    at = 0
    for place in moving(visits(Program((0.0, 0.0, 0.0), moves)))[1:]:
        while at < len(read_back) and _gap(read_back, at, place[1:]) > 0.004:
            at += 1
        assert at < len(read_back), place


def _gap(way: list[second_reader.Visit], at: int, place: tuple[float, float, float]) -> float:
    """Return how far ``place`` lies from the way at step ``at``, arcs taken by their chords."""
    end = way[at][1:]
    begin = way[at - 1][1:] if at else end
    span = math.dist(begin, end)
    if span == 0.0:
        return math.dist(end, place)
    along = sum((p - b) * (e - b) for p, b, e in zip(place, begin, end, strict=True)) / span**2
    along = min(max(along, 0.0), 1.0)
    foot = [b + along * (e - b) for b, e in zip(begin, end, strict=True)]
    return math.dist(foot, place)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(coordinates, coordinates), min_size=1, max_size=8),
    st.integers(50, 2000).map(lambda hundredths: hundredths / 100.0),
    st.integers(40, 600).map(lambda hundredths: hundredths / 100.0),
    st.booleans(),
    dialects,
)
def test_canned_holes_are_the_plain_holes(
    points: list[tuple[float, float]], depth: float, peck: float, to_top: bool, dialect: Dialect
) -> None:
    """Whether the machine knows cycles or not, both readers see the same holes."""
    moves, holes = drilled(points, depth, peck, to_top)
    text = emit(order(dialect), moves, holes)
    assert ("G8" in text.replace("G80", "")) is dialect.cycles
    program, problems = read_program(text)
    assert problems == ()
    ours = visits(program)
    assert apart_mm(ours, second_reader.read(text)) < AGREE_MM
    plain = visits(read_program(emit(order(replace(dialect, cycles=False)), moves))[0])
    assert apart_mm([v for v in ours if v[0] == "cut"], [v for v in plain if v[0] == "cut"]) < 0.05
    floors = [place for place in ours if place[0] == "cut" and place[3] < 1.0 - depth + 0.01]
    assert len(floors) >= len(points)


def drilled(
    points: list[tuple[float, float]], depth: float, peck: float, to_top: bool
) -> tuple[tuple[Move, ...], tuple[DrillHole, ...]]:
    """Return pecked holes from 1 mm above to 1 mm - depth; back to 1 mm or to 5 mm."""
    moves, holes = [rapid(0.0, 0.0, 5.0)], []
    clear = 1.0 if to_top else 5.0
    for x, y in points:
        moves.append(rapid(x, y, moves[-1].z_mm))
        first = len(moves)
        if moves[-1].z_mm > 1.0:
            moves.append(rapid(x, y, 1.0))
        count = max(1, math.ceil(depth / peck - 1e-9))
        for number in range(1, count + 1):
            if number > 1:
                moves.append(rapid(x, y, clear))
                moves.append(rapid(x, y, min(1.0 - (number - 1) * peck + 0.254, clear)))
            moves.append(feed(x, y, max(1.0 - depth, 1.0 - number * peck), 180.0))
        moves.append(rapid(x, y, clear))
        holes.append(DrillHole(first, len(moves) - 1, x, y, 1.0, 1.0 - depth, peck, 0.0))
    return tuple(moves), tuple(holes)


@pytest.mark.parametrize("inch", [False, True])
@pytest.mark.parametrize("turn", [2 * math.pi, -2 * math.pi, math.pi, -1.5 * math.pi, 0.3])
@pytest.mark.parametrize("radius", [0.4, 1.5875, 19.99, 300.0])
def test_arcs_against_their_closed_form(inch: bool, turn: float, radius: float) -> None:
    start = rapid(12.3456, -7.6543, 5.0)
    bend = arc(start, (start.x_mm + radius, start.y_mm), turn, 5.0)
    text = emit(order(Dialect(inch=inch, decimals=4)), (rapid(0, 0, 5), start, bend))
    program, problems = read_program(text)
    assert problems == ()
    assert apart_mm(visits(program), second_reader.read(text)) < AGREE_MM
    arcs = [move for move in program.moves if move.kind is MoveKind.ARC]
    assert sum(move.turn_rad for move in arcs) == pytest.approx(turn, abs=0.001 / radius + 1e-6)
    for move in arcs:
        off = math.dist((move.centre_x_mm, move.centre_y_mm), (start.x_mm + radius, start.y_mm))
        assert off < AGREE_MM
        assert math.dist(
            (move.x_mm, move.y_mm), (move.centre_x_mm, move.centre_y_mm)
        ) == pytest.approx(radius, abs=AGREE_MM)
    assert math.dist((arcs[-1].x_mm, arcs[-1].y_mm), (bend.x_mm, bend.y_mm)) < AGREE_MM


@pytest.mark.parametrize("inch", [False, True])
@pytest.mark.parametrize(("radius", "sweep"), [(4.0, 2 * math.pi), (12.5, -math.pi), (60.0, 0.7)])
def test_fitted_arcs_against_their_closed_form(inch: bool, radius: float, sweep: float) -> None:
    """Chords of a circle go in; both readers see the circle again, to a micron."""
    centre, begin = (31.25, -18.5), 0.4
    chord = 2.0 * math.acos(1.0 - 0.9 * FLATTENING_MM / radius)
    count = math.ceil(abs(sweep) / chord)
    chain = [
        (
            centre[0] + radius * math.cos(begin + sweep * k / count),
            centre[1] + radius * math.sin(begin + sweep * k / count),
        )
        for k in range(count + 1)
    ]
    track = Track((0.0, 0.0), 5.0)
    track.use(Feeds(feed_mm_min=900.0, plunge_mm_min=300.0, spindle_rpm=18000.0))
    track.over(chain[0])
    track.plunge(-1.0)
    track.follow(np.array([(x, y, -1.0) for x, y in chain[1:]]))
    track.lift()
    assert len(track.moves) <= 8
    text = emit(order(Dialect(inch=inch, decimals=5 if inch else 4)), track.moves)
    program, problems = read_program(text)
    assert problems == ()
    assert apart_mm(visits(program), second_reader.read(text)) < AGREE_MM
    arcs = [move for move in program.moves if move.kind is MoveKind.ARC]
    assert sum(move.turn_rad for move in arcs) == pytest.approx(sweep, abs=0.002 / radius)
    for move in arcs:
        assert math.dist((move.centre_x_mm, move.centre_y_mm), centre) < 2 * AGREE_MM
    ways = [way for way in second_reader.read(text) if way[0] == "cut" and way[3] < 0.0]
    assert len(ways) >= 3  # its start, the middle of each arc, its end
    for _, x, y, z in ways:
        assert math.hypot(x - centre[0], y - centre[1]) == pytest.approx(radius, abs=AGREE_MM)
        assert z == pytest.approx(-1.0, abs=AGREE_MM)
    assert math.dist(ways[-1][1:3], chain[-1]) < AGREE_MM


@pytest.mark.parametrize("inch", [False, True])
@pytest.mark.parametrize("to_top", [False, True])
@pytest.mark.parametrize("peck", [20.0, 2.5])
def test_canned_holes_against_their_closed_form(inch: bool, to_top: bool, peck: float) -> None:
    """Each hole's cuts end where the pecks say, by either reader."""
    points = [(10.0, 20.0), (33.3333, 20.0), (33.3333, -7.125)]
    depth = 8.0
    moves, holes = drilled(points, depth, peck, to_top)
    text = emit(order(Dialect(inch=inch, decimals=4, cycles=True)), moves, holes)
    assert ("G83" if peck < depth else "G81") in text
    count = max(1, math.ceil(depth / peck))
    floors = [max(1.0 - depth, 1.0 - number * peck) for number in range(1, count + 1)]
    wanted = [(x, y, z) for x, y in points for z in floors]
    program, problems = read_program(text)
    assert problems == ()
    for cuts in (
        [(m.x_mm, m.y_mm, m.z_mm) for m in program.moves if m.kind is MoveKind.FEED],
        [way[1:] for way in second_reader.read(text) if way[0] == "cut"],
    ):
        assert len(cuts) == len(wanted)
        for cut, place in zip(cuts, wanted, strict=True):
            assert math.dist(cut, place) < AGREE_MM
