"""Is the board cut where it shall be, as deep as it shall be, and nowhere else?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from shapely import MultiPolygon, Point

from flushwork.art.drawn import Drawn, DrawnFace, DrawnHoles
from flushwork.art.regions import many, united
from flushwork.built import Build
from flushwork.checks.expected_board import (
    apart,
    finished_mm,
    just_cut,
    left_proud_mm,
    made_at,
    to_front,
    wood_mm,
)
from flushwork.checks.rules.board.thickness_rules import ROUNDING_MM
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Place, Subject
from flushwork.process.hanger_slots import hanger_slots
from flushwork.process.orders.drill_orders import hole_bit, trim_bit
from flushwork.process.shaped_edges import shaped_edge
from flushwork.process.stages import StageKind
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import BitKind
from flushwork.strata.planes import grown, region_window, shares_by_tile
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import FaceStack, Heights, TileStack
from flushwork.strata.tiles import Window, grid, part_of, surface, tile_window
from flushwork.toolpaths.moves import Program, table_of

OTHER_DEPTH_MM: Final = 0.1
"""Cut this much deeper or shallower than asked is another depth (assumed, 0.05 to 0.15 mm)."""
EDGE_MM: Final = 0.2
"""An edge's blur in the cells, and what a bit's rounded corner leaves."""
SCRATCH_MM: Final = 0.05
"""Wood lower than its plane by this much has been cut."""
NOWHERE: Final = np.zeros((1, 1), np.float32)
STRAY_MM2: Final = 0.3
"""Less than this is rounding."""
TRIMMED_SHARE: Final = 0.75
"""Tabs and inner corners leave at most a quarter of the kerf standing."""
Place3 = tuple[float, float, float]


def cut_depth_off(build: Build) -> Iterator[Finding]:
    """Yield a must fix for what is cut to another floor, as replayed, than the job wants."""
    for cut in just_cut(build):
        if cut.drawn.region.is_empty or not build.fit(cut.drawn.inlay.name).bits:
            continue
        if cut.floor_mm < cut.wood_mm:
            yield from _floor(build, cut.drawn, cut.stack, cut.floor_mm)
    for face in build.faces:
        for drawn in face.pockets:
            stage = made_at(build, drawn.pocket.name)
            if stage is None or drawn.region.is_empty or not build.fit(drawn.pocket.name).bits:
                continue
            stack = build.replay.after(stage.number).face(face.name)
            meant_mm = finished_mm(build, face.name) - drawn.pocket.depth_mm
            yield from _floor(build, drawn, stack, meant_mm)


def _floor(build: Build, drawn: Drawn, stack: FaceStack, meant_mm: float) -> Iterator[Finding]:
    spec = build.replay.spec
    lowest = _floor_mm(part_of(stack, region_window(spec, drawn.region)), spec, drawn.region)
    if lowest is None:
        return
    off = meant_mm - lowest
    if abs(off) < OTHER_DEPTH_MM - ROUNDING_MM or (off < 0.0 and drawn.thing.v_bit):
        return
    spot = drawn.region.representative_point()
    deeper = off > 0.0
    yield Finding.must_fix(
        "cut-depth-off",
        message=f"As the G-code files replay, {drawn.thing.name} is cut {abs(off):.2f} mm "
        f"{'deeper' if deeper else 'less deep'} than the job asks.",
        remedy="Do not run these files: a depth or a zero in them differs from the job.",
        subjects=(drawn.subject,),
        source=drawn.thing.depth_source,
        place=Place(drawn.thing.face, spot.x, spot.y),
        measure=Measure("off", off, OTHER_DEPTH_MM, "mm"),
    )


@memoized
def _floor_mm(stack: FaceStack, spec: BoardSpec, region: MultiPolygon) -> float | None:
    """Return how deep a region is cut, the lowest two cells in a hundred left out."""
    heights = _heights_in(stack, spec, region)
    return float(np.percentile(heights, 2.0)) if heights.size else None


def _heights_in(stack: FaceStack, spec: BoardSpec, region: MultiPolygon) -> Heights:
    """Return the heights of the top surface in the cells wholly within a region."""
    found: list[Heights] = []
    for key, share in shares_by_tile(spec, region):
        inside = share > 0.999
        if key in stack.tiles:
            found.append(stack.tiles[key].heights[-1][inside])
        else:
            found.append(np.full(int(np.count_nonzero(inside)), stack.plane_mm, np.float32))
    return np.concatenate(found) if found else np.empty(0, np.float32)


def cut_outside_artwork(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where wood is cut that nothing in the job asks to be cut."""
    for face in build.faces:
        stray = _stray(build, face)
        if stray is None:
            continue
        area, depth, place = stray
        yield Finding.must_fix(
            "cut-outside-artwork",
            message=f"As the G-code files replay, {area:.1f} mm2 of the {face.name} are cut, up to "
            f"{depth:.2f} mm deep, where the job asks for nothing.",
            remedy="Do not run these files: an origin, a unit or a line in them is wrong.",
            subjects=(Subject("face", face.name),),
            source=build.job.source,
            place=place,
            measure=Measure("area", area, STRAY_MM2, "mm2"),
        )


def _stray(build: Build, face: DrawnFace) -> tuple[float, float, Place] | None:
    spec = build.replay.spec
    stack = build.replay.final.face(face.name)
    meant = grown(_meant(build, face), EDGE_MM + spec.cell_mm)
    # a cell that the trim line runs through is cut in part
    inward = max(EDGE_MM, spec.cell_mm)
    board = many(face.trim.buffer(-inward)) if build.job.outline.artwork else face.blank
    asked, within = dict(shares_by_tile(spec, meant)), dict(shares_by_tile(spec, board))
    area, deepest, place = 0.0, 0.0, Place(face.name, 0.0, 0.0)
    for key, tile in stack.tiles.items():
        found = _stray_in(tile, stack.plane_mm, asked.get(key, NOWHERE), within.get(key, NOWHERE))
        if found is None:
            continue
        cells, low_mm, row, column = found
        window = tile_window(key)
        area += cells * spec.cell_mm**2
        if low_mm > deepest:
            deepest = low_mm
            place = Place(
                face.name,
                (window.column + column + 0.5) * spec.cell_mm,
                (window.row + row + 0.5) * spec.cell_mm,
            )
    return (area, deepest, place) if area > STRAY_MM2 else None


@memoized
def _stray_in(
    tile: TileStack, plane_mm: float, asked: Heights, within: Heights
) -> tuple[int, float, int, int] | None:
    """Return how many cells of a tile are cut unasked, and the depth and place of the deepest.

    ``asked`` and ``within`` are the shares of its cells that shall be cut, and that are board.
    """
    low = plane_mm - tile.heights[0]
    cut = low > SCRATCH_MM
    cut &= asked <= 0.0
    cut &= within > 0.5
    if not cut.any():
        return None
    row, column = divmod(int(np.argmax(np.where(cut, low, 0.0))), low.shape[1])
    return int(np.count_nonzero(cut)), float(low[row, column]), row, column


def _meant(build: Build, face: DrawnFace) -> MultiPolygon:
    """Return everything that is asked to be cut into a face, holes through the other included."""
    shapes: list[MultiPolygon] = [
        drawn.region
        if not drawn.region.is_empty
        else many(drawn.strokes.buffer(_widest(build, drawn)))
        for drawn in face.things
    ]
    shapes += [
        shaped.taken
        for edge in face.edges
        if (shaped := shaped_edge(build.job, face, edge)) is not None
    ]
    shapes += [slot.seen for slot in hanger_slots(build.job, face)]
    shapes += [_discs(item) for item in _patterns(face)]
    for other in build.faces:
        if other.name != face.name:
            through = [_discs(item) for item in _patterns(other) if item.holes.through]
            shapes += [to_front(build.job, shape) for shape in through]
    return united(shapes)


def _widest(build: Build, drawn: Drawn) -> float:
    return max((bit.radius_mm for bit in build.fit(drawn.thing.name).bits), default=0.5)


def _patterns(face: DrawnFace) -> tuple[DrawnHoles, ...]:
    return face.holes


@memoized
def _discs(pattern: DrawnHoles) -> MultiPolygon:
    radius = pattern.holes.diameter_mm / 2.0
    return apart([Point(item.x_mm, item.y_mm).buffer(radius) for item in pattern.places])


def holes_as_asked(build: Build) -> Iterator[Finding]:
    """Yield a must fix for holes that the G-code files leave out or drill to another depth."""
    for face in build.faces:
        at_last_mm = finished_mm(build, face.name)
        stack = build.replay.final.face(face.name)
        for pattern in face.holes:
            holes = pattern.holes
            bit = hole_bit(build.job, pattern)
            if bit is None or not pattern.places:
                continue
            depth = [
                at_last_mm
                - _lowest(stack, build.replay.spec, item.x_mm, item.y_mm, holes.diameter_mm / 2.0)
                for item in pattern.places
            ]
            wanted = holes.depth_mm
            slack = (
                OTHER_DEPTH_MM
                - ROUNDING_MM
                + (holes.diameter_mm if bit.kind is BitKind.DRILL else 0.0)
            )
            wrong = [
                (abs(found - wanted), found, item)
                for found, item in zip(depth, pattern.places, strict=True)
                if found < wanted - slack or (not holes.through and found > wanted + slack)
            ]
            if holes.through:
                least = wanted - 2.0 * build.job.allowances.surface_mm - 2.0
                wrong = [item for item in wrong if item[1] < least]
            if not wrong:
                continue
            _, found, item = max(wrong, key=lambda entry: entry[0])
            missing = sum(entry[1] < SCRATCH_MM for entry in wrong)
            yield Finding.must_fix(
                "holes-not-as-asked",
                message=f"As the G-code files replay, {len(wrong)} of the {len(pattern.places)} "
                f"holes of {holes.name} are not {wanted:g} mm deep"
                + (f", {missing} of them not drilled at all" if missing else "")
                + f"; hole {item.number} is {max(found, 0.0):.2f} mm deep.",
                remedy="Do not run these files: a line is missing or a depth is wrong in them.",
                subjects=(Subject("holes", holes.name),),
                source=holes.source,
                place=Place(face.name, item.x_mm, item.y_mm),
                measure=Measure("depth", found, wanted, "mm"),
            )


def _lowest(stack: FaceStack, spec: BoardSpec, x_mm: float, y_mm: float, radius_mm: float) -> float:
    """Return the lowest wood within half a hole's radius of its middle."""
    cells = max(1, int(0.5 * radius_mm / spec.cell_mm))
    column, row = int(x_mm / spec.cell_mm), int(y_mm / spec.cell_mm)
    whole = grid(spec)
    west, south = max(0, column - cells), max(0, row - cells)
    east, north = min(whole.columns, column + cells + 1), min(whole.rows, row + cells + 1)
    if east <= west or north <= south:
        return stack.plane_mm
    return float(surface(stack, Window(west, south, east - west, north - south), 0).min())


def trim_as_asked(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where the outline is not cut, or cut on the wrong side."""
    stage = next((item for item in build.plan.stages if item.kind is StageKind.TRIM), None)
    bit = trim_bit(build.job)
    if stage is None or bit is None:
        return
    face = build.face(stage.face)
    kerf = many(face.trim.buffer(bit.diameter_mm - EDGE_MM).difference(face.trim.buffer(EDGE_MM)))
    kerf = many(kerf.intersection(face.blank))
    stack = build.replay.after(stage.number).face(stage.face)
    heights = _heights_in(stack, build.replay.spec, kerf)
    cut = float(np.mean(heights < stack.plane_mm - SCRATCH_MM)) if heights.size else 1.0
    if cut >= TRIMMED_SHARE:
        return
    yield Finding.must_fix(
        "trim-not-cut",
        message=f"As the G-code files replay, only {100 * cut:.0f} % of the outline is cut.",
        remedy="Do not run these files: lines are missing, or the cut runs off the outline.",
        subjects=(TRIM_LINE,),
        source=build.job.outline.source,
        measure=Measure("outline cut", 100 * cut, 100 * TRIMMED_SHARE, "%"),
    )


def milled_flush_as_asked(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed where a flush milling leaves resin standing, or goes into the wood.

    A sanding, which no file does, has to be replayed down to the height that the job gives it.
    """
    allowances = build.job.allowances
    for stage in build.plan.stages:
        if stage.kind is StageKind.SAND:
            stands_mm = build.replay.after(stage.number).face(stage.face).plane_mm
            off = stands_mm - wood_mm(build, stage.face, stage.number)
            if abs(off) > ROUNDING_MM:
                does = "leaves the wood too high" if off > 0.0 else "takes too much wood"
                yield _level(stage.title, does, abs(off), build, ROUNDING_MM)
        if stage.kind is not StageKind.MILL_FLUSH:
            continue
        stack = build.replay.after(stage.number).face(stage.face)
        before = build.replay.after(stage.number - 1).face(stage.face)
        proud = _proud_mm(stack, before.plane_mm)
        gouged = _gouged_mm(before, stack) - allowances.mill_flush_mm
        if proud > left_proud_mm(allowances) + OTHER_DEPTH_MM:
            yield _level(stage.title, "leaves resin standing", proud, build)
        elif gouged > OTHER_DEPTH_MM:
            yield _level(stage.title, "goes into the wood", gouged, build)


def _proud_mm(stack: FaceStack, plane_mm: float) -> float:
    """Return how high the resin of a face stands above a plane, at most."""
    worst = -1.0
    for tile in stack.tiles.values():
        worst = max(worst, _resin_top(tile) - plane_mm)
    return worst


@memoized
def _resin_top(tile: TileStack) -> float:
    resin = tile.heights[-1] - tile.heights[0] > SCRATCH_MM
    return float(tile.heights[-1][resin].max()) if resin.any() else -math.inf


def _gouged_mm(before: FaceStack, after: FaceStack) -> float:
    worst = 0.0
    for key, tile in after.tiles.items():
        old = before.tiles.get(key)
        worst = max(worst, _lost_mm(old, tile, before.plane_mm))
    return worst


@memoized
def _lost_mm(before: TileStack | None, after: TileStack, plane_mm: float) -> float:
    was = before.heights[0] if before is not None else np.float32(plane_mm)
    return float((was - after.heights[0]).max())


def _level(
    title: str, does: str, by_mm: float, build: Build, limit_mm: float = OTHER_DEPTH_MM
) -> Finding:
    return Finding.must_fix(
        "flush-milling-off",
        message=f'As the G-code files replay, the stage "{title}" {does}: {by_mm:.2f} mm.',
        remedy="Do not run these files: a height or a line in them differs from the job.",
        subjects=(Subject("stage", title),),
        source=build.job.source,
        measure=Measure("off", by_mm, limit_mm, "mm"),
    )


@memoized
def box_of(program: Program) -> tuple[Place3, Place3]:
    """Return the lowest and highest x, y and z the tip comes to, in the file's coordinates.

    The first move's way is left out: nobody knows where it starts.  A program without moves
    stands at its start.
    """
    if not program.moves:
        return program.start, program.start
    table = table_of(program)
    from_start = np.concatenate([table.to_mm[:1], table.to_mm])
    low, high = from_start.min(axis=0), from_start.max(axis=0)
    begin = table.from_mm[:, :2] - table.centre_mm
    begin[0] = table.to_mm[0, :2] - table.centre_mm[0]
    radius, heading = np.hypot(*begin.T), np.arctan2(begin[:, 1], begin[:, 0])
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        ahead = np.copysign(1.0, table.turn_rad) * (math.atan2(dy, dx) - heading)
        passed = table.arc & (ahead % (2.0 * math.pi) < np.abs(table.turn_rad))
        if passed.any():
            out = table.centre_mm[passed] + radius[passed, np.newaxis] * (dx, dy)
            low[:2] = np.minimum(low[:2], out.min(axis=0))
            high[:2] = np.maximum(high[:2], out.max(axis=0))
    (x0, y0, z0), (x1, y1, z1) = low.tolist(), high.tolist()
    return (x0, y0, z0), (x1, y1, z1)


RULES = (cut_depth_off, cut_outside_artwork, holes_as_asked, trim_as_asked, milled_flush_as_asked)
