"""What a fuller bed, or a panel, would save."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from flushwork.built import Build
from flushwork.findings import Finding, Measure, Severity, Subject
from flushwork.plan.schedule import Schedule
from flushwork.proof.cut_places import box_of
from flushwork.proof.waste_rules import LEAST_GAP_MM
from flushwork.shelf.working import HandTimes

LEAST_SAVED_MIN: Final = 60.0
LEAST_SHARE: Final = 0.1
"""Less than an hour, or than this share of the run's work, is not worth a word (assumed)."""


def bed_fuller_saves(build: Build) -> Iterator[Finding]:
    """Yield a note where more pieces on the bed at once would save much of the work."""
    job, schedule = build.job, build.schedule
    if schedule is None or not schedule.steps or any(step.done for step in schedule.steps):
        return
    if any(file.order.brought is not None for file in build.cut_files):
        return
    count = job.pieces + job.test_pieces
    fits, along_x = _fits(build)
    together = min(fits, count)
    if together <= job.bed.pieces or not build.plan.mountings:
        return
    mountings = len(build.plan.mountings)
    now = _handled_min(job.shop.hands, count, job.bed.pieces, mountings, _changes(schedule))
    then = _handled_min(job.shop.hands, count, together, mountings, _changes(schedule))
    saved = now - then
    if saved < max(LEAST_SAVED_MIN, LEAST_SHARE * schedule.hands_min):
        return
    blank = job.blank
    reach_mm = _step_mm(blank.length_mm if along_x else blank.width_mm)
    step = f"[{reach_mm} mm, 0 mm]" if along_x else f"[0 mm, {reach_mm} mm]"
    yield Finding(
        code="bed-fuller-saves",
        severity=Severity.NOTE,
        message=f"{count} pieces are mounted {job.bed.pieces} at a time. {together} of them fit "
        f"side by side on this machine, or as one panel parted at the end: set-ups and cutter "
        f"changes once for {together} pieces save about {saved / 60.0:.1f} of the "
        f"{schedule.hands_min / 60.0:.1f} h of work.",
        remedy=f"Write `on the bed: {{pieces: {together}, step: {step}}}`, or glue up one blank "
        "for several pieces.",
        subjects=(Subject("key", "on the bed"),),
        source=blank.source,
        measure=Measure("work saved", saved / 60.0, None, "h"),
    )


def _fits(build: Build) -> tuple[int, bool]:
    """Return how many pieces fit on the machine in one row, and whether the row lies along X.

    By what the cut files reach, which is more than the blank where they level over its edges.
    """
    blank, machine, bed = build.job.blank, build.job.shop.machine, build.job.bed
    fits: list[int] = []
    for axis, side_mm, step_mm, travel_mm in (
        (0, blank.length_mm, bed.step_x_mm, machine.travel_x_mm),
        (1, blank.width_mm, bed.step_y_mm, machine.travel_y_mm),
    ):
        spans = [float(np.ptp(np.array(box_of(file.program))[:, axis])) for file in build.cut_files]
        own_mm = max([side_mm, *(span - (bed.pieces - 1) * abs(step_mm) for span in spans)])
        fits.append(1 + int(max(0.0, travel_mm - own_mm) // _step_mm(side_mm)))
    return max(fits), fits[0] >= fits[1]


def _step_mm(side_mm: float) -> int:
    return math.ceil(side_mm + LEAST_GAP_MM)


def _changes(schedule: Schedule) -> float:
    """Return how many cutters are put in for one bed load."""
    loads = {step.pieces for step in schedule.steps if step.tools}
    return sum(len(step.tools) for step in schedule.steps) / max(1, len(loads))


def _handled_min(hands: HandTimes, count: int, bed: int, mountings: int, changes: float) -> float:
    """Return the minutes of mounting and changing cutters on a run, with so many on the bed."""
    loads = math.ceil(count / bed)
    each = mountings * hands.mount_min + changes * hands.change_min
    return loads * each + (count - loads) * mountings * hands.mount_next_min


RULES = (bed_fuller_saves,)
