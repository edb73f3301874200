"""Ornament by its measures: a compass rose, border runs, corner fans, rulers and dials."""

from __future__ import annotations

import math
from typing import Final

from shapely import MultiPolygon, Polygon
from shapely.affinity import rotate, translate

from flushwork.art.contours import ellipse
from flushwork.art.layouts.laid import Laid, LaidWords, Line, areas, outline, polar
from flushwork.art.regions import many, united
from flushwork.job.keys.layouts import ROSE_LEVELS, ROSE_REACH, run_step_mm
from flushwork.job.records import BorderRun, CompassRose, CornerFans, MarkedScale, Point

BEYOND_SHARE: Final = 0.03
"""Letters begin so far beyond the tips, as a share of a rose's diameter (common practice, no
source)."""
WINDS: Final = ("N", "E", "S", "W")


def lay_rose(of: CompassRose, _: float = 0.0) -> Laid:
    """Return a rose with one point up: longer points hide shorter ones, halves share an edge.

    Seen from the middle, the half to the right of a point's ridge is the dark one.
    """
    radius = of.diameter_mm / 2.0
    waist = of.waist_mm / 2.0 if of.waist_mm else radius / 5.0
    halves: dict[str, list[MultiPolygon]] = {"dark": [], "light": []}
    hidden = MultiPolygon()
    done = 0
    for level, count in enumerate(ROSE_LEVELS[of.points]):
        spread = math.pi / max(4, count)
        offset = 0.0 if level == 0 else math.pi / done
        whole: list[Polygon] = []
        for turn in range(count):
            ridge = math.pi / 2.0 + offset + math.tau * turn / count
            tip = polar(ROSE_REACH[level] * radius, ridge)
            for name, side in (("dark", -1.0), ("light", 1.0)):
                half = Polygon([(0.0, 0.0), tip, polar(waist, ridge + side * spread)])
                halves[name].append(many(half.difference(hidden)))
                whole.append(half)
        hidden = united([hidden, *whole])
        done += count
    out = radius + BEYOND_SHARE * of.diameter_mm
    ways = [polar(1.0, math.pi / 2.0 - turn * math.pi / 2.0) for turn in range(4)]
    return Laid(
        areas={name: areas(parts) for name, parts in halves.items()},
        words={
            "letters": tuple(
                LaidWords(wind, (out * x, out * y), (x, y))
                for wind, (x, y) in zip(WINDS, ways, strict=True)
            )
        },
    )


def lay_border(of: BorderRun, tolerance_mm: float) -> Laid:
    """Return ornaments spaced evenly from corner to corner, and the two lines that hold them."""
    along, across = of.size_mm[0], of.size_mm[-1]
    half_x, half_y = (side / 2.0 for side in of.around_mm)
    corners = ((-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y))
    least = run_step_mm(of.size_mm, of.gap_mm)
    one = _ornament(of.ornament, along, across, tolerance_mm)
    corner = _ornament(
        "bars" if of.ornament == "triangles" else of.ornament, across, across, tolerance_mm
    )
    found: list[Polygon] = []
    for turn, start in enumerate(corners):
        end = corners[(turn + 1) % 4]
        count = int(math.dist(start, end) / least + 1e-9)
        found.append(translate(corner, *start))
        upright = rotate(one, 90.0 * turn, origin=(0.0, 0.0))
        for step in range(1, count):
            share = step / count
            found.append(
                translate(
                    upright,
                    start[0] + share * (end[0] - start[0]),
                    start[1] + share * (end[1] - start[1]),
                )
            )
    beside = across / 2.0 + of.gap_mm
    lines = tuple(outline(half_x + side, half_y + side) for side in (-beside, beside))
    return Laid(
        areas={"ornaments": areas(found)},
        lines={"lines": lines},
        room_mm={"lines": 2.0 * of.gap_mm},
    )


def _ornament(kind: str, along: float, across: float, tolerance_mm: float) -> Polygon:
    """Return one about its middle, for the near side of a rectangle."""
    a, b = along / 2.0, across / 2.0
    match kind:
        case "discs":
            return Polygon(ellipse(0.0, 0.0, a, b).points(tolerance_mm))
        case "diamonds":
            return Polygon([(-a, 0.0), (0.0, -b), (a, 0.0), (0.0, b)])
        case "triangles":
            return Polygon([(-a, b), (0.0, -b), (a, b)])
        case _:
            return Polygon([(-a, -b), (a, -b), (a, b), (-a, b)])


def lay_fans(of: CornerFans, tolerance_mm: float) -> Laid:
    """Return a fan of even rays in each corner."""
    half_x, half_y = (side / 2.0 for side in of.corners_of_mm)
    rays: dict[str, list[Polygon]] = {"dark": [], "light": []}
    step = math.pi / 2.0 / of.rays
    for turn, (a, b) in enumerate(((-1, -1), (1, -1), (1, 1), (-1, 1))):
        for ray in range(of.rays):
            begin = turn * math.pi / 2.0 + ray * step
            points = [
                *_bow(of.radius_mm, begin, begin + step, tolerance_mm),
                *reversed(_bow(of.inside_mm, begin, begin + step, tolerance_mm)),
            ]
            moved = [(a * half_x + x, b * half_y + y) for x, y in points]
            rays["light" if ray % 2 else "dark"].append(Polygon(moved))
    return Laid(areas={name: areas(parts) for name, parts in rays.items()})


def _bow(radius_mm: float, begin: float, end: float, tolerance_mm: float) -> list[Point]:
    """Return points on an arc, near enough that chords stay within the tolerance."""
    widest = 2.0 * math.acos(max(0.0, 1.0 - tolerance_mm / radius_mm))
    count = max(1, math.ceil((end - begin) / widest))
    return [polar(radius_mm, begin + (end - begin) * at / count) for at in range(count + 1)]


def lay_scale(of: MarkedScale, _: float = 0.0) -> Laid:
    """Return marks of three lengths and a number at each long one; a whole turn has no last one."""
    diameter, length = of.diameter_mm or 0.0, of.length_mm or 0.0
    whole = diameter > 0.0 and abs(of.sweep_rad) >= math.tau - 1e-9
    marks: list[Line] = []
    numbers: list[LaidWords] = []
    for at in range(of.steps + (0 if whole else 1)):
        rank = 2.0 if at % of.long_every == 0 else 1.5 if 2 * at % of.long_every == 0 else 1.0
        long = rank * of.mark_mm
        if diameter:
            angle = of.start_rad + of.sweep_rad * at / of.steps
            outer, inner = (polar(diameter / 2.0 - less, angle) for less in (0.0, long))
            away = polar(-1.0, angle)
            number = polar(diameter / 2.0 - 3.0 * of.mark_mm, angle)
        else:
            x = length * (at / of.steps - 0.5)
            outer, inner, away = (x, 0.0), (x, long), (0.0, 1.0)
            number = (x, 3.0 * of.mark_mm)
        marks.append((outer, inner))
        if rank == 2.0:
            value = of.first + at // of.long_every * of.counts_by
            numbers.append(LaidWords(str(value), number, away))
    room = length / of.steps
    if diameter:
        step, reach = abs(of.sweep_rad) / of.steps, {1: 2.0, 2: 1.5}.get(of.long_every, 1.0)
        left = math.tau - abs(of.sweep_rad)
        if not whole and left < step:
            step, reach = left, 2.0
        # marks beside each other; and long or middle ones, which come nearer to the middle
        pairs = [(reach, step), (2.0, of.long_every * step), (1.5, of.long_every * step / 2.0)]
        room = min(
            (diameter / 2.0 - ends * of.mark_mm) * math.sin(min(apart, math.pi / 2.0))
            for ends, apart in pairs
        )
    return Laid(
        lines={"lines": tuple(marks)},
        words={"numbers": tuple(numbers)},
        room_mm={"lines": room},
    )
