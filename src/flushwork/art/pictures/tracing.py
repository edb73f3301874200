"""From a picture of few colours to regions that fit together.

The edges between dots of two colours are joined to arcs, from one place where three colours meet to
the next, and each arc is smoothed once: neighbours share it, so that nothing gapes or overlaps.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from shapely import MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.regions import NOTHING, many, offset, united
from flushwork.kernels.outlines import Points

Labels = NDArray[np.uint8]

_LEAST_SIGMA: Final = 1.0
"""Smoothing of an arc in dots that takes out the stairs between them."""
MOST_STEPS: Final = 150_000
"""Edges between dots beyond any drawing: ten metres of outline on a board of 100 mm."""
_FEWER_DOTS: Final = 0.12
"""How far an arc may be moved by leaving points out, in dots."""
CORNER: Final = 1.0
"""What a bit leaves of a corner reaches no further than so many of its radii; more is a part too
thin for it. A right angle keeps 0.41 of a radius, one of 60 degrees a whole one."""
_SPARED: Final = 0.98
"""A part as wide as the bit passes, however its outline was smoothed."""
_TOUCHING_MM: Final = 1e-6
"""Parts cut out of one region lie within this of each other where they touch."""
_SHARED: Final = 0.1
"""A corner shares more of its edge than this share of a bit's radius; less is a mere point."""


def settled_labels(labels: Labels, count: int, sigma_dots: float) -> Labels:
    """Give each dot the colour that weighs most around it: specks and fringes go, edges calm."""
    settled = _settled(labels, count, max(sigma_dots, _LEAST_SIGMA))
    while _steps(settled) > MOST_STEPS:
        # noise all over: nothing but a stronger smoothing makes a drawing of it
        sigma_dots = 2.0 * max(sigma_dots, _LEAST_SIGMA)
        settled = _settled(settled, count, sigma_dots)
    return settled


def _steps(labels: Labels) -> int:
    """Return how many edges between dots part two colours."""
    across = np.count_nonzero(labels[:, 1:] != labels[:, :-1])
    return int(across + np.count_nonzero(labels[1:] != labels[:-1]))


def _settled(labels: Labels, count: int, sigma_dots: float) -> Labels:
    best = np.zeros(labels.shape, dtype=np.uint8)
    most = np.zeros(labels.shape, dtype=np.uint8)
    blur = ImageFilter.GaussianBlur(sigma_dots)
    for label in range(count):
        share = np.asarray(Image.fromarray((labels == label).astype(np.uint8) * 255).filter(blur))
        more = share > most
        best[more] = label
        most[more] = share[more]
    return best


def regions_of(labels: Labels, count: int, dot_mm: float, sigma_dots: float) -> list[MultiPolygon]:
    """Return the region of each colour in mm, y up, the picture's lower left corner at zero."""
    rows, columns = labels.shape
    whole = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows], [0, 0]], dtype=np.float64)
    arcs = _arcs(labels)
    smooth = [_smoothed(arc, max(sigma_dots, _LEAST_SIGMA)) for arc in arcs]
    frame = shapely.LinearRing(whole)
    lines = [
        shapely.simplify(shapely.LineString(arc), _FEWER_DOTS) for arc in smooth if len(arc) > 1
    ]
    noded = shapely.union_all([frame, *lines])
    faces = [
        face
        for face in shapely.get_parts(shapely.polygonize(list(shapely.get_parts(noded))))
        if isinstance(face, Polygon) and face.area > 0.5
    ]
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    column = np.clip(inside[:, 0].astype(int), 0, columns - 1)
    row = np.clip(inside[:, 1].astype(int), 0, rows - 1)
    of = labels[row, column]
    found: list[MultiPolygon] = []
    for label in range(count):
        mine = [face for face, its in zip(faces, of, strict=True) if its == label]
        region = united(mine) if mine else NOTHING
        turned = shapely.transform(
            region, lambda dots: np.stack([dots[:, 0], rows - dots[:, 1]], axis=1) * dot_mm
        )
        found.append(many(turned))
    return found


def _arcs(labels: Labels) -> list[Points]:
    """Return the lines between colours, through the middles of the edges between dots.

    Where three colours meet, or four, arcs end at the corner of the dots there.
    """
    row, column = np.nonzero(labels[:, 1:] != labels[:, :-1])
    upright = np.stack([column + 1, row, column + 1, row + 1], axis=1)
    row, column = np.nonzero(labels[1:] != labels[:-1])
    level = np.stack([column, row + 1, column + 1, row + 1], axis=1)
    steps = np.concatenate([upright, level]).reshape(-1, 2, 2).astype(np.float64)
    if not len(steps):
        return []
    merged = shapely.line_merge(MultiLineString(list(steps)))
    return [shapely.get_coordinates(part) for part in shapely.get_parts(merged)]


def _smoothed(arc: Points, sigma_dots: float) -> Points:
    """Smooth an arc along its way; its ends stay, a closed one has none."""
    middles = (arc[1:] + arc[:-1]) / 2.0
    reach = int(np.ceil(3.0 * sigma_dots))
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma_dots) ** 2)
    weights /= weights.sum()
    if (arc[0] == arc[-1]).all():
        times = -(-reach // len(middles))
        around = np.concatenate([middles] * (2 * times + 1))
        smooth = _convolved(around, weights)[times * len(middles) : (times + 1) * len(middles)]
        return np.concatenate([smooth, smooth[:1]])
    # mirrored through its ends, so that it leaves them as it was
    before = 2.0 * arc[0] - middles[:reach][::-1]
    beyond = 2.0 * arc[-1] - middles[-reach:][::-1]
    smooth = _convolved(np.concatenate([before, middles, beyond]), weights)
    smooth = smooth[len(before) : len(before) + len(middles)]
    return np.concatenate([arc[:1], smooth, arc[-1:]])


def _convolved(points: Points, weights: NDArray[np.float64]) -> Points:
    return np.stack([np.convolve(points[:, axis], weights, "same") for axis in (0, 1)], axis=1)


def cuttable(
    regions: list[MultiPolygon],
    bare: frozenset[int],
    least_mm: float,
    speck_mm: float,
    *,
    grow: bool,
) -> list[MultiPolygon]:
    """Return regions in which a bit ``least_mm`` wide finds room everywhere but in corners.

    What is thinner is dropped to bare wood, or with ``grow`` widened to the bit, over its
    neighbours; specks narrower than ``speck_mm`` are dropped in any case, bare specks within a
    colour filled.
    """
    kept = list(regions)
    grown: dict[int, MultiPolygon] = {}
    for index, region in enumerate(regions):
        if index in bare or region.is_empty:
            continue
        stout, thin = _parted(region, least_mm)
        kept[index] = stout
        if grow:
            grown[index] = _grown(thin, least_mm, speck_mm)
    taken: MultiPolygon = NOTHING
    for index in sorted(grown):
        wide = many(grown[index].difference(taken))
        taken = united([taken, wide])
        kept[index] = united([kept[index], wide])
        for other in range(len(kept)):
            if other != index and other not in bare:
                kept[other] = many(kept[other].difference(wide))
    for index in range(len(kept)):
        if index in bare:
            continue
        if grow:
            kept[index] = _parted(kept[index], least_mm)[0]
        others = [each for at, each in enumerate(kept) if at != index and at not in bare]
        kept[index] = _filled_specks(kept[index], others, speck_mm)
    return kept


def _parted(region: MultiPolygon, least_mm: float) -> tuple[MultiPolygon, list[Polygon]]:
    """Return what a bit can reach with its corners, and the parts too thin for it."""
    radius_mm = _SPARED * least_mm / 2.0
    tolerance_mm = radius_mm / 50.0
    core = offset(region, -radius_mm, tolerance_mm)
    reached = many(offset(core, radius_mm + tolerance_mm, tolerance_mm).intersection(region))
    stout, thin = [reached], []
    whole = shapely.STRtree(list(reached.geoms))
    for part in many(region.difference(reached)).geoms:
        if _hangs_on(part, reached, whole, radius_mm):
            stout.append(MultiPolygon([part]))
        else:
            thin.append(part)
    joined = united(stout)
    # a corner that hangs on a mere point is no part of the region
    kept = [part for part in joined.geoms if not part.buffer(-radius_mm * 0.9).is_empty]
    return many(MultiPolygon(kept)), thin


def _hangs_on(
    part: Polygon, reached: MultiPolygon, tree: shapely.STRtree, radius_mm: float
) -> bool:
    """Whether a part is a corner of what a bit reaches: of that which it shares an edge with.

    It may lie near something else as well, which it is no corner of.
    """
    rim = part.buffer(_TOUCHING_MM)
    least_mm2 = _TOUCHING_MM * _SHARED * radius_mm
    beside = [
        reached.geoms[at]
        for at in tree.query(part, predicate="dwithin", distance=_TOUCHING_MM)
        if rim.intersection(reached.geoms[at]).area > least_mm2
    ]
    corners = shapely.points(shapely.get_coordinates(part))
    return any(shapely.distance(corners, own).max() <= CORNER * radius_mm for own in beside)


def _grown(thin: list[Polygon], least_mm: float, speck_mm: float) -> MultiPolygon:
    """Return thin parts as wide as a bit: each is made thinner first while it holds together."""
    wide: list[BaseGeometry] = []
    for part in thin:
        if part.area < np.pi / 4.0 * speck_mm**2:
            continue
        spine: BaseGeometry = part
        # half of its mean width, as far as it stays in one piece
        inward = 0.45 * 2.0 * part.area / part.length
        for share in (1.0, 0.6, 0.3):
            shrunk = part.buffer(-inward * share)
            if isinstance(shrunk, Polygon) and not shrunk.is_empty:
                spine = shrunk
                break
        wide.append(spine.buffer(least_mm / 2.0, quad_segs=16))
    return united(wide) if wide else NOTHING


def _filled_specks(
    region: MultiPolygon, others: list[MultiPolygon], speck_mm: float
) -> MultiPolygon:
    """Fill holes of a region that are but dirt, where no other colour lies in them."""
    least_mm2 = np.pi / 4.0 * speck_mm**2
    parts: list[Polygon] = []
    for part in region.geoms:
        holes = [
            hole
            for hole in part.interiors
            if Polygon(hole).area >= least_mm2
            or any(Polygon(hole).intersects(other) for other in others)
        ]
        parts.append(Polygon(part.exterior, holes))
    return many(MultiPolygon(parts))
