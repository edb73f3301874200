"""Do the shaped edges come out as asked, and do they leave alone what is beside them?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.art.regions import many
from flushwork.built import Build
from flushwork.checks.expected_board import finished_mm, finished_thickness_mm, made_at, stages_of
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Place, Severity, Subject
from flushwork.core.units import up_mm
from flushwork.job.keys.edges import ALONG_TRIM
from flushwork.job.records import Edge, FaceName
from flushwork.process.orders.cut_orders import reached_of
from flushwork.process.shaped_edges import (
    ShapedEdge,
    edge_bit,
    in_steps,
    left_mm,
    serves,
    shaped_edge,
    wants,
)
from flushwork.process.stages import Stage, StageKind
from flushwork.strata.planes import shares
from flushwork.strata.tiles import bounds_window, surface

AREA_MM2: Final = 0.05
"""Overlaps smaller than this are edges that touch."""
OFF_MM: Final = 0.15
"""An edge this much higher or lower than asked is seen and felt (assumed, 0.1 to 0.3 mm)."""
LOOKED_AT: Final = (0.2, 0.5, 0.8)
"""Where across an edge its height is looked at, as shares of its size."""
APART_MM: Final = 0.5
"""Places along an edge are looked at this far apart."""
MANY: Final = 0.01
"""A share of places that are off up to this is the blur of the cells in corners."""
LOWERED_MM: Final = 0.02
"""Resin lower than before by this much has been cut."""
HELD_MM: Final = 0.5
"""Least height of a tab's wood that still runs into the piece (assumed, 0.3 to 0.8 mm)."""
BLUNT_MM: Final = 1.0
"""An outer edge thinner than this chips (common practice, no source)."""
VARIES_SHARE: Final = 0.25
"""A width that varies by more than this share of itself is seen (assumed, 0.15 to 0.3)."""


def _edges(build: Build) -> Iterator[tuple[DrawnFace, Edge, ShapedEdge | None]]:
    for face in build.faces:
        for edge in face.edges:
            reached = reached_of({fit.drawn.thing.name: fit for fit in build.fits}, edge.along)
            yield face, edge, shaped_edge(build.job, face, edge, reached)


def _subject(edge: Edge) -> Subject:
    return Subject("edge", edge.name)


def edge_bits(build: Build) -> Iterator[Finding]:
    """Yield a must fix for an edge without a bit, with a wrong one, or without room for it."""
    for _face, edge, shaped in _edges(build):
        bit = edge_bit(build.job, edge)
        if bit is not None and not serves(edge, bit):
            yield Finding.must_fix(
                "edge-bit-unfit",
                message=f"The {bit.name} cannot make {edge.name}: a {edge.shape} of "
                f"{edge.size_mm:g} mm wants {wants(edge)}.",
                remedy="Leave `bit` out, name one that fits, or give the edge the bit's own size.",
                subjects=(_subject(edge), Subject("bit", bit.name)),
                source=edge.source,
            )
        elif shaped is None:
            wanted = wants(edge) if bit is None else f"more room than {edge.along} has for its bit"
            yield Finding.must_fix(
                "no-bit-for-it",
                message=f"Nothing in the shop file can do the work for {edge.name}: it wants "
                f"{wanted}.",
                remedy="Add such a bit to the shop file, or change the job.",
                subjects=(_subject(edge),),
                source=edge.source,
            )


def edge_meets_inlay(build: Build) -> Iterator[Finding]:
    """Yield a must fix where an edge, as replayed, takes resin of an inlay that it may not."""
    for face, edge, shaped in _edges(build):
        stage = made_at(build, edge.name)
        if shaped is None or stage is None:
            continue
        for drawn in face.inlays:
            if drawn.inlay.name in edge.into:
                continue
            met = many(shaped.taken.intersection(drawn.region))
            lost = _lost(build, stage, face.name, met) if met.area > AREA_MM2 else None
            if lost is not None and lost.area_mm2 > AREA_MM2:
                yield _cut_away(edge, drawn, met, lost)


@dataclass(frozen=True, slots=True)
class _Lost:
    """What a stage takes of resin in a region: area of it lowered, volume, greatest depth."""

    area_mm2: float
    volume_mm3: float
    deepest_mm: float


def _lost(build: Build, stage: Stage, face: FaceName, region: MultiPolygon) -> _Lost:
    spec = build.replay.spec
    window = bounds_window(spec, region.bounds)
    before, after = (
        surface(build.replay.after(number).face(face), window, -1)
        for number in (stage.number - 1, stage.number)
    )
    inside = shares(spec, region, window) > 0.5
    down = np.where(inside, before - after, 0.0)
    cell_mm2 = spec.cell_mm**2
    return _Lost(
        float(np.count_nonzero(down > LOWERED_MM)) * cell_mm2,
        float(down.sum(dtype=np.float64)) * cell_mm2,
        float(down.max(initial=0.0)),
    )


def _cut_away(edge: Edge, drawn: DrawnInlay, met: MultiPolygon, lost: _Lost) -> Finding:
    spot = met.representative_point()
    name = drawn.inlay.name
    return Finding.must_fix(
        "edge-cuts-inlay",
        message=f"As replayed, {edge.name} takes {lost.volume_mm3:.1f} mm3 of {name}, down to "
        f"{lost.deepest_mm:.2f} mm, over {lost.area_mm2:.1f} mm2 of it "
        f"({100.0 * lost.area_mm2 / drawn.region.area:.0f} %), and the job does not say that it "
        "may.",
        remedy=f"Make the edge smaller, move {name} inwards, or write `cut into: [{name}]` in "
        f"{edge.name}.",
        subjects=(_subject(edge), drawn.subject),
        source=edge.source,
        place=Place(edge.face, spot.x, spot.y),
        measure=Measure("area lost", lost.area_mm2, 0.0, "mm2"),
    )


def _depth_mm(edge: Edge, shaped: ShapedEdge) -> float:
    """Return how far down an edge goes on the outline itself; a groove leaves it standing."""
    return -left_mm(edge, shaped.bit, 0.0)


def edges_at_the_outline(build: Build) -> Iterator[Finding]:
    """Yield findings where edges of the trim line meet each other, or leave tabs nothing to hold.

    A tab stands at the face that lies down while the piece is trimmed; the edge of that face is
    gone there already.
    """
    found = {
        face.name: (edge, shaped)
        for face, edge, shaped in _edges(build)
        if edge.along == ALONG_TRIM and shaped is not None
    }
    if not found:
        return
    depths = {name: _depth_mm(*pair) for name, pair in found.items()}
    edge, _ = found[max(depths, key=lambda name: depths[name])]
    left = finished_thickness_mm(build) - sum(depths.values())
    if left < BLUNT_MM:
        yield Finding(
            code="edges-meet",
            severity=Severity.MUST_FIX if left < 0.0 else Severity.WARNING,
            message=f"{' and '.join(each.name for each, _ in found.values())} leave {left:.2f} mm "
            "of the board's edge upright"
            + (": they cut through each other, and the piece comes out smaller."
               if left < 0.0 else ": so sharp an edge chips and cuts."),
            remedy=f"Make one of them {up_mm(BLUNT_MM - left)} mm less deep, or start from a "
            "thicker blank.",
            subjects=tuple(_subject(each) for each, _ in found.values()),
            source=edge.source,
            measure=Measure("upright", left, BLUNT_MM, "mm"),
        )  # fmt: skip
    trims = stages_of(build, StageKind.TRIM)
    outline = build.job.outline
    if not trims or not outline.tabs:
        return
    up = trims[0].face
    lower: FaceName = "back" if up == "front" else "front"
    taken_mm = {
        name: max(depths[name], -shaped.tip_mm if in_steps(edge, shaped.bit) else 0.0)
        for name, (edge, shaped) in found.items()
    }
    above_mm = finished_thickness_mm(build) - taken_mm.get(up, 0.0)
    held_mm = min(outline.tab_height_mm, above_mm) - taken_mm.get(lower, 0.0)
    if held_mm >= HELD_MM:
        return
    own = found.get(lower) or found[up]
    yield Finding.must_fix(
        "edge-at-tabs",
        message=f"{own[0].name} leaves {max(held_mm, 0.0):.2f} mm of the tabs' "
        f"{outline.tab_height_mm:g} mm on the piece: nothing would hold it once it is trimmed.",
        remedy=f"Write `tab height: {up_mm(outline.tab_height_mm + HELD_MM - held_mm)} mm` in the "
        "trim line, or make the edge less deep.",
        subjects=(_subject(own[0]), TRIM_LINE),
        source=own[0].source,
        measure=Measure("held", held_mm, HELD_MM, "mm"),
    )


def edge_under_floor(build: Build) -> Iterator[Finding]:
    """Yield a must fix where the bit that shapes a pocket's rim would cut into its floor."""
    pockets = {pocket.name: pocket for pocket in build.job.pockets}
    for _face, edge, shaped in _edges(build):
        pocket = pockets.get(edge.along)
        if shaped is None or pocket is None or -shaped.tip_mm <= pocket.depth_mm:
            continue
        under = -shaped.tip_mm - pocket.depth_mm
        yield Finding.must_fix(
            "edge-under-floor",
            message=f"{edge.name} runs its {shaped.bit.name} {-shaped.tip_mm:.2f} mm deep, "
            f"{under:.2f} mm under the floor of {pocket.name}.",
            remedy=f"Make {pocket.name} at least {up_mm(-shaped.tip_mm)} mm deep, or the edge "
            "smaller.",
            subjects=(_subject(edge), Subject("pocket", pocket.name)),
            source=edge.source,
            measure=Measure("under the floor", under, 0.0, "mm"),
        )


def edge_width_varies(build: Build) -> Iterator[Finding]:
    """Yield a warning where the outline is trimmed in another setup, which moves against the edge.

    The edge then comes out wider on one side and narrower on the other.
    """
    trims = stages_of(build, StageKind.TRIM)
    repeat_mm = build.job.holding.repeat_mm
    for face, edge, shaped in _edges(build):
        stage = made_at(build, edge.name)
        own = edge.along == ALONG_TRIM and shaped is not None and stage is not None
        if not own or not trims or trims[0].face == face.name:
            continue
        if repeat_mm <= VARIES_SHARE * edge.size_mm:
            continue
        yield Finding.warning(
            "edge-width-varies",
            message=f"{edge.name} is cut with the {face.name} up and the outline with the "
            f"{trims[0].face} up: the piece comes back within {repeat_mm:g} mm, and the edge of "
            f"{edge.size_mm:g} mm comes out wider or narrower by as much.",
            remedy=f"Make it {up_mm(repeat_mm / VARIES_SHARE)} mm or more, or hold the blank so "
            "that it comes back closer.",
            subjects=(_subject(edge),),
            source=edge.source,
            measure=Measure("varies", repeat_mm, VARIES_SHARE * edge.size_mm, "mm"),
        )


def edge_as_asked(build: Build) -> Iterator[Finding]:
    """Yield a must fix where an edge, as replayed, stands proud or is cut lower than asked."""
    for face, edge, shaped in _edges(build):
        stage = made_at(build, edge.name)
        if shaped is None or stage is None:
            continue
        off = _off(build, face, stage, edge, shaped)
        if off is None:
            continue
        by_mm, share, (x_mm, y_mm) = off
        yield Finding.must_fix(
            "edge-not-as-asked",
            message=f"As the G-code files replay, {edge.name} "
            + (f"stands up to {by_mm:.2f} mm proud" if by_mm > 0.0
               else f"is cut up to {-by_mm:.2f} mm too deep")
            + f" along {100.0 * share:.0f} % of its length.",
            remedy="Do not run these files where a file is not ours; else draw the outline without "
            "corners that its bit cannot follow, or make the edge smaller.",
            subjects=(_subject(edge),),
            source=edge.source,
            place=Place(face.name, x_mm, y_mm),
            measure=Measure("off", by_mm, OFF_MM, "mm"),
        )  # fmt: skip


def _off(
    build: Build, face: DrawnFace, stage: Stage, edge: Edge, shaped: ShapedEdge
) -> tuple[float, float, tuple[float, float]] | None:
    """Return by how much an edge is off at its worst, along what share of it, and where."""
    spec = build.replay.spec
    stack = build.replay.after(stage.number).face(face.name)
    others: list[BaseGeometry] = [
        drawn.region for drawn in face.things if drawn.thing.name != edge.along
    ]
    others += [
        shapely.Point(place.x_mm, place.y_mm).buffer(pattern.holes.diameter_mm / 2.0)
        for pattern in face.holes
        for place in pattern.places
    ]
    others += [
        other.taken
        for _, each, other in _edges(build)
        if other is not None and each.face == face.name and each.name != edge.name
    ]
    busy = shapely.union_all(others).buffer(2.0 * spec.cell_mm)
    window = bounds_window(spec, shaped.region.buffer(shaped.reaches_mm + 1.0).bounds)
    heights = surface(stack, window, -1)
    wrong: list[NDArray[np.float64]] = []
    count = 0
    for share in LOOKED_AT:
        inside_mm = shaped.reaches_mm - (1.0 - share) * edge.size_mm
        ring = shaped.inside(inside_mm).boundary
        places = np.asarray(shapely.get_coordinates(shapely.segmentize(ring, APART_MM)))
        places = places[~shapely.contains_xy(busy, *places.T)]
        column = np.floor(places[:, 0] / spec.cell_mm).astype(np.int64) - window.column
        row = np.floor(places[:, 1] / spec.cell_mm).astype(np.int64) - window.row
        on = (row >= 0) & (row < heights.shape[0]) & (column >= 0) & (column < heights.shape[1])
        places, row, column = places[on], row[on], column[on]
        meant_mm = finished_mm(build, face.name) + left_mm(edge, shaped.bit, inside_mm)
        by = heights[row, column] - meant_mm
        # a cell holds a mean: on a steep flank its middle may lie off by half its height
        slack = spec.cell_mm * _steepness(edge, shaped, inside_mm)
        count = max(count, len(places))
        bad = np.abs(by) > OFF_MM + slack
        wrong.append(np.column_stack((by, places))[bad])
    worst = max(wrong, key=len)
    if not count or len(worst) <= MANY * count:
        return None
    by_mm, x_mm, y_mm = worst[int(np.argmax(np.abs(worst[:, 0])))].tolist()
    return by_mm, len(worst) / count, (x_mm, y_mm)


def _steepness(edge: Edge, shaped: ShapedEdge, inside_mm: float) -> float:
    """Return how steep an edge is at a place across it, in mm per mm."""
    step = 0.01 * edge.size_mm
    low, high = (left_mm(edge, shaped.bit, max(0.0, inside_mm + at)) for at in (-step, step))
    return abs(high - low) / (2.0 * step)


RULES = (
    edge_bits,
    edge_meets_inlay,
    edges_at_the_outline,
    edge_under_floor,
    edge_width_varies,
    edge_as_asked,
)
