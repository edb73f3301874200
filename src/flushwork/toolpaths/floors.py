"""The flat floor of an engraving, cleared with the vee's own tip."""

from __future__ import annotations

import shapely
from shapely import MultiPolygon

from flushwork.fit.discs import polygons, shrink
from flushwork.fit.floors import vee_step_mm
from flushwork.toolpaths.orders import EngraveCut
from flushwork.toolpaths.paths import Path, climbing_rings, lines_of
from flushwork.toolpaths.rings import RING_MM


def floor_rings(operation: EngraveCut, floor: MultiPolygon) -> list[Path]:
    """Return the lines that flatten ``floor`` inside its outline, from the outline inward.

    Two lines of a vee s apart leave a ridge (s - tip) / (2 tan(angle / 2)) high between them, and
    one 1 / sin(a / 2) as high where lines turn a corner of angle a.
    What ``operation.cleared`` holds is flat already.
    """
    cutter = operation.cutter
    step = vee_step_mm(cutter)
    stock = floor
    if not operation.cleared.is_empty:
        stock = polygons(shapely.difference(floor, shapely.buffer(operation.cleared, -step)))
    if stock.is_empty:
        return []
    found: list[Path] = []
    shapely.prepare(stock)
    inner = shrink(floor, step, RING_MM)
    offset = step
    while not inner.is_empty:
        for part in inner.geoms:
            for path in climbing_rings(part, RING_MM / 2.0):
                if shapely.covers(stock, path.line):
                    found.append(path)
                else:
                    found.extend(lines_of(shapely.intersection(path.line, stock)))
        offset += step
        inner = shrink(floor, offset, RING_MM)
    return found
