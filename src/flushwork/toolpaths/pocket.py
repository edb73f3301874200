"""Pockets: cleared by rings from the inside out, the wall followed last.

Light cuts run fast, but slow down before a corner in which the bit meets more stock.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist, inf, pi, sin
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.fit.cutting_force import engagement_rad
from flushwork.shelf.items import Bit
from flushwork.toolpaths import entry
from flushwork.toolpaths.lines import joined
from flushwork.toolpaths.orders import PocketCut
from flushwork.toolpaths.paths import Path, begun_at, climbing_rings, pop_nearest
from flushwork.toolpaths.rings import (
    WALL_MM,
    ClearingRing,
    bulk_of,
    loops_along,
    middle_lines,
    rest_of,
    rings_of,
    run_loops,
    wide_and_slots,
)
from flushwork.toolpaths.track import SAME_MM, Floats, Place2, Track

SHARP_RAD: Final = pi / 12.0
"""Bends gentler than this within one bit's radius of way leave the engagement as it is.

Assumed (10 to 25 degrees): the chip grows by less than a third of what the light cut spares.
"""


def follow_lightly(track: Track, path: Path, height_mm: float, width_mm: float) -> None:
    """Follow ``path``, a cut ``width_mm`` wide with its stock on the right, as fast as it may be.

    Where the path bends left (into the stock ahead) by an angle b, the engagement rises from
    arccos(1 - 2 a / D) by b, beginning where the bit first meets the wall ahead: r sin of the
    engagement before the bend.  From there to the bend it is fed as in full width.
    """
    fast = track.light(width_mm)
    if fast <= 1.0 + 1e-9 or len(path.points) < 2:
        track.follow(path.at(height_mm))
        return
    proposal = track.proposal
    radius = proposal.bit.radius_mm if proposal is not None else 0.0
    ahead = radius * sin(min(engagement_rad(width_mm, 2.0 * radius), pi / 2.0))
    points, slow = slow_before_bends(path.points[:, :2], path.closed, radius, ahead)
    for first, last in _runs(slow):
        track.pace(1.0 if slow[first] else fast)
        places = points[first + 1 : last + 2]
        track.follow(np.column_stack((places, np.full(len(places), height_mm))))
    track.pace(1.0)


def slow_before_bends(
    points: Floats, closed: bool, radius_mm: float, ahead_mm: float
) -> tuple[Floats, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Return the points of a path, split where slowness begins, and which segments are slow.

    Bends are added up over ``radius_mm`` of way, so that a corner of many short chords counts as
    one.  Shapes (n, 2) and (n - 1,).
    """
    steps = np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    along = np.concatenate(([0.0], np.cumsum(lengths)))
    heading = np.arctan2(steps[:, 1], steps[:, 0])
    turn = np.diff(heading, append=heading[0] if closed else heading[-1])
    turn = (turn + pi) % (2.0 * pi) - pi
    at = along[1:]
    summed = np.concatenate(([0.0], np.cumsum(turn)))
    first = np.searchsorted(at, at - radius_mm, side="left")
    bend = summed[1:] - summed[first]
    sharp = (bend > SHARP_RAD) & (turn > 1e-6)
    if not sharp.any():
        return points, np.zeros(len(steps), bool)
    ends = at[sharp]
    begins = np.maximum(ends - ahead_mm, 0.0)
    cuts = np.union1d(along, begins)
    cuts = cuts[np.concatenate(([True], np.diff(cuts) > 1e-6))]
    new = np.column_stack(
        (np.interp(cuts, along, points[:, 0]), np.interp(cuts, along, points[:, 1]))
    )
    new[-1] = points[-1]
    middle = (cuts[:-1] + cuts[1:]) / 2.0
    after = np.searchsorted(ends, middle)
    held = after < len(ends)
    slow = np.zeros(len(middle), bool)
    slow[held] = middle[held] >= begins[after[held]]
    return new, slow


def _runs(slow: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[tuple[int, int]]:
    """Return the first and last segment of each run of one speed."""
    changes = np.flatnonzero(np.diff(slow)) + 1
    firsts = np.concatenate(([0], changes))
    lasts = np.concatenate((changes - 1, [len(slow) - 1]))
    return [(int(a), int(b)) for a, b in zip(firsts, lasts, strict=True)]


FINISH_MM: Final = 0.15
"""Stock the finish pass takes off the wall: 0.1 to 0.2 mm is common practice, no source."""

FINISH_SHARE: Final = 0.1
"""... but no more than this share of a fine bit's diameter.  Assumed."""

HELIX_WIDEST: Final = 0.9
"""Widest helix as a share of the bit's radius: no core may stay standing in the middle."""

HELIX_NARROWEST: Final = 0.3
"""Under this share a helix is a plunge in all but name; the path itself is the better ramp."""

NEAR_MM: Final = 20.0
"""A way this long through stock takes about as long as a lift and a new entry.

Assumed (10 to 40 mm, by feed and ramp); it cuts no wider than an entry along the path would.
"""

LINK_MM: Final = 0.002
"""A link may deviate this far from where the axis may go: the bound of thinned rings."""


@dataclass(frozen=True, slots=True, eq=False)
class _Patch:
    """One connected part of a pocket: where the axis may go, what is cut at each depth, last."""

    room: Polygon
    rings: tuple[ClearingRing, ...]
    slots: tuple[Path, ...]
    finish: tuple[Path, ...]
    rest: tuple[tuple[Path, ...], ...]

    @property
    def empty(self) -> bool:
        """Whether nothing is left to cut here."""
        return not (self.rings or self.slots or self.rest or self.finish)


def trace_pocket(track: Track, operation: PocketCut) -> None:
    """Clear ``operation.centres`` from top to floor.

    Each depth is cleared by rings from the inside out; the wall is finished at the last depth.
    Where ``cleared`` says a wider bit has been, only what it left is cut.  Where the bit
    would bend too far in its full width, new ground is opened by loops.  Climb cutting throughout:
    with a spindle turning clockwise the wall is on the bit's right.
    """
    heights = track.levels(operation)
    if not heights:
        return
    waiting = [patch for patch in _patches(operation) if not patch.empty]
    while waiting:
        x, y = track.place
        here = shapely.Point(x, y)
        k = min(range(len(waiting)), key=lambda k: (waiting[k].room.distance(here), k))
        _Clearing(track, operation, waiting.pop(k)).run(heights)


def leave_mm(bit: Bit) -> float:
    """Return what a bit leaves on the wall for its finish pass."""
    return min(FINISH_MM, FINISH_SHARE * bit.diameter_mm)


def _patches(operation: PocketCut) -> Iterator[_Patch]:
    bit = operation.bit
    leave = leave_mm(bit)
    step = bit.step * bit.diameter_mm
    for room in operation.centres.geoms:
        wide, slots = wide_and_slots(room)
        if not operation.cleared.is_empty:
            for rest in rest_of(operation, room, wide, slots):
                yield _Patch(room, (), (), (), rest.passes)
            continue
        fat, arms = bulk_of(wide, leave)
        if not bit.plunges:  # the wall itself is the way down
            arms = tuple(path for path in arms if path.length_mm >= entry.SHORTEST_MM)
        walls = [path for part in wide.geoms for path in climbing_rings(part, WALL_MM)]
        rings = rings_of(fat, step, bit.radius_mm)
        yield _Patch(room, rings, joined((*slots, *arms)), tuple(walls), ())


class _Clearing:
    """The clearing of one patch, depth by depth."""

    def __init__(self, track: Track, operation: PocketCut, patch: _Patch) -> None:
        self._track = track
        self._bit: Bit = operation.bit
        self._patch = patch
        self._top = operation.top_mm
        self._above = operation.top_mm
        self._height = operation.top_mm
        self._leave = leave_mm(operation.bit)
        proposal = track.proposal
        self._loops = proposal is not None and proposal.too_much
        self._links = shapely.buffer(patch.room, LINK_MM)
        shapely.prepare(self._links)
        self._inside = False
        self._cleared: list[Floats] = []
        self._air: BaseGeometry = shapely.MultiLineString()
        self._helices: dict[int, tuple[Place2, float]] = {}

    def run(self, heights: Sequence[float]) -> None:
        """Clear every depth; finish the wall when that is as deep as the bit stands at once."""
        finished = self._top
        deepest = self._track.deepest(self._leave)
        for height, below in pairwise((*heights, -inf)):
            self._height = height
            self._note_air()
            self._cleared.clear()
            self._rings_and_slots()
            for paths in self._patch.rest:
                self._each(paths, near_mm=NEAR_MM)
            self._above = height
            if finished - below > deepest:
                self._finish()
                finished = height
        self._track.lift()

    def _finish(self) -> None:
        """Follow the walls, each reached from a place that is clear down to this depth."""
        self._note_air()
        # the walls add nothing to what the rings have cleared
        clear = shapely.MultiPoint(np.concatenate(self._cleared)) if self._cleared else None
        waiting = list(self._patch.finish)
        while waiting:
            path = pop_nearest(waiting, self._track.place)
            if not self._link(path.start, float("inf")):
                path = self._from_beside(path, clear)
            if self._patch.rings:
                follow_lightly(self._track, path, self._height, self._leave)
            else:
                self._track.follow(path.at(self._height))

    def _from_beside(self, path: Path, clear: BaseGeometry | None) -> Path:
        """Come down beside a wall, at one of the points that are ``clear``, and feed to it.

        Return the wall's path, begun there.
        """
        if clear is None:
            return self._enter(path, None)
        link = shapely.get_coordinates(shapely.shortest_line(clear, path.line))
        beside, start = shapely.Point(link[0]), shapely.Point(link[1])
        if not shapely.covers(self._links, LineString((beside, start))):
            return self._enter(path, None)
        turned = begun_at(path.points, path.line.project(start))
        self._approach((beside.x, beside.y))
        self._track.feed((start.x, start.y), self._height)
        return Path(turned, closed=True)

    def _rings_and_slots(self) -> None:
        """Clear trees of rings and run slots, whichever is nearer."""
        slots = list(self._patch.slots)
        rings = list(self._patch.rings)
        while rings or slots:
            if not slots:
                self._rings(rings)
                return
            near_slot = min(path.away(self._track.place) for path in slots)
            if rings and self._away(rings[self._nearest(rings)]) <= near_slot:
                self._rings([rings.pop(self._nearest(rings))])
            else:
                path = pop_nearest(slots, self._track.place)
                self._each((path,), near_mm=NEAR_MM)

    def _rings(self, rings: Sequence[ClearingRing]) -> None:
        """Clear trees of rings, each from its innermost outward."""
        waiting = list(rings)
        while waiting:
            ring = waiting.pop(self._nearest(waiting))
            if ring.inner:
                self._rings(ring.inner)
                self._each(ring.paths, near_mm=float("inf"))
            else:
                if self._loops:
                    self._open_by_loops(ring.polygon)
                self._each(ring.paths, near_mm=NEAR_MM, core=ring.polygon)

    def _open_by_loops(self, core: Polygon) -> None:
        """Open the middle of ``core`` so that the ring around it meets little stock."""
        radius = self._bit.radius_mm
        for line in middle_lines(core, radius):
            found = list(loops_along(line, self._room_at, HELIX_WIDEST * radius, radius))
            if len(found) < 2:
                continue
            (x, y), loop = found[0]
            start = (x + loop, y)
            self._approach(start)
            entry.helix(self._track, (x, y), loop, self._height)
            way = run_loops(self._track, found, self._height)
            self._cleared.append(way.points)

    def _room_at(self, place: Place2) -> float:
        """Return how far the axis may go from a place in any direction."""
        at = shapely.Point(place)
        return float(self._patch.room.boundary.distance(at)) - LINK_MM

    def _nearest(self, rings: Sequence[ClearingRing]) -> int:
        return min(range(len(rings)), key=lambda k: (self._away(rings[k]), k))

    def _away(self, ring: ClearingRing) -> float:
        return min(path.away(self._track.place) for path in ring.paths)

    def _each(self, paths: Sequence[Path], near_mm: float, core: Polygon | None = None) -> None:
        waiting = list(paths)
        while waiting:
            path = pop_nearest(waiting, self._track.place)
            if not self._link(path.start, near_mm):
                path = self._enter(path, core)
            self._track.follow(path.at(self._height), roughly=path.inner)
            self._cleared.append(path.points)

    def _link(self, place: Place2, near_mm: float) -> bool:
        """Stay down and go straight to ``place`` if that cuts nothing it should not."""
        track = self._track
        down = abs(track.z_mm - self._height) < SAME_MM and self._inside
        if not down or dist(track.place, place) > near_mm or not self._open(place):
            return False
        track.feed(place, self._height)
        return True

    def _open(self, place: Place2) -> bool:
        return bool(shapely.covers(self._links, LineString((self._track.place, place))))

    def _enter(self, path: Path, core: Polygon | None) -> Path:
        """Get to the start of ``path`` at this depth; return the path, begun where best."""
        track = self._track
        if path.free:
            self._approach(path.start)
            track.plunge(self._height)
            return path
        if core is not None:
            if id(core) not in self._helices:
                self._helices[id(core)] = self._helix(core)
            centre, radius = self._helices[id(core)]
            if radius > 0.0:
                self._approach((centre[0] + radius, centre[1]))
                entry.helix(track, centre, radius, self._height)
                self._cleared.append(np.array([track.place, track.place]))
                path = path.from_nearest(track.place)
                if self._open(path.start):
                    track.feed(path.start, self._height)
                    return path
        self._approach(path.start)
        entry.ramp(track, path, self._height, self._bit)
        return path

    def _helix(self, core: Polygon) -> tuple[Place2, float]:
        """Return the middle of ``core`` and the widest helix that fits the patch there, or 0."""
        radius = self._bit.radius_mm
        spoke = shapely.maximum_inscribed_circle(core, tolerance=0.1 * radius)
        x, y = spoke.coords[0]
        room = self._patch.room.exterior.distance(shapely.Point(x, y))
        for island in self._patch.room.interiors:
            room = min(room, island.distance(shapely.Point(x, y)))
        fits = min(HELIX_WIDEST * radius, room - LINK_MM)
        return (x, y), fits if fits >= HELIX_NARROWEST * radius else 0.0

    def _note_air(self) -> None:
        """Note where the axis went at the depth just cleared: there the bit hangs in air."""
        self._air = shapely.union_all(
            [LineString(path if len(path) > 1 else np.repeat(path, 2, 0)) for path in self._cleared]
        )
        shapely.prepare(self._air)

    def _approach(self, place: Place2) -> None:
        """Come to just above the stock over ``place``: inside the pocket if the way is open.

        Where the axis has not been at the depth before, the stock still stands to the top.
        """
        track = self._track
        known = not self._air.is_empty and shapely.dwithin(self._air, shapely.Point(place), LINK_MM)
        above = self._above if known else self._top
        if known and self._inside and abs(track.z_mm - above) < SAME_MM and self._open(place):
            track.feed(place, above)
            return
        track.over(place)
        track.drop(above + entry.ABOVE_MM)
        track.plunge(above)
        self._inside = True
