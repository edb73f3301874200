"""Which lines across a board are worth a section: seams, second passes, caps, findings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from shapely import LineString, MultiPolygon, Polygon

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.core.findings import Finding, Severity
from flushwork.job.records import FaceName, Manner, Point
from flushwork.views.figures import clean

WOOD_BETWEEN: Final = frozenset({"wood-between-gone", "wood-between-too-thin"})
MOST: Final = 6
"""Sections in one book; the first of each kind come first."""

AROUND_MM: Final = 4.0
"""Wood shown on both sides of what a section goes through."""

LONGEST_MM: Final = 60.0


@dataclass(frozen=True, slots=True)
class TrickyPlace:
    """A line on a face, and why it is worth a look."""

    heading: str
    note: str
    face: FaceName
    start: Point
    end: Point


def tricky_places(
    faces: tuple[DrawnFace, ...], findings: tuple[Finding, ...]
) -> tuple[TrickyPlace, ...]:
    """Return the lines to cut a section along, each place once for the same reason."""
    found = [*_findings(findings)]
    for face in faces:
        for drawn in face.inlays:
            found.extend(_inlay(face.name, drawn))
    once = {place.heading: place for place in reversed(found)}
    return tuple(place for place in found if once.get(place.heading) is place)[:MOST]


def _findings(findings: tuple[Finding, ...]) -> Iterator[TrickyPlace]:
    """Yield a line through each weighty finding that has a place and measures a length."""
    for finding in findings:
        place, measure = finding.place, finding.measure
        if place is None or measure is None or measure.unit != "mm":
            continue
        if finding.severity is Severity.NOTE or finding.code not in WOOD_BETWEEN:
            continue
        face: FaceName = "back" if place.face == "back" else "front"
        heading = f"At the finding {finding.code}, {clean(finding.subject)}".rstrip(", ")
        yield TrickyPlace(
            heading,
            clean(finding.message),
            face,
            (place.x_mm - 12.0, place.y_mm),
            (place.x_mm + 12.0, place.y_mm),
        )


def _inlay(face: FaceName, drawn: DrawnInlay) -> Iterator[TrickyPlace]:
    inlay = drawn.inlay
    name = clean(inlay.name)
    if not drawn.strokes.is_empty and inlay.seam is not None:
        yield _across_line(face, name, drawn)
    elif not drawn.region.is_empty:
        if inlay.second_pass_of:
            under = ", ".join(clean(each) for each in inlay.second_pass_of)
            yield _across(face, f"Second pass {name} in {under}", drawn.region)
        elif inlay.manner is Manner.CAPPED:
            yield _across(face, f"Capped fill {name}", drawn.region)
        elif inlay.v_bit:
            yield _across(face, f"Engraving {name}", MultiPolygon([_largest(drawn.region)]))


def _across_line(face: FaceName, name: str, drawn: DrawnInlay) -> TrickyPlace:
    """Return a line square to the longest straight of a seam, at its middle."""
    straights = [
        (a, b)
        for line in drawn.strokes.geoms
        for a, b in zip(line.coords, line.coords[1:], strict=False)
    ]
    a, b = max(straights, key=lambda ends: math.dist(*ends))
    x, y = (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0
    long = math.dist(a, b) or 1.0
    across = (-(b[1] - a[1]) / long, (b[0] - a[0]) / long)
    width = drawn.inlay.seam.width_mm if drawn.inlay.seam is not None else 1.0
    half = max(4.0 * width, AROUND_MM)
    return TrickyPlace(
        heading=f"Across the seam line {name}",
        note=_note(face, (x, y)),
        face=face,
        start=(x - across[0] * half, y - across[1] * half),
        end=(x + across[0] * half, y + across[1] * half),
    )


def _across(face: FaceName, heading: str, region: MultiPolygon) -> TrickyPlace:
    """Return a level line through the widest part of a region at its middle."""
    part = _largest(region)
    left, _, right, _ = part.bounds
    y = part.representative_point().y
    line = part.intersection(LineString([(left - 1.0, y), (right + 1.0, y)]))
    left, _, right, _ = line.bounds
    middle, half = (left + right) / 2.0, min((right - left) / 2.0 + AROUND_MM, LONGEST_MM / 2.0)
    return TrickyPlace(
        heading=heading,
        note=_note(face, (middle, y)),
        face=face,
        start=(middle - half, y),
        end=(middle + half, y),
    )


def _largest(region: MultiPolygon) -> Polygon:
    return max(region.geoms, key=lambda part: part.area)


def _note(face: FaceName, at: Point) -> str:
    return (
        f"{face.capitalize()} face, through X {at[0]:.1f}, Y {at[1]:.1f} mm, after the last stage."
    )
