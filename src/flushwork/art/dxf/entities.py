"""One entity of a DXF file to contours, exact where it is: lines, arcs, ellipses, splines.

Entities of the plane lie in an object coordinate system of their own, given by its extrusion;
their contours are made there and mapped (DXF reference, object coordinate systems).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any, Final

import numpy as np
import shapely

from flushwork.art.contours import Arc, Contour, Piece, line, point, polyline
from flushwork.art.placement import Affine
from flushwork.art.regions import many
from flushwork.kernels.outlines import Points

LINES: Final = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"})
AREAS: Final = frozenset({"HATCH", "MPOLYGON", "SOLID", "TRACE"})
PASSIVE: Final = frozenset(
    {
        "POINT", "DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MULTILEADER",
        "MLEADER", "TOLERANCE", "VIEWPORT", "ATTDEF", "XLINE", "RAY", "LIGHT", "SUN", "CAMERA",
        "ACAD_TABLE", "SECTION", "GEODATA",
    }
)  # fmt: skip
"""What measures, explains or shows, and is no artwork."""

SPLINE_SHARE: Final = 2e-6
"""How far a flattened spline may stray, as a share of its own size: 0.0006 mm on 300 mm."""
MOST_CONTROLS: Final = 5_000
_TURN: Final = 2.0 * math.pi
_TAPER_CHORDS: Final = 512
"""Chords to the turn of a line that grows wider along its way."""

Made = tuple[str, tuple[Contour, ...], float]


class FaultyShapeError(Exception):
    """An entity that cannot be cut as it stands."""

    def __init__(self, what: str, remedy: str = "draw it again in the drawing program") -> None:
        super().__init__(what)
        self.what, self.remedy = what, remedy


def shape_of(entity: Any, kind: str) -> Made:
    """Return an entity's kind of shape, its contours and, of wide lines, its width.

    Raises FaultyShapeError where it has no such outline.
    """
    try:
        # what overflows is caught by the check
        with np.errstate(all="ignore"):
            made = _AS[kind](entity)
        _check(made[1])
    except _UNREADABLE as fault:
        raise FaultyShapeError("has numbers that cannot be read") from fault
    return made


_UNREADABLE: Final = (
    ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError,
)  # fmt: skip


def _check(contours: Sequence[Contour]) -> None:
    for contour in contours:
        ends = [contour.start, *(piece.end for piece in contour.pieces)]
        if not np.isfinite(np.concatenate(ends)).all():
            raise FaultyShapeError("has numbers that cannot be read")


def _plane(entity: Any, elevation: float = 0.0) -> Affine:
    """Return the map of an entity's own plane to the drawing's, seen from above."""
    ocs = entity.ocs()
    right, up = ocs.to_wcs((1.0, 0.0, 0.0)), ocs.to_wcs((0.0, 1.0, 0.0))
    origin = ocs.to_wcs((0.0, 0.0, elevation))
    return Affine(right.x, right.y, up.x, up.y, origin.x, origin.y)


def _whole(centre: Points, axes: Points, start_rad: float, sweep_rad: float) -> Contour:
    """Return a run of one arc; it is closed where it goes all the way round."""
    closed = abs(abs(sweep_rad) - _TURN) < 1e-9
    begin = centre + math.cos(start_rad) * axes[0] + math.sin(start_rad) * axes[1]
    return Contour(begin, (Arc(centre, axes, start_rad, sweep_rad),), closed)


def _sweep(start_rad: float, end_rad: float) -> float:
    """Return the way from one angle counter-clockwise to the other; all round where they agree."""
    way = math.fmod(end_rad - start_rad, _TURN)
    way = way + _TURN if way < 0.0 else way
    return _TURN if way < 1e-12 else way


def _line(entity: Any) -> Made:
    start, end = entity.dxf.start, entity.dxf.end
    if (start.x, start.y) == (end.x, end.y):
        return ("line", (), 0.0)
    ends = np.array([[start.x, start.y], [end.x, end.y]])
    return ("line", (polyline(ends, closed=False),), 0.0)


def _arc(entity: Any) -> Made:
    centre, radius = entity.dxf.center, float(entity.dxf.radius)
    if radius <= 0.0:
        raise FaultyShapeError("has no radius")
    start_rad, sweep_rad = 0.0, _TURN
    if entity.dxftype() == "ARC":
        start_rad = math.radians(float(entity.dxf.start_angle))
        sweep_rad = _sweep(start_rad, math.radians(float(entity.dxf.end_angle)))
    axes = np.array([[radius, 0.0], [0.0, radius]])
    run = _whole(point(centre.x, centre.y), axes, start_rad, sweep_rad)
    return ("line", (run.mapped(_plane(entity, centre.z)),), 0.0)


def _ellipse(entity: Any) -> Made:
    centre, major, minor = entity.dxf.center, entity.dxf.major_axis, entity.minor_axis
    start_rad, end_rad = float(entity.dxf.start_param), float(entity.dxf.end_param)
    axes = np.array([[major.x, major.y], [minor.x, minor.y]])
    run = _whole(point(centre.x, centre.y), axes, start_rad, _sweep(start_rad, end_rad))
    return ("line", (run,), 0.0)


def _spline(entity: Any) -> Made:
    closed = bool(entity.closed)
    run = _curve(entity.construction_tool(), closed=closed)
    return ("line", (run,) if len(run.pieces) else (), 0.0)


def _curve(spline: Any, *, closed: bool) -> Contour:
    """Return a B-spline as chords close to it."""
    controls = np.array([(each.x, each.y) for each in spline.control_points])
    if len(controls) > MOST_CONTROLS or not np.isfinite(controls).all():
        raise FaultyShapeError(f"has more than {MOST_CONTROLS} control points, or endless ones")
    size = float(np.ptp(controls, axis=0).max(initial=0.0))
    if size <= 0.0:
        return Contour(controls[0], (), closed=False)
    points = np.array([(each.x, each.y) for each in spline.flattening(SPLINE_SHARE * size)])
    return polyline(points, closed=closed)


def _lwpolyline(entity: Any) -> Made:
    rows = [tuple(map(float, row)) for row in entity.get_points("xyseb")]
    elevation = float(entity.dxf.get("elevation", 0.0))
    constant = float(entity.dxf.get("const_width", 0.0))
    if constant > 0.0:
        rows = [(x, y, constant, constant, bulge) for x, y, _, _, bulge in rows]
    return _run_of(entity, rows, closed=bool(entity.closed), elevation=elevation)


def _polyline(entity: Any) -> Made:
    if entity.is_3d_polyline:
        points = np.array([(each.x, each.y) for each in entity.points()])
        if len(points) < 2:
            return ("line", (), 0.0)
        return ("line", (polyline(points, closed=bool(entity.is_closed)),), 0.0)
    if not entity.is_2d_polyline:
        raise FaultyShapeError("is a mesh in space and no flat outline", "draw its outline")
    spare = (
        float(entity.dxf.get("default_start_width", 0.0)),
        float(entity.dxf.get("default_end_width", 0.0)),
    )
    rows = []
    for vertex in entity.vertices:
        if int(vertex.dxf.get("flags", 0)) & _FRAME:
            continue
        place = vertex.dxf.location
        start = float(vertex.dxf.get("start_width", spare[0]))
        end = float(vertex.dxf.get("end_width", spare[1]))
        rows.append((place.x, place.y, start, end, float(vertex.dxf.get("bulge", 0.0))))
    elevation = float(entity.dxf.elevation.z) if entity.dxf.hasattr("elevation") else 0.0
    return _run_of(entity, rows, closed=bool(entity.is_closed), elevation=elevation)


_FRAME: Final = 16
"""A vertex of the frame of a fitted curve, which is not on it (DXF reference, VERTEX, group 70)."""


def _run_of(
    entity: Any, rows: Sequence[tuple[float, ...]], *, closed: bool, elevation: float
) -> Made:
    """Return a polyline by its rows of x, y, both widths and bulge."""
    affine = _plane(entity, elevation)
    run = bulged([(x, y, bulge) for x, y, _, _, bulge in rows], closed=closed)
    if run is None:
        return ("line", (), 0.0)
    widths = {width for row in (rows if closed else rows[:-1]) for width in row[2:4]}
    if not any(width > 0.0 for width in widths):
        return ("line", (run.mapped(affine),), 0.0)
    stretch = affine.stretch
    if len(widths) == 1 and abs(abs(affine.determinant) - 1.0) < 1e-9:
        return ("wide", (run.mapped(affine),), widths.pop() * stretch)
    return ("area", tuple(each.mapped(affine) for each in _tapered(entity)), 0.0)


def bulged(rows: Sequence[tuple[float, float, float]], *, closed: bool) -> Contour | None:
    """Return a run through points (x, y, bulge), None where it has no length.

    The bulge is the tangent of a quarter of the arc to the next point, positive where the arc goes
    counter-clockwise (DXF reference, LWPOLYLINE, group 42).
    """
    ends = [*rows, rows[0]] if closed and len(rows) else list(rows)
    pieces: list[Piece] = []
    for (x, y, bulge), (to_x, to_y, _) in pairwise(ends):
        if (x, y) == (to_x, to_y):
            continue
        pieces.append(_bulge(point(x, y), point(to_x, to_y), bulge))
    if not pieces:
        return None
    return Contour(point(*rows[0][:2]), tuple(pieces), closed)


def _bulge(start: Points, end: Points, bulge: float) -> Piece:
    if abs(bulge) < 1e-12:
        return line(start, end)
    half = (end - start) / 2.0
    # the centre lies left of the chord for a bulge below 1, right of it beyond a half circle
    rise = (1.0 - bulge * bulge) / (2.0 * bulge)
    centre = start + half + rise * np.array([-half[1], half[0]])
    spoke = start - centre
    axes = np.array([spoke, [-spoke[1], spoke[0]]])
    return Arc(centre, axes, 0.0, 4.0 * math.atan(bulge))


def _tapered(entity: Any) -> tuple[Contour, ...]:
    """Return the outlines of a line whose width changes along its way, in its own plane."""
    from ezdxf.render.trace import TraceBuilder  # noqa: PLC0415

    builder = TraceBuilder.from_polyline(entity, segments=_TAPER_CHORDS)
    quads = [
        shapely.Polygon([(each.x, each.y) for each in quad]).buffer(0.0)
        for quad in builder.polygons()
        if len(quad) > 2
    ]
    whole = many(shapely.union_all(quads))
    rings = [ring for part in whole.geoms for ring in (part.exterior, *part.interiors)]
    return tuple(polyline(shapely.get_coordinates(ring), closed=True) for ring in rings)


def _solid(entity: Any) -> Made:
    corners = [entity.dxf.vtx0, entity.dxf.vtx1]
    corners += [entity.dxf.get("vtx3", entity.dxf.vtx2), entity.dxf.vtx2]
    points = np.array([(each.x, each.y) for each in corners])
    ring = polyline(points, closed=True).mapped(_plane(entity, corners[0].z))
    return ("area", (ring,), 0.0)


def _hatch(entity: Any) -> Made:
    elevation = float(entity.dxf.elevation.z) if entity.dxf.hasattr("elevation") else 0.0
    affine = _plane(entity, elevation)
    rings = [
        ring.mapped(affine)
        for path in entity.paths.rendering_paths(entity.dxf.get("hatch_style", 0))
        for ring in _boundary(path)
    ]
    return ("area", tuple(rings), 0.0)


def _boundary(path: Any) -> Iterable[Contour]:
    if hasattr(path, "vertices"):
        run = bulged([(float(x), float(y), float(b)) for x, y, b in path.vertices], closed=True)
        return () if run is None else (run,)
    pieces: list[Piece] = []
    begin: Points | None = None
    for edge in path.edges:
        run = _edge(edge)
        begin = run.start if begin is None else begin
        pieces += run.pieces
    return () if begin is None else (Contour(begin, tuple(pieces), closed=True),)


def _edge(edge: Any) -> Contour:
    """Return one edge of a hatch, run the way it is drawn."""
    kind = type(edge).__name__
    if kind == "LineEdge":
        ends = np.array([tuple(edge.start)[:2], tuple(edge.end)[:2]], dtype=np.float64)
        return polyline(ends, closed=False)
    if kind == "SplineEdge":
        return _curve(edge.construction_tool(), closed=False)
    centre = point(edge.center.x, edge.center.y)
    if kind == "ArcEdge":
        axes = np.array([[edge.radius, 0.0], [0.0, edge.radius]])
        start_rad, end_rad = math.radians(edge.start_angle), math.radians(edge.end_angle)
    else:
        major = np.array([edge.major_axis.x, edge.major_axis.y])
        axes = np.stack([major, edge.ratio * np.array([-major[1], major[0]])])
        start_rad, end_rad = float(edge.start_param), float(edge.end_param)
    sweep_rad = _sweep(start_rad, end_rad)
    if edge.ccw:
        return _whole(centre, axes, start_rad, sweep_rad)
    return _whole(centre, axes, start_rad + sweep_rad, -sweep_rad)


_AS: Final = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "HATCH": _hatch,
    "MPOLYGON": _hatch,
    "SOLID": _solid,
    "TRACE": _solid,
}
