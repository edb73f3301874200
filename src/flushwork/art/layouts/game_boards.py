"""The boards of games, each a small table on the primitives of ``laid``."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from flushwork.art.contours import rounded_rectangle
from flushwork.art.layouts.laid import (
    Laid,
    LaidWords,
    Line,
    Serpentine,
    Station,
    areas,
    box,
    discs,
    grid_lines,
    half_turn,
    nearest_mm,
    outline,
    polar,
    rows,
    steps,
)
from flushwork.job.keys.games import MORRIS_RINGS, SOLITAIRE_ROWS
from flushwork.job.records import (
    MancalaRows,
    Morris,
    PegTrack,
    Point,
    PointedBoard,
    Solitaire,
    Squares,
    StarHalma,
)

BESIDE_SHARE: Final = 0.12
"""Numbers begin so far beside a board, as a share of a square or point (common practice, no
source)."""
AROUND: Final = ((-1, -1), (0, -1), (1, -1), (1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0))


def lay_squares(of: Squares, _: float = 0.0) -> Laid:
    """Return squares by turns, the lines between and around them, a hole in each, and its name."""
    wide, high = of.square_mm[0], of.square_mm[-1]
    across, up = steps(of.columns + 1, wide), steps(of.rows + 1, high)
    squares: dict[bool, list[Polygon]] = {True: [], False: []}
    for column in range(of.columns):
        for row in range(of.rows):
            dark = (column + row) % 2 == 0
            squares[dark].append(box(across[column], up[row], across[column + 1], up[row + 1]))
    left, low = across[0] - BESIDE_SHARE * wide, up[0] - BESIDE_SHARE * high
    letters = [
        LaidWords(_column_name(at), (x, low), (0.0, -1.0))
        for at, x in enumerate(steps(of.columns, wide))
    ]
    numbers = [
        LaidWords(str(at), (left, y), (-1.0, 0.0))
        for at, y in enumerate(steps(of.rows, high), start=1)
    ]
    return Laid(
        areas={"dark": areas(squares[True]), "light": areas(squares[False])},
        lines={"lines": grid_lines(across, up)},
        holes={"holes": rows((of.columns,) * of.rows, wide, high)},
        words={"numbers": (*letters, *numbers)},
        room_mm={"lines": min(wide, high), "holes": min(wide, high)},
    )


def _column_name(at: int) -> str:
    return chr(ord("a") + at % 26) * (at // 26 + 1)


def lay_pointed(of: PointedBoard, _: float = 0.0) -> Laid:
    """Return two tables of points; number 1 is the near right one, and so left about."""
    wide, long = of.point_mm
    foot = (wide - of.apart_mm) / 2.0
    half = long + of.between_mm / 2.0
    table = of.points * wide
    middles = [
        x + side * (table + of.bar_mm) / 2.0 for side in (-1, 1) for x in steps(of.points, wide)
    ]
    order = [(x, -1.0) for x in reversed(middles)] + [(x, 1.0) for x in middles]
    points = [
        Polygon([(x - foot, y * half), (x + foot, y * half), (x, y * of.between_mm / 2.0)])
        for x, y in order
    ]
    numbers = [
        LaidWords(str(at), (x, y * (half + BESIDE_SHARE * wide)), (0.0, y))
        for at, (x, y) in enumerate(order, start=1)
    ]
    return Laid(
        areas={"dark": areas(points[1::2]), "light": areas(points[::2])},
        lines={
            "lines": tuple(
                outline(table / 2.0, half, side * (table + of.bar_mm) / 2.0) for side in (-1, 1)
            )
        },
        words={"numbers": tuple(numbers)},
        room_mm={"lines": of.bar_mm},
    )


def lay_morris(of: Morris, _: float = 0.0) -> Laid:
    """Return squares one inside the other, eight places on each, and what joins them."""
    count = MORRIS_RINGS[of.men]
    halves = [of.size_mm / 2.0 * (count - ring) / count for ring in range(count)]
    inner = halves[-1] if count > 1 else 0.0
    lines: list[Line] = [outline(half, half) for half in halves]
    outer = halves[0]
    ways = AROUND if of.men == 12 or of.diagonals else AROUND[1::2]
    if inner:
        lines += [((a * outer, b * outer), (a * inner, b * inner)) for a, b in ways]
    else:
        half_ways = ways[: len(ways) // 2]
        lines += [((a * outer, b * outer), (-a * outer, -b * outer)) for a, b in half_ways]
    places = [(a * half, b * half) for half in halves for a, b in AROUND]
    if not inner:
        places.append((0.0, 0.0))
    step = outer / count
    return Laid(
        lines={"lines": tuple(lines)},
        holes={"holes": tuple(places)},
        room_mm={"lines": step, "holes": nearest_mm(places)},
    )


def lay_solitaire(of: Solitaire, _: float = 0.0) -> Laid:
    """Return the rows of a form."""
    places = rows(SOLITAIRE_ROWS[of.holes], of.pitch_mm, of.pitch_mm)
    return Laid(holes={"holes": places}, room_mm={"holes": of.pitch_mm})


def lay_mancala(of: MancalaRows, tolerance_mm: float) -> Laid:
    """Return rows of pits, and a long store beyond each end."""
    places = rows((of.pits,) * of.rows, of.pitch_mm, of.pitch_mm)
    high = (of.rows - 1) * of.pitch_mm + of.pit_mm
    wide = of.store_mm
    out = (of.pits - 1) / 2.0 * of.pitch_mm + of.pitch_mm - of.pit_mm / 2.0 + wide / 2.0
    round_mm = min(wide, high) / 2.0
    stores = [
        Polygon(
            rounded_rectangle(
                side * out - wide / 2.0, -high / 2.0, wide, high,
                radius_x=round_mm, radius_y=round_mm,
            ).points(tolerance_mm)
        )
        for side in (-1, 1)
        if wide > 0.0
    ]  # fmt: skip
    return Laid(
        areas={"pits": discs(places, of.pit_mm, tolerance_mm), "stores": areas(stores)},
        holes={"holes": places},
        room_mm={"holes": of.pitch_mm},
    )


def lay_star(of: StarHalma, _: float = 0.0) -> Laid:
    """Return the places where two triangles of 13 a side meet, the lines through them, six points.

    A place is named by three whole numbers whose sum is 0; each triangle is where none of them is
    more, or none less, than 4.
    """
    reach = range(-8, 9)
    named = [
        (a, b) for b in reach for a in reach if max(a, b, -a - b) <= 4 or min(a, b, -a - b) >= -4
    ]
    high = math.sqrt(3.0) / 2.0 * of.pitch_mm
    where = {(a, b): ((a + b / 2.0) * of.pitch_mm, b * high) for a, b in named}
    lines: list[Line] = []
    for da, db in ((1, 0), (0, 1), (1, -1)):
        for a, b in named:
            if (a - da, b - db) in where or (a + da, b + db) not in where:
                continue
            reached = (a, b)
            while (reached[0] + da, reached[1] + db) in where:
                reached = (reached[0] + da, reached[1] + db)
            lines.append((where[a, b], where[reached]))
    corners = [polar(4.0 * of.pitch_mm, turn * math.pi / 3.0) for turn in range(6)]
    tips = [polar(8.0 * high, (turn + 0.5) * math.pi / 3.0) for turn in range(6)]
    points = {
        f"point {turn + 1}": areas([Polygon([corners[turn], tips[turn], corners[(turn + 1) % 6]])])
        for turn in range(6)
    }
    return Laid(
        areas={"middle": areas([Polygon(corners)]), **points},
        lines={"lines": tuple(lines)},
        holes={"holes": tuple(where.values())},
        room_mm={"lines": high, "holes": of.pitch_mm},
    )


def lay_track(of: PegTrack, _: float = 0.0) -> Laid:
    """Return the lanes of a track, its start and its finish, a line and a number at each street."""
    width = (of.lanes - 1) * of.lane_mm
    wide = of.pitch_mm + of.gap_mm
    turn_mm, bend = half_turn(of.turn_streets * of.street, of.turn_streets, of.pitch_mm, of.gap_mm)
    straight, at = list[float](), wide / 2.0
    for hole in range(of.streets * of.street):
        straight.append(at)
        at += wide if (hole + 1) % of.street == 0 else of.pitch_mm
    run_mm = at - wide / 2.0
    track = Serpentine(of.runs, width, turn_mm, run_mm, tuple(straight), tuple(bend))
    places = [each for part in _track_holes(of, track).values() for each in part]
    low, high = np.min(places, axis=0), np.max(places, axis=0)
    track = replace(track, middle=(float(low[0] + high[0]) / 2.0, float(low[1] + high[1]) / 2.0))
    holes = _track_holes(of, track)
    counted = track.stations()
    ends = counted[of.street - 1 :: of.street]
    outside = -(width / 2.0 + 0.75 * of.pitch_mm)
    numbers = [
        LaidWords(str(number * of.street), end.beside(outside), (-end.left[0], -end.left[1]))
        for number, end in enumerate(ends, start=1)
    ]
    every = [place for part in holes.values() for place in part]
    lines = _between(counted, of.street, width / 2.0 + min(of.pitch_mm, turn_mm) / 2.0)
    drawn = shapely.linestrings(lines) if lines else np.empty(0)
    near = [
        float(shapely.distance(drawn[step:], drawn[:-step]).min())
        for step in range(1, min(len(drawn), of.turn_streets + 2))
    ]
    return Laid(
        lines={"lines": lines},
        holes=holes,
        words={"numbers": tuple(numbers)},
        room_mm={name: nearest_mm(every) for name in holes} | {"lines": min([wide, *near])},
    )


def _track_holes(of: PegTrack, track: Serpentine) -> dict[str, tuple[Point, ...]]:
    """Return the holes that count, those to start from and the one to finish in."""
    offsets = steps(of.lanes, of.lane_mm)
    wide = of.pitch_mm + of.gap_mm
    first, last = track.straight[0], track.straight[-1]
    before = [track.on_run(0, first - wide - index * of.pitch_mm) for index in range(of.start)]
    return {
        "track": _lanes(track.stations(), offsets),
        "start": _lanes(before, offsets),
        "finish": (track.on_run(of.runs - 1, last + wide).beside(0.0),),
    }


def _lanes(stations: list[Station], offsets: list[float]) -> tuple[Point, ...]:
    return tuple(station.beside(offset) for offset in offsets for station in stations)


def _between(stations: list[Station], street: int, half_mm: float) -> tuple[Line, ...]:
    """Return a line across the lanes half-way between every two streets."""
    found: list[Line] = []
    for at in range(street, len(stations), street):
        sides = [
            tuple(
                (one + other) / 2.0
                for one, other in zip(
                    stations[at - 1].beside(side), stations[at].beside(side), strict=True
                )
            )
            for side in (half_mm, -half_mm)
        ]
        found.append(((sides[0][0], sides[0][1]), (sides[1][0], sides[1][1])))
    return tuple(found)
