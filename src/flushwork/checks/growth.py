"""How far the wood has grown between two setups, and from which line it grows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.checks.odds import seam_cover
from flushwork.job.records import FaceName, Job
from flushwork.process.stages import Plan, Setup, StageKind
from flushwork.wood.movement import equilibrium_moisture, stretch_across

PIN_INSET_MM: Final = 15.0
"""Locating pins stand this far from the blank's ends (assumed, 8 to 25 mm)."""
SIGMAS: Final = 2.0
"""``comes back within`` is taken as two standard deviations (assumed; registration marks replace
it)."""
UNREAD_MOISTURE: Final = 0.003
"""Standard deviation of the wood's moisture between days when nobody reads it, as a share (assumed,
0.001 to 0.01; a hygrometer or a moisture meter replaces it)."""


@dataclass(frozen=True, slots=True)
class Growth:
    """A stretch across the grain about a line: ``stretch`` per mm away from ``datum_mm``."""

    along_x: bool
    datum_mm: float
    stretch: float

    def at(
        self, points_mm: NDArray[np.float64], across: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Return the growth along the directions ``across`` (n, 2) at points (n, 2), mm."""
        axis = 1 if self.along_x else 0
        moved: NDArray[np.float64] = (
            self.stretch * (points_mm[:, axis] - self.datum_mm) * across[:, axis]
        )
        return moved


def width_across_mm(job: Job) -> float:
    """Return the blank's size across the grain."""
    return job.blank.width_mm if job.blank.grain_along_x else job.blank.length_mm


def datum_mm(job: Job, face: FaceName, word: str = "") -> float:
    """Return where the line that growth counts from lies, across the grain, in a face's frame.

    ``word`` is one of the words of `datum`; empty, the job's own, or that of its holding: pins on
    the centre line leave the centre line where it is, everything else is pushed against an edge.
    """
    chosen = word or job.datum
    if not chosen:
        chosen = "centre line" if "centre" in job.holding.locates_by else "near edge"
    width = width_across_mm(job)
    front = {"centre line": width / 2.0, "near edge": 0.0, "far edge": width}[chosen]
    turned_across = job.blank.turn_about_x == job.blank.grain_along_x
    return width - front if face == "back" and turned_across else front


def moisture_when_cutting(job: Job, plan: Plan, inlay: str) -> float:
    """Return the wood's moisture when an inlay is cut: read, or that of the blank."""
    beside = _cut_with(plan, inlay)
    for reading in job.moisture_log:
        if reading.cutting in beside:
            if reading.moisture is not None:
                return reading.moisture
            if reading.humidity is not None:
                return equilibrium_moisture(job.shop.air.day_c, reading.humidity)
    return job.blank.moisture


def _cut_with(plan: Plan, inlay: str) -> tuple[str, ...]:
    stages = [
        stage for stage in plan.stages if stage.kind is StageKind.CUT and inlay in stage.subjects
    ]
    return tuple(name for stage in stages for name in stage.subjects)


def setup_of(plan: Plan, inlay: str) -> Setup | None:
    """Return the setup that an inlay is cut in."""
    for stage in plan.stages:
        if stage.kind is StageKind.CUT and inlay in stage.subjects:
            return plan.setup(stage.setup)
    return None


def growth_between(job: Job, plan: Plan, face: FaceName, before: str, after: str) -> Growth:
    """Return how far the wood has grown from the cut of one inlay to that of another."""
    change = moisture_when_cutting(job, plan, after) - moisture_when_cutting(job, plan, before)
    stretch = stretch_across(job.blank.wood, change, flat_sawn=job.blank.flat_sawn) - 1.0
    return Growth(job.blank.grain_along_x, datum_mm(job, face), stretch)


def unread_stretch(job: Job) -> float:
    """Return the standard deviation of the stretch between days whose moisture nobody read."""
    if job.moisture_log:
        return 0.0
    blank = job.blank
    return stretch_across(blank.wood, UNREAD_MOISTURE, flat_sawn=blank.flat_sawn) - 1.0


def comes_back(job: Job) -> seam_cover.Repeatability:
    """Return the variation with which the job's holding brings a blank back.

    Pins near the ends of the blank turn by as much as they shift, over the distance between them:
    sqrt(2) s / L.
    """
    blank = job.blank
    shift = job.holding.repeat_mm / SIGMAS
    apart = max(blank.length_mm, blank.width_mm) - 2.0 * PIN_INSET_MM
    turn = 2.0**0.5 * shift / max(apart, PIN_INSET_MM)
    return seam_cover.Repeatability(shift, turn, (blank.length_mm / 2.0, blank.width_mm / 2.0))
