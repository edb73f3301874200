"""What goes wrong in height.

Wood between the faces, floors, flush milling, what sanding leaves, engraved strokes.

Engraved strokes are V grooves: how deep they come out, and what sanding leaves of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi, sqrt, tan

import numpy as np
import shapely
from shapely import MultiPolygon

from flushwork.art.drawn import DrawnInlay
from flushwork.art.regions import many
from flushwork.built import Build
from flushwork.checks.expected_board import (
    Sunk,
    cut_in,
    cut_stages,
    floor_mm,
    last_sanding,
    left_proud_mm,
    sanded_off_mm,
    setup_number,
    stage_number,
    stages_of,
    sunk_in,
    taken_after_cut_mm,
    to_front,
)
from flushwork.checks.odds import variation
from flushwork.checks.odds.variation import (
    Critical,
    CriticalQuantity,
    Floats,
    single,
    variation_out,
)
from flushwork.checks.rules.board.thickness_rules import AREA_MM2, REPLAY_MM
from flushwork.colour.kubelka_munk import NEVER_HIDES_MM
from flushwork.core.findings import Subject
from flushwork.job.records import Manner, MeasuredFrom
from flushwork.process.stages import StageKind
from flushwork.shelf.items import Bit
from flushwork.strata.measure import least_wood_between_faces

DRAINS_MM = 0.3
"""Wood thinner than this lets wet resin through (assumed, 0.1 to 0.5 mm; a step-wedge test
strip)."""
WOOD_BETWEEN_NEAR_MM = 6.0
"""Wood between the faces thicker than this are safe."""
MOST_PARTS = 64
"""Places looked at where two things lie over one another: the largest of what they share."""
STROKE_LEFT = 0.7
"""An engraved stroke shall keep this share of its width (assumed, 0.5 to 0.9)."""


@dataclass(frozen=True, slots=True)
class Grooves:
    """The strokes of an engraved inlay: their mean width, the bit, what is sanded off them.

    Width = tip + 2 depth tan(angle / 2), the geometry of a cone.
    """

    width_mm: float
    bit: Bit
    most_mm: float
    taken_mm: float

    @property
    def slope(self) -> float:
        """Width per depth."""
        return 2.0 * tan(self.bit.angle_rad / 2.0)

    @property
    def depth_mm(self) -> float:
        """How deep a stroke of that width is cut."""
        return min(max(0.0, (self.width_mm - self.bit.tip_mm) / self.slope), self.most_mm)

    @property
    def to_draw_mm(self) -> float:
        """How broad a stroke has to be drawn that shall be so broad once it is sanded."""
        return self.width_mm + self.taken_mm * self.slope


def stroke_width_mm(region: MultiPolygon) -> float:
    """Return the width of the strokes that a region is made of.

    Strokes of one width w and length l with round ends have the area w l + n pi w^2 / 4 and the
    outline 2 l + n pi w, n the region's parts less its holes: an exact pair of equations for w.
    """
    area, outline = region.area, region.length
    count = len(region.geoms) - sum(len(part.interiors) for part in region.geoms)
    if count <= 0:
        return 2.0 * area / outline if outline > 0.0 else 0.0
    return (outline - sqrt(max(0.0, outline**2 - 4.0 * pi * count * area))) / (pi * count)


def grooves_of(build: Build, drawn: DrawnInlay) -> Grooves | None:
    """Return the grooves of an engraved inlay, None without a bit for it."""
    bits = build.fit(drawn.inlay.name).bits
    if not drawn.inlay.v_bit or not bits or drawn.region.is_empty:
        return None
    taken_mm = 0.0
    if drawn.inlay.measured_from is MeasuredFrom.STANDING:
        taken_mm = taken_after_cut_mm(build, drawn.inlay.name)
    return Grooves(stroke_width_mm(drawn.region), bits[-1], drawn.inlay.depth_mm, taken_mm)


def upright(build: Build) -> Iterator[CriticalQuantity]:
    """Yield everything that goes wrong in height."""
    yield from floors_left(build)
    yield from wood_between(build)
    yield from left_to_sand(build)
    yield from fills(build)
    yield from strokes(build)


def floors_left(build: Build) -> Iterator[CriticalQuantity]:
    """Yield, for second passes, how much of the first colour stays under them."""
    second = [drawn for drawn in build.inlays if drawn.inlay.second_pass_of]
    for drawn, sunk in [(item, _floors(build, item)) for item in second]:
        for before in drawn.inlay.second_pass_of:
            if before not in sunk or drawn.region.is_empty:
                continue
            name = drawn.inlay.name
            spot = drawn.region.representative_point()
            yield single(
                Critical.FIRST_COLOUR,
                (Subject("inlay", name),),
                drawn.inlay.face,
                (spot.x, spot.y),
                sunk[name] - sunk[before],
                0.0,
                (
                    (variation.zero(setup_number(build, before)), -1.0),
                    (variation.zero(setup_number(build, name)), 1.0),
                ),
                stage_number(build, name),
            )


def _floors(build: Build, drawn: DrawnInlay) -> dict[str, float]:
    """Return the heights of the floors of a face's inlays by name."""
    face = build.face(drawn.inlay.face)
    return {
        item.inlay.name: floor_mm(build, item.inlay, stage)
        for stage in cut_stages(build, face.name)
        for item in cut_in(face, stage)
    }


def wood_between(build: Build) -> Iterator[CriticalQuantity]:
    """Yield the wood between the faces wherever two things lie over one another.

    Each part of what they share is a place of its own; where the wood between the faces is thin the
    replay's own figure counts.
    """
    fronts, backs = sunk_in(build, "front"), sunk_in(build, "back")
    for front in fronts:
        for back in backs:
            wood_between = build.job.blank.thickness_mm + front.floor_mm + back.floor_mm
            if wood_between > WOOD_BETWEEN_NEAR_MM:
                continue
            shared = many(front.region.intersection(to_front(build.job, back.region)))
            if shared.area > AREA_MM2:
                yield _wood_between(build, front, back, wood_between, shared)


def _wood_between(
    build: Build, front: Sunk, back: Sunk, wood_between: float, shared: shapely.MultiPolygon
) -> CriticalQuantity:
    parts = sorted(shared.geoms, key=lambda part: -part.area)[:MOST_PARTS]
    spots = [part.representative_point() for part in parts]
    at_mm = np.array([(spot.x, spot.y) for spot in spots])
    nominal = np.full(len(parts), wood_between)
    if wood_between < build.job.allowances.wood_between_mm + REPLAY_MM:
        for index, part in enumerate(parts):
            found = least_wood_between_faces(
                build.replay.final, build.replay.spec, shapely.MultiPolygon([part])
            )
            if found is not None and found.wood_between_mm < wood_between:
                nominal[index], at_mm[index] = found.wood_between_mm, (found.x_mm, found.y_mm)
    ones = np.ones(len(parts))
    return variation_out(
        Critical.WOOD_BETWEEN_FACES,
        (front.subject, back.subject),
        "front",
        at_mm,
        nominal,
        DRAINS_MM,
        (
            (variation.thickness(), ones),
            (variation.flatness(build.job, "front"), ones),
            (variation.zero(setup_number(build, front.name)), ones),
            (variation.zero(setup_number(build, back.name)), ones),
        ),
        stage_number(build, front.name, back.name),
    )


def left_to_sand(build: Build) -> Iterator[CriticalQuantity]:
    """Yield, for each flush milling by machine, how much it leaves above the plane sanded to."""
    allowances = build.job.allowances
    for stage in stages_of(build, StageKind.MILL_FLUSH):
        sand = allowances.sand_mm if stage.round <= 1 else allowances.light_sand_mm
        face = build.face(stage.face)
        milled_flush = [item for item in face.inlays if item.inlay.name in stage.subjects]
        drawn = next((item for item in milled_flush if not item.region.is_empty), None)
        if drawn is None:
            continue
        spot = drawn.region.representative_point()
        yield single(
            Critical.LEFT_TO_SAND,
            (Subject("stage", f"round {stage.round} of the {stage.face}"),),
            stage.face,
            (spot.x, spot.y),
            max(left_proud_mm(allowances), 0.0) + sand,
            0.0,
            (
                (variation.zero(stage.setup), 1.0),
                (variation.flatness(build.job, stage.face), -1.0),
            ),
            stage.number,
        )


def fills(build: Build) -> Iterator[CriticalQuantity]:
    """Yield the thickness of each opaque fill that is left, against what hides the wood."""
    for face in build.faces:
        taken, times = sanded_off_mm(build, face.name)
        for item in sunk_in(build, face.name):
            drawn = next((one for one in face.inlays if one.inlay.name == item.name), None)
            if drawn is None or drawn.inlay.v_bit or drawn.region.is_empty:
                continue
            hides = build.palette.mixes[drawn.inlay.mix.name].hides_mm
            if hides >= NEVER_HIDES_MM or drawn.inlay.manner is Manner.CAPPED:
                continue
            spot = drawn.region.representative_point()
            yield single(
                Critical.FILL,
                (item.subject,),
                face.name,
                (spot.x, spot.y),
                item.depth_mm,
                hides,
                (
                    (variation.zero(setup_number(build, item.name)), 1.0),
                    (variation.flatness(build.job, face.name), 1.0),
                    (variation.sanding(face.name), -variation.sanded_mm(build.job, taken, times)),
                ),
                last_sanding(build, face.name),
            )


def strokes(build: Build) -> Iterator[CriticalQuantity]:
    """Yield how much engraved strokes may still lose: what is sanded too deep takes their width."""
    for drawn in build.inlays:
        grooves = grooves_of(build, drawn)
        if grooves is None:
            continue
        face = drawn.inlay.face
        taken, times = sanded_off_mm(build, face)
        widths, at_mm = _broad(drawn)
        slope = np.full(len(widths), grooves.slope)
        yield variation_out(
            Critical.STROKE,
            (drawn.subject,),
            face,
            at_mm,
            (1.0 - STROKE_LEFT) * widths - grooves.taken_mm * grooves.slope,
            0.0,
            (
                (variation.sanding(face), -variation.sanded_mm(build.job, taken, times) * slope),
                (variation.zero(setup_number(build, drawn.inlay.name)), slope),
                (variation.flatness(build.job, face), slope),
            ),
            last_sanding(build, face),
        )


def _broad(drawn: DrawnInlay) -> tuple[Floats, Floats]:
    """Return how broad the parts of an engraving are, each by its own mean, and where."""
    parts = [shapely.MultiPolygon([part]) for part in drawn.region.geoms]
    widths = np.array([stroke_width_mm(part) for part in parts])
    spots = [part.representative_point() for part in parts]
    return widths, np.array([(spot.x, spot.y) for spot in spots])
