"""Which cutter does what no fit decides: trims, levels, drills, bores recesses, cuts marks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from flushwork.geometry.drawn import DrawnHoles
from flushwork.job.records import Job
from flushwork.shelf.items import Cutter, CutterKind, Locating
from flushwork.tolerances import SLOT_WIDTH_MM

INTO_SPOILBOARD_MM: Final = 0.3
"""How far a through cut goes into the spoilboard: enough to part the last fibres (common
practice, no source)."""
MARK_MM: Final = 1.6
"""Width that a witness mark may take (assumed, 1 to 2 mm: what a loupe sees whole)."""
LEAST_TRIM_CUTTER_MM: Final = 3.0
"""Outlines are cut with a cutter at least this wide (common practice, no source)."""


def trim_cutter(job: Job) -> Cutter | None:
    """Return the cutter for the outline: the job's choice, or the narrowest stout one."""
    if job.outline.cutter is not None:
        return job.outline.cutter
    stout = [
        item
        for item in job.shop.cutters
        if item.kind is CutterKind.FLAT
        and item.diameter_mm >= LEAST_TRIM_CUTTER_MM
        and item.flute_mm
        >= job.blank.thickness_mm - 2.0 * job.allowances.flatten_mm + INTO_SPOILBOARD_MM
    ]
    return min(stout, key=lambda item: item.diameter_mm, default=None)


def levelling_cutter(job: Job) -> Cutter | None:
    """Return the widest flat cutter owned."""
    flats = [item for item in job.shop.cutters if item.kind is CutterKind.FLAT]
    return max(flats, key=lambda item: item.diameter_mm, default=None)


def hole_cutter(job: Job, pattern: DrawnHoles) -> Cutter | None:
    """Return the cutter for a hole pattern: the job's choice, or the best that is owned.

    A flat floor wants a flat cutter, the hole's own width or the widest below it; a drill of the
    hole's width serves where the floor may be pointed.
    """
    holes = pattern.holes
    if holes.cutter is not None:
        return holes.cutter
    owned = [item for item in job.shop.cutters if item.plunges]
    drills = [
        item
        for item in owned
        if item.kind is CutterKind.DRILL
        and abs(item.diameter_mm - holes.diameter_mm) <= SLOT_WIDTH_MM
    ]
    if drills and not holes.flat_bottom:
        return drills[0]
    deep_mm = holes.depth_mm if not holes.through else job.blank.thickness_mm + INTO_SPOILBOARD_MM
    flats = [
        item
        for item in owned
        if item.kind is CutterKind.FLAT
        and item.diameter_mm <= holes.diameter_mm + SLOT_WIDTH_MM
        and item.flute_mm >= deep_mm
    ]
    return max(flats, key=lambda item: item.diameter_mm, default=None)


def recess_cutter(job: Job, locating: Locating, deepest_mm: float) -> Cutter | None:
    """Return the cutter that bores the recesses: the one named, or the widest flat that fits."""
    if locating.cutter:
        return next((each for each in job.shop.cutters if each.name == locating.cutter), None)
    wide_mm = locating.diameter_mm + locating.play_mm + SLOT_WIDTH_MM
    fitting = [
        each
        for each in job.shop.cutters
        if each.kind is CutterKind.FLAT
        and each.plunges
        and each.diameter_mm <= wide_mm
        and each.flute_mm >= deepest_mm
    ]
    return max(fitting, key=lambda each: each.diameter_mm, default=None)


def mark_cutter(job: Job, used: Sequence[Cutter]) -> Cutter | None:
    """Return the cutter for marks: a vee or a narrow one the mounting uses anyway, or one owned."""
    for cutters in (used, job.shop.cutters):
        fitting = [
            cutter
            for cutter in cutters
            if cutter.plunges
            and (
                cutter.kind is CutterKind.VEE
                or (cutter.kind is CutterKind.FLAT and cutter.diameter_mm <= MARK_MM)
            )
        ]
        if fitting:
            return min(
                fitting, key=lambda each: (each.kind is not CutterKind.VEE, each.diameter_mm)
            )
    return None
