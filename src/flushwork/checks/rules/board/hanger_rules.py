"""Does a hanger slot leave enough wood around it, and is there a bit for it?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import DrawnFace
from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Place, Severity, Subject
from flushwork.core.units import up_mm
from flushwork.job.records import Hanger
from flushwork.process.hanger_slots import HangerSlot, hanger_bit, hanger_slot

LIP_MM: Final = 3.0
"""The wood behind which a screw's head hangs is at least so thick (assumed, 2.5 to 5 mm; hang twice
the weight on a test piece for a day)."""
EDGE_MM: Final = 8.0
"""Wood between a slot and the outline, at least: a slot's end takes the whole weight (assumed, 6 to
15 mm)."""
TOUCH_MM2: Final = 0.05
"""Overlaps smaller than this are edges that touch."""


def _hangers(build: Build) -> Iterator[tuple[DrawnFace, Hanger, HangerSlot | None]]:
    for face in build.faces:
        for hanger in face.hangers:
            yield face, hanger, hanger_slot(build.job, face, hanger)


def _subject(hanger: Hanger) -> Subject:
    return Subject("hanger", hanger.name)


def hanger_bits(build: Build) -> Iterator[Finding]:
    """Yield a must fix for a hanger without a keyhole bit."""
    for _face, hanger, slot in _hangers(build):
        bit = hanger_bit(build.job, hanger)
        if slot is None:
            wanted = "" if bit is None else f"; the {bit.name} is a {bit.kind}"
            yield Finding.must_fix(
                "no-bit-for-it",
                message=f"Nothing in the shop file can do the work for {hanger.name}: it wants a "
                f"keyhole bit{wanted}.",
                remedy="Add such a bit to the shop file, name one as its `bit`, or change the job.",
                subjects=(_subject(hanger),),
                source=hanger.source,
            )


def hanger_lip(build: Build) -> Iterator[Finding]:
    """Yield findings where the lip that a screw hangs behind is thin, or is none at all."""
    for _face, hanger, slot in _hangers(build):
        if slot is None or slot.lip_mm >= LIP_MM:
            continue
        none = slot.lip_mm <= 0.0
        yield Finding(
            code="hanger-lip-thin",
            severity=Severity.MUST_FIX if none else Severity.WARNING,
            message=f"{hanger.name} is {hanger.depth_mm:g} mm deep and the head of the "
            f"{slot.bit.name} {slot.bit.head_mm:g} mm high: "
            + ("no lip is left for a screw to hang behind."
               if none else f"only {slot.lip_mm:.2f} mm of wood hold the piece."),
            remedy=f"Make it {up_mm(slot.bit.head_mm + LIP_MM)} mm deep or more.",
            subjects=(_subject(hanger),),
            source=hanger.source,
            measure=Measure("lip", slot.lip_mm, LIP_MM, "mm"),
        )  # fmt: skip


def hanger_near_edge(build: Build) -> Iterator[Finding]:
    """Yield findings for a slot that runs out of the piece, or nearly does."""
    for face, hanger, slot in _hangers(build):
        if slot is None:
            continue
        inside = face.trim.covers(slot.swath)
        room_mm = slot.swath.distance(face.trim.boundary) if inside else -1.0
        if room_mm >= EDGE_MM:
            continue
        x_mm, y_mm = slot.way.coords[-1]
        yield Finding(
            code="hanger-near-edge",
            severity=Severity.WARNING if inside else Severity.MUST_FIX,
            message=f"{hanger.name} "
            + (f"leaves {room_mm:.2f} mm of wood to the outline: it may break out under the weight."
               if inside else "runs out over the outline: its undercut would be open there."),
            remedy=f"Move it inwards until {EDGE_MM:g} mm are left, or make its slot shorter.",
            subjects=(_subject(hanger),),
            source=hanger.source,
            place=Place(face.name, x_mm, y_mm),
            measure=Measure("to the outline", room_mm, EDGE_MM, "mm"),
        )  # fmt: skip


def hanger_meets(build: Build) -> Iterator[Finding]:
    """Yield a must fix where a slot, its hidden undercut too, runs into anything else."""
    for face, hanger, slot in _hangers(build):
        if slot is None:
            continue
        others: list[tuple[Subject, BaseGeometry]] = [
            (each.subject, each.region) for each in face.things
        ]
        others += [
            (
                Subject("holes", pattern.holes.name),
                shapely.union_all(
                    [
                        shapely.Point(hole.x_mm, hole.y_mm).buffer(pattern.holes.diameter_mm / 2.0)
                        for hole in pattern.places
                    ]
                ),
            )
            for pattern in face.holes
        ]
        later = face.hangers[face.hangers.index(hanger) + 1 :]
        others += [
            (_subject(each), twin.swath)
            for each in later
            if (twin := hanger_slot(build.job, face, each)) is not None
        ]
        for subject, region in others:
            met = slot.swath.intersection(region)
            if met.area <= TOUCH_MM2:
                continue
            spot = met.representative_point()
            yield Finding.must_fix(
                "hanger-meets",
                message=f"{hanger.name} runs into {subject.name} over {met.area:.1f} mm2, counted "
                "with what its head takes hidden beneath the lip.",
                remedy=f"Move one of them, or make the slot of {hanger.name} shorter.",
                subjects=(_subject(hanger), subject),
                source=hanger.source,
                place=Place(face.name, spot.x, spot.y),
                measure=Measure("area met", met.area, 0.0, "mm2"),
            )


def hanger_weight(build: Build) -> Iterator[Finding]:
    """Yield a note on what hangs: what wall and screw bear is nobody's to say here."""
    found = [(hanger, slot) for _, hanger, slot in _hangers(build) if slot is not None]
    if not found:
        return
    hanger, slot = found[0]
    wood, blank = build.job.blank.wood, build.job.blank
    volume_cm3 = blank.length_mm * blank.width_mm * blank.thickness_mm / 1000.0
    yield Finding.note(
        "hanger-weight",
        message=f"The piece hangs by {hanger.name}"
        + (f" and {len(found) - 1} more" if len(found) > 1 else "")
        + f", on screws whose heads go behind {slot.lip_mm:.1f} mm of wood. Its blank weighs about "
        f"{volume_cm3 * wood.gravity / 1000.0:.1f} kg.",
        remedy="Screw into what bears it, heads under "
        f"{slot.bit.diameter_mm:g} mm and shanks under {slot.bit.neck_mm:g} mm, and hang twice the "
        "weight on a test piece first. Nothing over a bed or where a child can pull at it without "
        "a second fastening.",
        subjects=(_subject(hanger),),
        source=hanger.source,
    )


RULES = (
    hanger_bits,
    hanger_lip,
    hanger_near_edge,
    hanger_meets,
    hanger_weight,
)
