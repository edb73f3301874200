"""Cut every drawing of a folder as a pocket and measure what is left and what is too much.

Each SVG file becomes a pocket 40 mm wide, traced with three bits, written as a G-code file, read
back, and swept exactly (polygons, no cells).  Printed for each bit: drawings cut, those in which
stock that the bit reaches is left above the floor (pieces over 0.02 mm2), those cut more than
0.01 mm outside the drawing, and the worst of both.  Drawings that cannot be read as areas are
counted apart.  Bring an open set of icons of your own; none is kept here.

    .venv-test/bin/python design/icons_as_pockets.py FOLDER [HOW MANY]
"""

from __future__ import annotations

import math
import sys
import time
import traceback
from pathlib import Path

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.svg.draw_svg import draw_svg
from flushwork.core.findings import JobRefusedError, Source
from flushwork.fit.discs import axis_of
from flushwork.fit.reach import reach
from flushwork.gcode.program import gcode_file
from flushwork.job.records import SvgArt
from flushwork.shelf.items import Bit
from flushwork.shelf.tables import starter_shop
from flushwork.toolpaths.moves import MoveKind, Program
from flushwork.toolpaths.orders import CutOrder, PocketCut

WIDTH_MM = 40.0
FLOOR_MM = -0.3
LEFT_MM2, OVER_MM = 0.02, 0.01
HAIR_MM = 0.01
"""Stock thinner than this is no stock: a wall may stand as far off either way."""
ROUND_MM = 0.0005
"""Rounding of the last decimal of a G-code file, and of chords."""


def ways(program: Program, height_mm: float) -> list[np.ndarray]:
    """Return the ways of the tip at ``height_mm`` or below, as points (n, 2)."""
    found: list[np.ndarray] = []
    x, y, z = program.start
    for move in program.moves:
        low = max(z, move.z_mm) <= height_mm + 1e-6
        if low and move.kind is MoveKind.FEED:
            found.append(np.array([[x, y], [move.x_mm, move.y_mm]]))
        elif low and move.kind is MoveKind.ARC:
            centre = np.array([move.centre_x_mm, move.centre_y_mm])
            radius = math.dist((x, y), centre)
            chord = 2.0 * math.acos(max(1.0 - ROUND_MM / max(radius, ROUND_MM), 0.0)) or 0.1
            count = max(2, math.ceil(abs(move.turn_rad) / chord))
            turn = math.atan2(y - centre[1], x - centre[0]) + np.linspace(0, move.turn_rad, count)
            found.append(centre + radius * np.column_stack((np.cos(turn), np.sin(turn))))
        x, y, z = move.x_mm, move.y_mm, move.z_mm
    return joined(found)


def joined(parts: list[np.ndarray]) -> list[np.ndarray]:
    """Join ways that go on where the last one ended."""
    whole: list[list[np.ndarray]] = []
    for part in parts:
        if whole and np.allclose(whole[-1][-1][-1], part[0], atol=1e-6):
            whole[-1].append(part[1:])
        else:
            whole.append([part])
    return [np.concatenate(each) for each in whole]


def swept(program: Program, height_mm: float, radius_mm: float) -> BaseGeometry:
    """Return what a flat bit's disc covers at ``height_mm`` or below."""
    lines = [points for points in ways(program, height_mm) if len(points) > 1]
    discs = [shapely.LineString(points).buffer(radius_mm, quad_segs=24) for points in lines]
    return shapely.union_all(discs)


def cut(region: MultiPolygon, bit: Bit) -> tuple[float, float, float] | None:
    """Return the largest piece left (mm2), how far outside the cut goes (mm), and the run time."""
    found = reach(region, bit, axis_of(region))
    if found.centres.is_empty:
        return None
    work = PocketCut("icon", bit, 0.0, FLOOR_MM, region, found.centres)
    order = CutOrder(
        "icon", "icons", "front", 1, 1, bit, starter_shop().machine, (0.0, 0.0), 0.0, (work,)
    )
    file = gcode_file(order)
    at_floor = swept(file.program, FLOOR_MM, bit.radius_mm)
    left = shapely.difference(found.reached, at_floor)
    pieces = [part for part in shapely.get_parts(left) if isinstance(part, Polygon)]
    thick = [
        part.area
        for part in pieces
        if part.area > LEFT_MM2 / 10.0 and not shapely.buffer(part, -HAIR_MM / 2.0).is_empty
    ]
    outline = region.boundary
    lines = [shapely.LineString(points) for points in ways(file.program, -1e-3) if len(points) > 1]
    strays = [line for line in lines if not region.covers(line)]
    nearest = min((outline.distance(line) for line in lines), default=bit.radius_mm)
    over = max(0.0, bit.radius_mm - (0.0 if strays else nearest))
    return max(thick, default=0.0), over, file.cut_s


def main() -> None:
    """Cut them all and print what was found."""
    files = sorted(Path(sys.argv[1]).glob("*.svg"))
    if len(sys.argv) > 2:
        count = int(sys.argv[2])
        files = [files[k * len(files) // count] for k in range(min(count, len(files)))]
    sizes = (0.79375, 1.0, 3.175)
    flats = [
        c
        for size in sizes
        for c in starter_shop().bits
        if c.kind == "flat" and c.diameter_mm == size
    ]
    rows = {bit.name: [0, 0, 0, 0, 0.0, 0.0, 0] for bit in flats}
    read = refused = 0
    begun_s = time.process_time()
    for file in files:
        try:
            art = SvgArt(file=file.name, layers=(), width_mm=WIDTH_MM)
            region = draw_svg(art, file.parent, Source("icons", 1, 1, ""), 0.005).region
        except JobRefusedError:
            refused += 1
            continue
        read += 1
        for bit in flats:
            row = rows[bit.name]
            try:
                result = cut(region, bit)
            except Exception:  # noqa: BLE001 - a crash of any kind is what is looked for
                row[3] += 1
                print(f"CRASH {file.name} {bit.name}\n{traceback.format_exc(limit=-3)}")
                continue
            if result is None:
                row[6] += 1
                continue
            left, over, _ = result
            row[0] += 1
            row[1] += left > LEFT_MM2
            row[2] += over > OVER_MM + ROUND_MM
            row[4], row[5] = max(row[4], left), max(row[5], over)
            if left > LEFT_MM2 or over > OVER_MM + ROUND_MM:
                print(
                    f"{file.name} {bit.name}: {left:.4f} mm2 left, {over:.4f} mm outside",
                    flush=True,
                )
    print(f"{len(files)} drawings, {read} read as areas, {refused} refused with a reason")
    for name, (done, left, over, crashed, most, far, none) in rows.items():
        print(
            f"{name:15s} {done} cut, {none} too narrow for it, {crashed} crashes; stock left in "
            f"{left} (largest piece {most:.4f} mm2), outside in {over} (farthest {far:.4f} mm)"
        )
    print(f"{time.process_time() - begun_s:.0f} s of one core")


if __name__ == "__main__":
    main()
