"""The track: where the bit's tip is, and the moves that brought it there."""

from __future__ import annotations

from math import dist, hypot, inf

import numpy as np
from numpy.typing import NDArray

from flushwork.fit.feeds import Proposal, deepest_mm, light
from flushwork.toolpaths.arcs_on_grid import FINELY, ROUGHLY, pieces_of
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import Cut
from flushwork.toolpaths.speeds import Feeds, levels

SAME_MM = 1e-6
"""Two places closer than this are one; a hundredth of the finest decimal a G-code file carries."""

Floats = NDArray[np.float64]
Place2 = tuple[float, float]
Place3 = tuple[float, float, float]


class Track:
    """Grows a list of moves; keeps the manners that no operation may forget.

    Coordinates given are those of the face's frame; the moves come out in the file's, ``origin``
    subtracted.  With ``arcs`` the curves that are followed become arcs.  A rapid across always
    happens at ``clear_mm``.  The first move only lifts to that height: its x and y are the file's
    zero and mean nothing until the machine has been told more.  A track that goes on from where
    another stands, ``at_mm``, has no such move.
    """

    def __init__(
        self, origin: Place2, clear_mm: float, *, arcs: bool = True, at_mm: Place3 | None = None
    ) -> None:
        self.clear_mm = clear_mm
        self._arcs = arcs
        self.moves: list[Move] = []
        self._origin = origin
        self._x, self._y, self._z = origin[0], origin[1], clear_mm
        self._feeds = Feeds(feed_mm_min=0.0, plunge_mm_min=0.0, spindle_rpm=0.0)
        self._pace = 1.0
        if at_mm is None:
            self._append(MoveKind.RAPID, 0.0)
        else:
            self._x, self._y, self._z = at_mm

    @property
    def at_mm(self) -> Place3:
        """Where the tip is, in the face's frame, and how high."""
        return self._x, self._y, self._z

    @property
    def place(self) -> Place2:
        """Where the tip is, in the face's frame."""
        return self._x, self._y

    @property
    def z_mm(self) -> float:
        """How high the tip is."""
        return self._z

    @property
    def spindle_rpm(self) -> float:
        """How fast the spindle turns."""
        return self._feeds.spindle_rpm

    def shift(self, base: Place2, by: Place2) -> None:
        """Cut from here on a piece that lies ``by`` from the one whose zero is at ``base``."""
        origin = base[0] - by[0], base[1] - by[1]
        self._x += origin[0] - self._origin[0]
        self._y += origin[1] - self._origin[1]
        self._origin = origin

    def use(self, feeds: Feeds) -> None:
        """Cut with these feeds from here on, full-width cuts to begin with."""
        self._feeds = feeds
        self._pace = 1.0

    @property
    def proposal(self) -> Proposal | None:
        """What the feeds in use come from."""
        return self._feeds.proposal

    def light(self, width_mm: float | None = None) -> float:
        """Return how much faster than in full width a cut ``width_mm`` wide may be fed."""
        proposal = self._feeds.proposal
        return 1.0 if width_mm is None or proposal is None else light(proposal, width_mm)

    def deepest(self, width_mm: float) -> float:
        """Return how deep a light cut ``width_mm`` wide may be at once, in mm."""
        proposal = self._feeds.proposal
        return inf if proposal is None else deepest_mm(proposal, width_mm)

    def pace(self, times: float) -> None:
        """Feed so many times as fast as in full width from here on."""
        self._pace = times

    def levels(self, operation: Cut) -> tuple[float, ...]:
        """Return the heights of an operation's depth passes, the last one on its floor."""
        proposal = self._feeds.proposal
        return levels(
            operation.top_mm,
            operation.floor_mm,
            operation.bit,
            resin=operation.resin,
            pass_mm=None if proposal is None else proposal.pass_mm,
        )

    def lift(self) -> None:
        """Rise to the clear height."""
        if self._z < self.clear_mm - SAME_MM:
            self._z = self.clear_mm
            self._append(MoveKind.RAPID, 0.0)

    def over(self, place: Place2) -> None:
        """Travel at the clear height until over ``place``."""
        self.lift()
        if dist(place, self.place) > SAME_MM:
            self._x, self._y = place
            self._append(MoveKind.RAPID, 0.0)

    def drop(self, z_mm: float) -> None:
        """Come down fast through what is known to be air."""
        if z_mm < self._z - SAME_MM:
            self._z = z_mm
            self._append(MoveKind.RAPID, 0.0)

    def rise(self, z_mm: float) -> None:
        """Go straight up fast, out of what has been cut."""
        if z_mm > self._z + SAME_MM:
            self._z = z_mm
            self._append(MoveKind.RAPID, 0.0)

    def plunge(self, z_mm: float) -> None:
        """Feed straight down (or up) at the plunge rate."""
        if abs(z_mm - self._z) > SAME_MM:
            self._z = z_mm
            self._append(MoveKind.FEED, self._feeds.plunge_mm_min)

    def feed(self, place: Place2, z_mm: float | None = None) -> None:
        """Cut straight to ``place``; going down, slow enough to keep within the plunge rate."""
        z = self._z if z_mm is None else z_mm
        across, down = dist(place, self.place), self._z - z
        if across < SAME_MM and abs(down) < SAME_MM:
            return
        self._x, self._y = place
        self._z = z
        self._append(MoveKind.FEED, self._slope_feed(across, down))

    def follow(self, places: Floats, *, roughly: bool = False) -> None:
        """Cut through places (n, 3) one after the other, as ``feed`` does.

        A way that is no wall may be followed ``roughly``: in longer arcs, a little further off.
        """
        rows = np.vstack((((self._x, self._y, self._z),), places))
        steps = np.diff(rows, axis=0)
        across, down = np.hypot(steps[:, 0], steps[:, 1]), -steps[:, 2]
        length = np.hypot(across, down)
        sinks = down > SAME_MM
        feed = np.full(len(steps), self._pace * self._feeds.feed_mm_min)
        slow = self._feeds.plunge_mm_min * length[sinks] / down[sinks]
        feed[sinks] = np.minimum(feed[sinks], slow)
        moved = length > SAME_MM
        self._append_chain(np.vstack((rows[:1], rows[1:][moved])), feed[moved], roughly)
        self._x, self._y, self._z = rows[-1].tolist()

    def _append_chain(self, points: Floats, feeds: Floats, roughly: bool) -> None:
        """Add the cuts between points (n, 3), as arcs where they hold any and may be arcs."""
        if not len(feeds):
            return
        (dx, dy), rpm = self._origin, self._feeds.spindle_rpm
        ends = (points[1:] - (dx, dy, 0.0)).tolist()
        speeds = feeds.tolist()
        straight = ((index, 0.0, 0.0, 0.0) for index in range(1, len(points)))
        bounds = ROUGHLY if roughly else FINELY
        for index, cx, cy, turn in pieces_of(points, feeds, *bounds) if self._arcs else straight:
            (x, y, z), speed = ends[index - 1], speeds[index - 1]
            if turn:
                cut = Move(MoveKind.ARC, x, y, z, speed, cx - dx, cy - dy, turn, 0.0, rpm)
            else:
                cut = Move(MoveKind.FEED, x, y, z, speed, 0.0, 0.0, 0.0, 0.0, rpm)
            self.moves.append(cut)

    def arc(self, centre: Place2, turn_rad: float, end: Place3) -> None:
        """Cut along an arc about ``centre``, rising or falling evenly to ``end``."""
        radius = dist(self.place, centre)
        down = self._z - end[2]
        self._x, self._y, self._z = end
        self._append(
            MoveKind.ARC,
            self._slope_feed(radius * abs(turn_rad), down),
            centre=centre,
            turn_rad=turn_rad,
        )

    def dwell(self, seconds: float) -> None:
        """Stay where the tip is."""
        if seconds > 0.0:
            self._append(MoveKind.DWELL, 0.0, dwell_s=seconds)

    def _slope_feed(self, across: float, down: float) -> float:
        feed, plunge = self._pace * self._feeds.feed_mm_min, self._feeds.plunge_mm_min
        if down <= SAME_MM:
            return feed
        return min(feed, plunge * hypot(across, down) / down)

    def _append(
        self,
        kind: MoveKind,
        feed: float,
        *,
        centre: Place2 | None = None,
        turn_rad: float = 0.0,
        dwell_s: float = 0.0,
    ) -> None:
        dx, dy = self._origin
        self.moves.append(
            Move(
                kind,
                self._x - dx,
                self._y - dy,
                self._z,
                feed,
                centre[0] - dx if centre else 0.0,
                centre[1] - dy if centre else 0.0,
                turn_rad,
                dwell_s,
                self._feeds.spindle_rpm,
            )
        )
