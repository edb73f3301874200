"""Fixes by shape and place: widths, bits, holes, what lies outside, what overlaps."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from shapely import MultiPolygon, Point
from shapely.ops import nearest_points

from flushwork.art.regions import many
from flushwork.checks.fixes.boxes import told
from flushwork.checks.fixes.fix import (
    Edit,
    Fix,
    Idea,
    Path,
    Question,
    down,
    fix,
    path_to,
    short_mm,
    up,
)
from flushwork.core.findings import Subject
from flushwork.job.records import EdgeShape, GridHoles, Inlay, Placement, StrokeArt
from flushwork.shelf.items import BitKind

STEP_MM = 0.01
"""Places are proposed in steps of this much."""
HIDDEN = frozenset({"in-hidden-border", "hole-in-hidden-border"})
SCALES = (0.95, 0.9, 0.8)


def passable(asked: Question) -> Iterator[Fix]:
    """Yield a line as wide as the narrowest bit, engraving, and the choice of bits left open."""
    inlay = asked.inlay
    if inlay is None:
        return
    job = asked.job
    if inlay.bits:
        yield fix(path_to(job, inlay, "bits"), None)
    flats = [item for item in job.shop.bits if item.kind is BitKind.FLAT]
    for bit in sorted(flats, key=lambda item: item.diameter_mm)[:1]:
        if inlay.seam is not None:
            yield fix(path_to(job, inlay, "seam line", "width"), up(bit.diameter_mm), 1)
        elif len(inlay.artwork) == 1 and isinstance(inlay.artwork[0].art, StrokeArt):
            yield fix(path_to(job, inlay, "width"), up(bit.diameter_mm), 1)
    if not inlay.v_bit and any(item.kind is BitKind.V_BIT for item in job.shop.bits):
        engraved = Edit(path_to(job, inlay, "engrave"), "yes")
        open_choice = Edit(path_to(job, inlay, "bits"), None)
        yield Fix((engraved, open_choice) if inlay.bits else (engraved,), 1)


def narrower_bits(asked: Question) -> Iterator[Fix]:
    """Yield the choice of bits left open, then engraving."""
    inlay = asked.inlay
    if inlay is not None and inlay.bits:
        yield fix(path_to(asked.job, inlay, "bits"), None)


def wider_line(asked: Question) -> Iterator[Fix]:
    """Yield a line wider by twice what it lacks, the centre line as datum, a closer holding."""
    inlay = asked.inlay
    if inlay is None or inlay.seam is None:
        return
    job = asked.job
    if job.datum != "centre line":
        yield fix(("datum",), "centre line")
    lacks = short_mm(asked.finding)
    for more in (lacks, lacks + 0.05, lacks + 0.1):
        wide = math.ceil((inlay.seam.width_mm + 2.0 * more) * 10.0 - 1e-6) / 10.0
        yield fix(path_to(job, inlay, "seam line", "width"), up(wide), 1)
    yield from closer_holding(asked)


def closer_holding(asked: Question) -> Iterator[Fix]:
    """Yield the shop's ways of holding that come back closer."""
    own = asked.job.holding
    closer = [item for item in asked.job.shop.holdings if item.repeat_mm < own.repeat_mm]
    for holding in sorted(closer, key=lambda item: -item.repeat_mm):
        yield fix(("holding",), holding.name, 2)


def wider_pitch(asked: Question) -> Iterator[Fix]:
    """Yield wider pitches, then narrower holes."""
    short = short_mm(asked.finding)
    for holes in asked.holes:
        if isinstance(holes.pattern, GridHoles):
            x_mm, y_mm = holes.pattern.pitch_x_mm, holes.pattern.pitch_y_mm
            same = x_mm == y_mm
            wide = up(x_mm + short) if same else f"[{up(x_mm + short)}, {up(y_mm + short)}]"
            yield fix(path_to(asked.job, holes, "grid", "pitch"), wide, 1)
        if holes.peg_mm is None and holes.diameter_mm - short > 0.5:
            narrow = down(holes.diameter_mm - short)
            yield fix(path_to(asked.job, holes, "diameter"), narrow, 2)


MORE_MM: Final = 12.0
"""So much of a peg is left to take hold of (common practice, no source)."""
APART_SHARE: Final = 0.8
"""How wide men are of what their places lie apart (common practice, no source)."""


def loose(asked: Question) -> Iterator[Fix]:
    """Yield loose parts that fit their holes, stand out of them, have room, or are enough."""
    measure = asked.finding.measure
    if measure is None or measure.limit is None:
        return
    for part in asked.job.loose_parts:
        if Subject("name", part.name) not in asked.finding.subjects:
            continue
        path = ("loose parts", part.name)
        match asked.finding.code:
            case "peg-sinks":
                yield fix((*path, "length"), up(measure.limit + MORE_MM))
            case "loose-parts-crowd":
                yield fix((*path, "across"), down(APART_SHARE * measure.limit))
            case "loose-parts-too-few":
                yield fix((*path, "count"), str(part.count + int(measure.limit - measure.value)))
            case _ if part.tip_mm is None:
                yield fix((*path, "across"), None)


def pegs(asked: Question) -> Iterator[Fix]:
    """Yield holes with the play that is wanted, or loose parts with it."""
    yield from loose(asked)
    for holes in asked.holes:
        tight = asked.finding.code == "peg-tight"
        for more in (0.02, 0.0):
            change = short_mm(asked.finding) + more
            wide = holes.diameter_mm + (change if tight else -change)
            told = up(wide) if tight else down(wide)
            yield fix(path_to(asked.job, holes, "diameter"), told, 1)


def open_bit(asked: Question) -> Iterator[Fix]:
    """Yield the choice of the bit left open, then each flat bit that enters the hole."""
    for holes in asked.holes:
        if holes.bit is not None:
            yield fix(path_to(asked.job, holes, "bit"), None)
        fitting = [
            item
            for item in asked.job.shop.bits
            if item.kind is BitKind.FLAT and item.diameter_mm <= holes.diameter_mm
        ]
        for bit in sorted(fitting, key=lambda item: -item.diameter_mm)[:2]:
            yield fix(path_to(asked.job, holes, "bit"), bit.name)


def inside(asked: Question) -> Iterator[Fix]:
    """Yield smaller names, what lies outside moved in by the least, then all of it smaller."""
    smaller = told(asked.finding)
    if asked.inlay is not None and {"most width", "least size"} <= smaller.keys():
        path = path_to(asked.job, asked.inlay)
        yield Fix(tuple(Edit((*path, key), value) for key, value in smaller.items()))
    inlays, holes = ({each.name for each in own[:1]} for own in (asked.inlays, asked.holes))
    for face in asked.faces:
        bounds = face.visible if asked.finding.code in HIDDEN else face.trim
        for drawn in face.inlays:
            if drawn.inlay.name in inlays and drawn.region.area > 0.0:
                yield from _moved(_placed(asked, drawn.inlay), drawn.region, bounds)
        for pattern in face.holes:
            if pattern.holes.name not in holes:
                continue
            path = path_to(asked.job, pattern.holes)
            discs = [
                Point(hole.x_mm, hole.y_mm).buffer(pattern.holes.diameter_mm / 2.0)
                for hole in pattern.places
            ]
            wall = many(bounds.buffer(-_wall_mm(asked)))
            yield from _moved((path, pattern.holes.placement), MultiPolygon(discs), wall)
    if asked.job.outline.hidden_mm > 0.0 and asked.finding.code in HIDDEN:
        yield fix(("trim line", "hidden border"), down(asked.job.outline.hidden_mm / 2.0), 1)


def _wall_mm(asked: Question) -> float:
    measure = asked.finding.measure
    told = measure is not None and measure.name == "wall"
    return (measure.limit or 0.0) + STEP_MM if measure is not None and told else 0.0


def _placed(asked: Question, inlay: Inlay) -> tuple[Path, Placement] | None:
    if len(inlay.artwork) != 1:
        return None
    return path_to(asked.job, inlay), inlay.artwork[0].placement


def _moved(
    placed: tuple[Path, Placement] | None,
    region: MultiPolygon,
    bounds: MultiPolygon,
) -> Iterator[Fix]:
    if placed is None or bounds.is_empty:
        return
    path, place = placed
    left, low, right, high = region.bounds
    least_x, least_y, most_x, most_y = bounds.bounds
    dx = _shift(left, right, least_x, most_x)
    dy = _shift(low, high, least_y, most_y)
    if dx is not None and dy is not None and (dx or dy):
        at = f"[{_to(place.x_mm, dx)}, {_to(place.y_mm, dy)}]"
        yield fix((*path, "at"), at, 1)
    spot = region.centroid
    middle = nearest_points(bounds.centroid, spot)[0]
    step_x, step_y = (middle.x - spot.x) / 4.0, (middle.y - spot.y) / 4.0
    for share in (1.0, 2.0, 4.0):
        if abs(step_x) + abs(step_y) > STEP_MM:
            x_mm, y_mm = _to(place.x_mm, share * step_x), _to(place.y_mm, share * step_y)
            yield fix((*path, "at"), f"[{x_mm}, {y_mm}]", 1)
    for scale in SCALES:
        yield fix((*path, "scale"), f"{place.scale * scale:.4g}", 2)


def _shift(low: float, high: float, least: float, most: float) -> float | None:
    """Return how far a span has to go to lie within another; None where it is too long."""
    if high - low > most - least:
        return None
    return min(0.0, most - high) or max(0.0, least - low)


def _to(value_mm: float, more_mm: float) -> str:
    moved = value_mm + more_mm
    if abs(more_mm) < 1e-9:
        return down(value_mm) if value_mm >= 0.0 else f"-{down(-value_mm)}"
    grown = math.ceil(moved / STEP_MM) if more_mm > 0.0 else math.floor(moved / STEP_MM)
    return f"{grown * STEP_MM:.2f} mm"


def nested(asked: Question) -> Iterator[Fix]:
    """Yield one of two that overlap as a second pass of the other."""
    for inlay in asked.inlays[:1]:
        for other in asked.inlays[1:]:
            if other.name not in inlay.second_pass_of:
                yield fix(path_to(asked.job, inlay, "second pass of"), f"[{other.name}]", 1)


def let_in(asked: Question) -> Iterator[Fix]:
    """Yield a pocket left empty as one that may cut the inlay away."""
    for pocket in asked.pockets:
        names = [*pocket.into, *(inlay.name for inlay in asked.inlays)]
        path = path_to(asked.job, pocket, "cut into")
        yield fix(path, f"[{', '.join(dict.fromkeys(names))}]", 1)


def unmirrored(asked: Question) -> Iterator[Fix]:
    """Yield the artwork as drawn."""
    if asked.inlay is not None:
        yield fix(path_to(asked.job, asked.inlay, "mirror"), None)


LEAST_EDGE_MM = 0.3
"""No edge smaller than this is proposed."""
SMALLER_SHARES = (0.75, 0.5, 0.25)


def smaller_edge(asked: Question) -> Iterator[Fix]:
    """Yield chamfers of a smaller width; of a round or a cove the bit decides the size."""
    for edge in asked.edges:
        for share in SMALLER_SHARES if edge.shape is EdgeShape.CHAMFER else ():
            if share * edge.size_mm >= LEAST_EDGE_MM:
                path = path_to(asked.job, edge, "size")
                yield fix(path, down(share * edge.size_mm), 1)


def edge_let_in(asked: Question) -> Iterator[Fix]:
    """Yield a smaller edge, then one that may cut the inlay away."""
    yield from smaller_edge(asked)
    for edge in asked.edges:
        names = dict.fromkeys((*edge.into, *(inlay.name for inlay in asked.inlays)))
        yield fix(path_to(asked.job, edge, "cut into"), f"[{', '.join(names)}]", 2)


def higher_tabs(asked: Question) -> Iterator[Fix]:
    """Yield tabs that reach past the edge, then a smaller edge."""
    tab_mm = asked.job.outline.tab_height_mm + short_mm(asked.finding)
    yield fix(("trim line", "tab height"), up(tab_mm))
    yield from smaller_edge(asked)


def deeper_pocket(asked: Question) -> Iterator[Fix]:
    """Yield a pocket as deep as its rim's bit goes, then a smaller edge."""
    for pocket in asked.pockets:
        depth_mm = pocket.depth_mm + short_mm(asked.finding)
        yield fix(path_to(asked.job, pocket, "depth"), up(depth_mm), 1)
    yield from smaller_edge(asked)


def blunter(asked: Question) -> Iterator[Fix]:
    """Yield a smaller edge, then a thicker blank."""
    yield from smaller_edge(asked)
    short = short_mm(asked.finding)
    yield fix(("blank", "thickness"), up(asked.job.blank.thickness_mm + short), 3)


def open_edge_bit(asked: Question) -> Iterator[Fix]:
    """Yield the bit left to be chosen."""
    for edge in asked.edges:
        yield fix(path_to(asked.job, edge, "bit"), None)


IDEAS: dict[str, Idea] = {
    "bit-cannot-pass": passable,
    "detail-lost": narrower_bits,
    "no-bit-for-it": passable,
    "seam-not-covered": wider_line,
    "joint-without-line": closer_holding,
    "holes-too-close": wider_pitch,
    "peg-tight": pegs,
    "peg-loose": pegs,
    "peg-sinks": loose,
    "loose-parts-crowd": loose,
    "loose-parts-too-few": loose,
    "drill-burns": open_bit,
    "hole-bit-too-wide": open_bit,
    "hole-not-flat": open_bit,
    "hole-meets-edge": inside,
    "outside-trim-line": inside,
    "in-hidden-border": inside,
    "hole-in-hidden-border": inside,
    "inlays-overlap": nested,
    "pocket-cuts-inlay": let_in,
    "edge-cuts-inlay": edge_let_in,
    "edge-at-tabs": higher_tabs,
    "edge-under-floor": deeper_pocket,
    "edges-meet": blunter,
    "edge-bit-unfit": open_edge_bit,
    "text-reversed": unmirrored,
    "art-mirrored-on-back": unmirrored,
}
