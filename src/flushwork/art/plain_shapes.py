"""Artwork by numbers: discs and rings, polygons and stars, rectangles and frames."""

from __future__ import annotations

import math

import numpy as np

from flushwork.art.contours import ellipse, rounded_rectangle
from flushwork.art.drawn import Shapes
from flushwork.art.faults import refusal
from flushwork.art.regions import crossing, filled
from flushwork.core.findings import Source
from flushwork.job.records import CircleArt, PolygonArt, RectangleArt
from flushwork.kernels.outlines import Points


def draw_circle(art: CircleArt, source: Source, tolerance_mm: float) -> Shapes:
    """Return a disc or a ring about the origin."""
    if not art.diameter_mm > 0.0:
        raise refusal(
            source,
            "circle-without-size",
            f"the circle is {art.diameter_mm:g} mm across",
            "give its diameter, such as 60 mm",
        )
    if art.hole_mm < 0.0 or art.hole_mm >= art.diameter_mm:
        raise refusal(
            source,
            "ring-without-wood",
            f"a ring {art.diameter_mm:g} mm across cannot have a hole of {art.hole_mm:g} mm",
            "make the hole smaller than the ring",
        )
    radii_mm = [size / 2.0 for size in (art.diameter_mm, art.hole_mm) if size > 0.0]
    rings = [ellipse(0.0, 0.0, radius, radius).points(tolerance_mm) for radius in radii_mm]
    return Shapes(region=filled(rings, even_odd=True))


def draw_polygon(art: PolygonArt, source: Source) -> Shapes:
    """Return a regular polygon or star about the origin, one point up; or the polygon typed."""
    if art.points:
        return _typed(art, source)
    if art.sides < 3 or not art.diameter_mm > 0.0:
        raise refusal(
            source,
            "polygon-without-area",
            f"a polygon of {art.sides} sides, {art.diameter_mm:g} mm across, has no area",
            "give three sides or more and a diameter",
        )
    if art.inner_mm < 0.0 or art.inner_mm >= art.diameter_mm:
        raise refusal(
            source,
            "star-without-points",
            f"a star {art.diameter_mm:g} mm across its points cannot be {art.inner_mm:g} mm "
            "across its inner corners",
            "make `inner` smaller than the diameter",
        )
    star = art.inner_mm > 0.0
    count = art.sides * (2 if star else 1)
    angles = math.pi / 2.0 + 2.0 * math.pi * np.arange(count) / count
    radii = np.full(count, art.diameter_mm / 2.0)
    if star:
        radii[1::2] = art.inner_mm / 2.0
    outline: Points = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    return Shapes(region=filled([outline]))


def _typed(art: PolygonArt, source: Source) -> Shapes:
    outline = np.array(art.points, dtype=np.float64).reshape(-1, 2)
    crossed = crossing(outline)
    if crossed is not None:
        raise refusal(
            source,
            "polygon-crosses-itself",
            f"the polygon crosses itself at {crossed[0]:.2f}, {crossed[1]:.2f} mm",
            "put the points in order around the outline",
        )
    region = filled([outline])
    if region.is_empty:
        raise refusal(
            source,
            "polygon-without-area",
            f"the polygon through {len(outline)} points has no area",
            "give three points or more that do not lie in one line",
        )
    return Shapes(region=region)


def draw_rectangle(art: RectangleArt, source: Source, tolerance_mm: float) -> Shapes:
    """Return a rectangle or a frame, centred on the origin."""
    least_mm = min(art.length_mm, art.width_mm)
    if not least_mm > 0.0:
        raise refusal(
            source,
            "rectangle-without-size",
            f"the rectangle is {art.length_mm:g} by {art.width_mm:g} mm",
            "give both sizes, such as 120 mm x 60 mm",
        )
    if art.round_mm < 0.0 or art.round_mm > least_mm / 2.0:
        raise refusal(
            source,
            "rectangle-corner-too-round",
            f"corners of {art.round_mm:g} mm do not fit a rectangle of {art.length_mm:g} by "
            f"{art.width_mm:g} mm",
            f"make `round` {least_mm / 2.0:g} mm or less",
        )
    if art.line_mm < 0.0 or art.line_mm >= least_mm / 2.0:
        raise refusal(
            source,
            "frame-without-middle",
            f"a line of {art.line_mm:g} mm fills the whole rectangle of {art.length_mm:g} by "
            f"{art.width_mm:g} mm",
            f"make `line` less than {least_mm / 2.0:g} mm, or leave it out",
        )
    rings = [_ring(art, 0.0, tolerance_mm)]
    if art.line_mm > 0.0:
        rings.append(_ring(art, art.line_mm, tolerance_mm))
    return Shapes(region=filled(rings, even_odd=True))


def _ring(art: RectangleArt, inset_mm: float, tolerance_mm: float) -> Points:
    length_mm, width_mm = art.length_mm - 2.0 * inset_mm, art.width_mm - 2.0 * inset_mm
    round_mm = max(0.0, art.round_mm - inset_mm)
    contour = rounded_rectangle(
        -length_mm / 2.0,
        -width_mm / 2.0,
        length_mm,
        width_mm,
        radius_x=round_mm,
        radius_y=round_mm,
    )
    return contour.points(tolerance_mm)
