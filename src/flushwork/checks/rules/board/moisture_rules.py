"""Will the wood stay as it was cut?"""

from __future__ import annotations

from collections.abc import Iterator
from math import tan
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.regions import many
from flushwork.built import Build
from flushwork.checks.expected_board import finished_thickness_mm, sunk_in, year_of_build
from flushwork.checks.seam_cover import width_across_mm
from flushwork.core.findings import BLANK, TRIM_LINE, Finding, Measure, Place, Severity, Subject
from flushwork.job.records import FaceName
from flushwork.process.stages import StageKind
from flushwork.runtime.memo import memoized
from flushwork.wood.movement import (
    OPENS_MM,
    Season,
    equilibrium_moisture,
    one_sided_cup_mm,
    per_pct,
)

WET: Final = 0.12
"""Wetter wood foams under a sealer and is not ready (common practice, no source: 10 to 12 %)."""
UNSETTLED: Final = 0.02
"""Wood this far from what the shop's air settles it at still moves (assumed, 0.01 to 0.03; weigh
the blank on two days)."""
CUPPED_MM: Final = 0.5
"""A board that cups by more rocks on a table (assumed, 0.3 to 1 mm; a feeler gauge under your own
boards)."""
ONE_SIDED: Final = 0.12
"""Share of the board's volume taken more from one face than from the other (assumed, 0.06 to 0.2; a
straight edge on test strips of several depths)."""
VARIES_SHARE: Final = 0.15
"""A line whose width wanders by more than this share is seen to (assumed, 0.1 to 0.25)."""
STOP_SHARE: Final = 0.3
"""... and by this much it is another line (assumed, 0.25 to 0.5)."""
SOLID_MM: Final = 10.0
"""Lines narrower than this stretch with the wood (assumed, 5 to 20 mm; as above)."""
SWEEP_MM: Final = 2.0
"""Chords across the grain are taken this far apart."""


def wood_too_wet(build: Build) -> Iterator[Finding]:
    """Yield a warning for wood that is not dry, or not settled in the shop's air."""
    blank, air = build.job.blank, build.job.shop.air
    settled = equilibrium_moisture(air.day_c, air.humidity)
    if blank.moisture > WET:
        yield Finding.warning(
            "wood-too-wet",
            message=f"The blank holds {100 * blank.moisture:.0f} % moisture: resin foams over damp "
            "wood and bonds badly, and the board will shrink.",
            remedy="Rest it on sticks until it weighs the same on two days; 6 to 8 % suits a room.",
            subjects=(BLANK,),
            source=blank.source,
            measure=Measure("moisture", 100 * blank.moisture, 100 * WET, "%"),
        )
    elif abs(blank.moisture - settled) > UNSETTLED:
        moved = width_across_mm(build.job) * _per_share(build) * abs(blank.moisture - settled)
        yield Finding.warning(
            "wood-not-settled",
            message=f"The blank holds {100 * blank.moisture:.1f} % moisture, but the shop's air "
            f"settles wood at {100 * settled:.1f} %: its width will change by {moved:.2f} mm "
            "while the work goes on.",
            remedy="Let it rest in the shop first, or keep the shop's air as it was.",
            subjects=(BLANK,),
            source=blank.source,
            measure=Measure(
                "moisture off", 100 * abs(blank.moisture - settled), 100 * UNSETTLED, "points"
            ),
        )


def _per_share(build: Build) -> float:
    blank = build.job.blank
    return 100.0 * per_pct(blank.wood, flat_sawn=blank.flat_sawn)


def rigid_inlay_moves(build: Build) -> Iterator[Finding]:
    """Yield a warning for broad solid fills whose edges the wood leaves across the grain."""
    worst = year_of_build(build).worst
    per_mm = abs(worst.strain) / 2.0
    found: list[tuple[float, str, Place]] = []
    for drawn in build.inlays:
        if drawn.region.is_empty or drawn.inlay.v_bit:
            continue
        solid = many(drawn.region.buffer(-SOLID_MM / 2.0).buffer(SOLID_MM / 2.0))
        if solid.is_empty:
            continue
        span, at = widest_chord(solid, across_y=build.job.blank.grain_along_x)
        if span * per_mm > OPENS_MM:
            found.append((span, drawn.inlay.name, Place(drawn.inlay.face, *at)))
    if not found:
        return
    span, name, place = max(found, key=lambda item: item[0])
    also = f" ({len(found) - 1} more like it)" if len(found) > 1 else ""
    yield Finding.warning(
        "rigid-inlay-moves",
        message=f"{name} is {span:.0f} mm of solid fill across the grain{also}: from the shop to "
        f"{_moment(worst)} the wood moves {span * per_mm:.2f} mm past each of its edges, and resin "
        "does not follow.",
        remedy=f"Keep it under {2.0 * OPENS_MM / abs(worst.strain):.0f} mm across the grain: "
        "break it up with lines of wood, turn it along the grain, or use quarter-sawn wood.",
        subjects=(inlay := Subject("inlay", name),),
        source=build.source_of(inlay),
        place=place,
        measure=Measure("movement at an edge", span * per_mm, OPENS_MM, "mm"),
    )


def _moment(season: Season) -> str:
    at = season.at
    return f"{at.room} in {at.month} ({100 * at.moisture:.1f} % moisture)"


def frame_shows_edge(build: Build) -> Iterator[Finding]:
    """Yield a warning where a frame covers less than the board draws back in the driest month."""
    outline = build.job.outline
    year = year_of_build(build)
    if outline.artwork is None or outline.hidden_mm == 0.0 or year.gap_mm <= outline.hidden_mm:
        return
    yield Finding.warning(
        "frame-shows-edge",
        message=f"The frame covers {outline.hidden_mm:g} mm of the board. "
        f"{year.clearance_mm:.2f} mm is left free on each side for {_moment(year.dampest)}, and in "
        f"{_moment(year.driest)} {year.gap_mm:.2f} mm stands open there: the edge shows.",
        remedy=f"Write a `hidden border` of at least {year.gap_mm:.1f} mm, pin the board in the "
        "middle of each end only, or use quarter-sawn wood.",
        subjects=(TRIM_LINE,),
        source=outline.source,
        measure=Measure("gap", year.gap_mm, outline.hidden_mm, "mm"),
    )


def board_cups(build: Build) -> Iterator[Finding]:
    """Yield a warning for a board that the seasons cup so far that it rocks."""
    year = year_of_build(build)
    worst = max((year.driest, year.dampest), key=lambda each: abs(each.cup_mm))
    cup_mm = abs(worst.cup_mm)
    if cup_mm <= CUPPED_MM:
        return
    blank = build.job.blank
    hollow = "bark" if worst.cup_mm > 0.0 else "heart"
    yield Finding.warning(
        "board-cups",
        message=f"From the shop to {_moment(worst)} the flat-sawn board cups by {cup_mm:.2f} mm "
        f"({blank.ring_radius_mm:g} mm ring radius), hollow on its {hollow} side.",
        remedy="Glue it of strips whose rings curve up and down in turn, use quarter-sawn wood, or "
        "a board from farther out in the log: measure its `ring radius`.",
        subjects=(BLANK,),
        source=blank.source,
        measure=Measure("cup", cup_mm, CUPPED_MM, "mm"),
    )


def widest_chord(region: MultiPolygon, *, across_y: bool) -> tuple[float, tuple[float, float]]:
    """Return the longest straight run inside a region in y (or x), mm, and its middle."""
    west, south, east, north = region.bounds
    low, high = (west, east) if across_y else (south, north)
    count = max(1, int(np.ceil((high - low) / SWEEP_MM)))
    best = (0.0, (west, south))
    for place in low + (np.arange(count) + 0.5) * (high - low) / count:
        line = (
            LineString([(place, south - 1.0), (place, north + 1.0)])
            if across_y
            else LineString([(west - 1.0, place), (east + 1.0, place)])
        )
        for run in shapely.get_parts(region.intersection(line)):
            if run.length > best[0]:
                middle = run.interpolate(0.5, normalized=True)
                best = (float(run.length), (middle.x, middle.y))
    return best


def one_sided_cutting(build: Build) -> Iterator[Finding]:
    """Yield a warning where much more is cut from one face than from the other."""
    index, deeper = imbalance(build)
    if index <= ONE_SIDED:
        return
    other = "back" if deeper == "front" else "front"
    yield Finding.warning(
        "one-sided-cutting",
        message=f"{100 * index:.0f} % of the board's volume is cut from the {deeper} more than "
        f"from the {other}: the cut face dries first and the board cups.",
        remedy=f"Cut less deep, balance it with a shallow cut on the {other}, seal both faces "
        "alike, and keep it flat under weight between stages.",
        subjects=(BLANK,),
        source=build.job.blank.source,
        measure=Measure("imbalance", 100 * index, 100 * ONE_SIDED, "%"),
    )


def one_face_sealed(build: Build) -> Iterator[Finding]:
    """Yield a warning where one face is sealed and the other left bare, so that the board cups.

    A finish goes on both faces alike.
    """
    sealed = {
        stage.face
        for stage in build.plan.stages
        if stage.kind is StageKind.SEAL and not stage.subjects
    }
    if build.job.finish is not None or len(sealed) != 1:
        return
    face = sealed.pop()
    other = "back" if face == "front" else "front"
    year = year_of_build(build)
    worst, thickness_mm = year.worst, finished_thickness_mm(build)
    cup_mm = one_sided_cup_mm(year.board, worst.strain, thickness_mm)
    if cup_mm <= CUPPED_MM:
        return
    yield Finding.warning(
        "one-face-sealed",
        message=f"The {face} is sealed and the {other} stays bare: from the shop to "
        f"{_moment(worst)} the {other} alone would {'grow' if worst.strain > 0.0 else 'shrink'} by "
        f"{100.0 * abs(worst.strain):.2f} %, which cups the board, {thickness_mm:.1f} mm thick, by "
        f"up to {cup_mm:.1f} mm before the {face} follows.",
        remedy="Give it a `finish`: its coats go on both faces alike.",
        subjects=(BLANK,),
        source=build.job.blank.source,
        measure=Measure("cup", cup_mm, CUPPED_MM, "mm"),
    )


def imbalance(build: Build) -> tuple[float, FaceName]:
    """Return the share of the trimmed board cut more from one face than the other, and which."""
    faces: tuple[FaceName, ...] = ("front", "back")
    cut = {name: _sunk_mm3(build, name) for name in faces}
    whole = build.face("front").trim.area * finished_thickness_mm(build)
    deeper: FaceName = "front" if cut["front"] >= cut["back"] else "back"
    return abs(cut["front"] - cut["back"]) / max(whole, 1.0), deeper


def _sunk_mm3(build: Build, name: FaceName) -> float:
    """Return the volume sunk into a face below its finished plane; what overlaps counts once."""
    from_deep = sorted(sunk_in(build, name), key=lambda item: item.floor_mm)
    own_mm2 = _own_areas_mm2(tuple(item.region for item in from_deep))
    return sum(
        area * max(0.0, item.depth_mm) for area, item in zip(own_mm2, from_deep, strict=True)
    )


@memoized
def _own_areas_mm2(regions: tuple[MultiPolygon, ...]) -> tuple[float, ...]:
    """Return of each region the area that no region before it covers."""
    found: list[float] = []
    taken: BaseGeometry = MultiPolygon()
    for region in regions:
        found.append(region.difference(taken).area)
        taken = shapely.union(taken, region)
    return tuple(found)


def board_not_flat(build: Build) -> Iterator[Finding]:
    """Yield findings for engraved lines that a face out of flat makes wide and narrow."""
    variation = build.job.blank.flatness_mm
    if variation is None or variation <= 0.0:
        return
    for fit in build.fits:
        inlay = fit.drawn.thing
        if not inlay.v_bit or not fit.bits or fit.drawn.region.is_empty:
            continue
        bit = fit.bits[-1]
        varies = 2.0 * variation * tan(bit.angle_rad / 2.0)
        width = 2.0 * fit.drawn.region.area / fit.drawn.region.length
        if varies <= VARIES_SHARE * width:
            continue
        least = max(0.0, width - varies)
        yield Finding(
            code="board-not-flat",
            severity=Severity.MUST_FIX if varies > STOP_SHARE * width else Severity.WARNING,
            message=f"The face is {variation:g} mm out of flat: with the {bit.name} the lines of "
            f"{inlay.name} run from {width:.1f} down to {least:.1f} mm wide.",
            remedy=f"Surface it again ({build.job.allowances.surface_mm:g} mm is allowed for), "
            "take a sharper V-bit, or cut the lines with straight walls, which do not mind.",
            subjects=(fit.drawn.subject,),
            source=inlay.source,
            measure=Measure("width varies", varies, VARIES_SHARE * width, "mm"),
        )


RULES = (
    wood_too_wet,
    rigid_inlay_moves,
    frame_shows_edge,
    board_cups,
    one_sided_cutting,
    one_face_sealed,
    board_not_flat,
)
