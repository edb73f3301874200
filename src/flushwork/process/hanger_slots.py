"""Hanger slots as geometry: the bit, its way, what is seen of the slot and what is hidden.

A keyhole bit of head diameter D and height h on a neck n, its tip d below the face: the entry is a
disc D wide and d deep, the slot n wide and d deep; beneath a lip d - h thick the head has gone
along the slot D wide and h high.  What the head takes beyond entry and slot no one sees from above.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, sin
from typing import Final

from shapely import LineString, MultiPolygon, Point

from flushwork.art.drawn import DrawnFace
from flushwork.art.placement import anchor_point
from flushwork.art.regions import many, united
from flushwork.job.records import Hanger, Job
from flushwork.shelf.items import Bit, BitKind

ROUND_SEGMENTS: Final = 32
"""Segments of a quarter turn: a disc of 10 mm is 0.04 % too small."""


@dataclass(frozen=True, slots=True)
class HangerSlot:
    """A hanger with its bit: the way from its entry to its end, in the face's frame."""

    hanger: Hanger
    bit: Bit
    way: LineString

    @property
    def swath(self) -> MultiPolygon:
        """All that the head goes through, seen or hidden."""
        return many(self.way.buffer(self.bit.radius_mm, quad_segs=ROUND_SEGMENTS))

    @property
    def seen(self) -> MultiPolygon:
        """The entry and the slot, as they are seen from above."""
        entry = Point(self.way.coords[0]).buffer(self.bit.radius_mm, quad_segs=ROUND_SEGMENTS)
        slot = self.way.buffer(self.bit.neck_mm / 2.0, quad_segs=ROUND_SEGMENTS)
        return united([many(entry), many(slot)])

    @property
    def hidden(self) -> MultiPolygon:
        """What the head takes beneath the lip."""
        return many(self.swath.difference(self.seen))

    @property
    def lip_mm(self) -> float:
        """How thick the wood is that the screw's head hangs behind."""
        return self.hanger.depth_mm - self.bit.head_mm


def hanger_bit(job: Job, hanger: Hanger) -> Bit | None:
    """Return the keyhole bit for a hanger: the job's choice, or the first owned."""
    if hanger.bit is not None:
        return hanger.bit
    return next((each for each in job.shop.bits if each.kind is BitKind.KEYHOLE), None)


def hanger_slot(job: Job, face: DrawnFace, hanger: Hanger) -> HangerSlot | None:
    """Return a hanger ready to be cut, None without a keyhole bit for it."""
    bit = hanger_bit(job, hanger)
    if bit is None or bit.kind is not BitKind.KEYHOLE:
        return None
    x_mm, y_mm = anchor_point(face.trim.bounds, hanger.anchor)
    x_mm, y_mm = x_mm + hanger.x_mm, y_mm + hanger.y_mm
    end = (
        x_mm + hanger.slot_mm * cos(hanger.turn_rad),
        y_mm + hanger.slot_mm * sin(hanger.turn_rad),
    )
    return HangerSlot(hanger, bit, LineString([(x_mm, y_mm), end]))


def hanger_slots(job: Job, face: DrawnFace) -> tuple[HangerSlot, ...]:
    """Return the hangers of a face that can be cut."""
    found = (hanger_slot(job, face, hanger) for hanger in face.hangers)
    return tuple(each for each in found if each is not None)
