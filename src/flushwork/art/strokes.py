"""Lines with a width: polylines, and smooth curves through points."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from flushwork.art.contours import Bezier, Contour, polyline
from flushwork.art.drawn import Shapes
from flushwork.art.faults import Faults
from flushwork.art.regions import CENTRE_SHARE, NOTHING, Ends, on_grid, stroked
from flushwork.core.findings import Source
from flushwork.job.records import Point, StrokeArt
from flushwork.kernels.outlines import Points

_ENDS: Final[dict[str, Ends]] = {"round": "round", "flat": "flat", "square": "square", "": "round"}


def draw_strokes(art: StrokeArt, source: Source, tolerance_mm: float) -> Shapes:
    """Return the region the lines cover, and the lines; of width 0 only the lines.

    Corners are round on their outer side, as a round bit makes them.  The flattening of curves
    and what widening them does to their outline keep the tolerance together.
    """
    faults = Faults()
    fine_mm = CENTRE_SHARE * tolerance_mm
    lines: list[LineString] = []
    widened: list[BaseGeometry] = []
    for number, given in enumerate(art.lines, start=1):
        points = on_grid(np.array(given, dtype=np.float64).reshape(-1, 2))
        if art.closed and len(points) > 1 and np.array_equal(points[0], points[-1]):
            points = points[:-1]
        if len(points) < 2:
            _note_short(number, given, faults, source)
            continue
        contour = (
            smooth_curve(points, closed=art.closed)
            if art.smooth and len(points) > 2
            else polyline(points, closed=art.closed and len(points) > 2)
        )
        lines.append(LineString(contour.points(tolerance_mm)))
        closely = contour.points(fine_mm)
        ring = lines[-1].is_closed
        widened.append(shapely.LinearRing(closely) if ring else LineString(closely))
    if not art.lines:
        faults.add(source, "line-without-length", "there is no line", "give points, two or more")
    if art.ends not in _ENDS:
        faults.add(
            source,
            "line-ends-unknown",
            f"lines cannot end '{art.ends}'",
            "write round, flat or square",
        )
    faults.refuse()
    region = NOTHING
    if art.width_mm > 0.0:
        left_mm = tolerance_mm - fine_mm
        region = stroked(widened, art.width_mm, ends=_ENDS[art.ends], tolerance_mm=left_mm)
    return Shapes(region=region, strokes=MultiLineString(lines))


def _note_short(number: int, given: tuple[Point, ...], faults: Faults, source: Source) -> None:
    what = "has only one point" if len(given) < 2 else "has all its points in one place"
    where = f", at {given[0][0]:g}, {given[0][1]:g} mm" if given else ""
    faults.add(
        source,
        "line-without-length",
        f"line number {number} {what}{where}",
        "give two points that lie apart; for a round dot use a circle",
    )


def smooth_curve(points: Points, *, closed: bool) -> Contour:
    """Return a curve through points (n, 2), n > 2, no two neighbours alike.

    Centripetal Catmull-Rom pieces as cubic Bezier curves: with this spacing of the parameter a
    piece has no cusp and no loop (C. Yuksel, S. Schaefer, J. Keyser, *Parameterization and
    applications of Catmull-Rom curves*, Computer-Aided Design 43, 2011).
    """
    count = len(points)
    if closed:
        around = np.concatenate([points[-1:], points, points[:2]])
    else:
        # an end point is mirrored, so that the curve leaves it without a turn
        around = np.concatenate(
            [2.0 * points[:1] - points[1:2], points, 2.0 * points[-1:] - points[-2:-1]]
        )
    steps = np.sqrt(np.hypot(*np.diff(around, axis=0).T))
    pieces: list[Bezier] = []
    for index in range(count if closed else count - 1):
        before, start, end, beyond = around[index : index + 4]
        first, middle, last = steps[index : index + 3]
        leaving = (
            (start - before) / first - (end - before) / (first + middle) + (end - start) / middle
        ) * middle
        arriving = (
            (end - start) / middle - (beyond - start) / (middle + last) + (beyond - end) / last
        ) * middle
        pieces.append(Bezier(np.stack([start, start + leaving / 3.0, end - arriving / 3.0, end])))
    return Contour(points[0], tuple(pieces), closed)
