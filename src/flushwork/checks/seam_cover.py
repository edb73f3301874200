"""How far wood grows between two setups, and how surely a later line hides the edge it follows.

The line covers its edge while n . (t + turn J (p - c) + growth) stays within half its width less
the blur of the old edge (n across the line, t the shift of the setup, c its middle, J a quarter
turn).  With normal variations the left side is normal too, so the odds at one place are closed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, inf
from statistics import NormalDist
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString

from flushwork.job.records import FaceName, Job
from flushwork.process.stages import Plan, Setup, StageKind
from flushwork.wood.movement import equilibrium_moisture, stretch_across

EDGE_BLUR_MM: Final = 0.05
"""How far a sanded edge of old colour deviates from where it was cut (assumed, 0.02 to 0.1 mm; a
seam test strip under a loupe replaces it)."""

STEP_MM: Final = 2.0
"""Places along a seam are this far apart at most."""

_STANDARD: Final = NormalDist()


@dataclass(frozen=True, slots=True)
class Repeatability:
    """How well a setup comes back: standard deviations of shift (each way) and of turn.

    ``middle_mm`` is the point it turns about.
    """

    shift_mm: float
    turn_rad: float
    middle_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SeamPlaces:
    """Places along a seam, (n, 2), the unit normals across it there, (n, 2)."""

    at_mm: NDArray[np.float64]
    across: NDArray[np.float64]


def two_sided(margin_mm: float, variation_mm: float, offset_mm: float = 0.0) -> float:
    """Return P(|N(offset, variation)| < margin): 2 Phi(m / s) - 1 without an offset."""
    if margin_mm <= 0.0:
        return 0.0
    if variation_mm <= 0.0:
        return 1.0 if abs(offset_mm) < margin_mm else 0.0
    upper = _STANDARD.cdf((margin_mm - offset_mm) / variation_mm)
    return upper - _STANDARD.cdf((-margin_mm - offset_mm) / variation_mm)


def margin_mm(width_mm: float, blur_mm: float = EDGE_BLUR_MM) -> float:
    """Return how far a line of a width may deviate and still cover its edge."""
    return width_mm / 2.0 - blur_mm


def variation_at_mm(
    setup: Repeatability, at_mm: tuple[float, float], across: NDArray[np.float64]
) -> float:
    """Return the standard deviation of the deviation across a line at one place.

    sqrt(s^2 + (turn n . J (p - c))^2), J (x, y) = (-y, x).
    """
    x_mm, y_mm = at_mm[0] - setup.middle_mm[0], at_mm[1] - setup.middle_mm[1]
    arm_mm = -across[0] * y_mm + across[1] * x_mm
    return hypot(setup.shift_mm, setup.turn_rad * float(arm_mm))


def places_along(lines: MultiLineString) -> SeamPlaces:
    """Return places along lines, one in the middle of each stretch of at most ``STEP_MM``."""
    points: list[NDArray[np.float64]] = []
    normals: list[NDArray[np.float64]] = []
    for line in lines.geoms:
        dense = shapely.get_coordinates(shapely.segmentize(line, STEP_MM))
        run = np.diff(dense, axis=0)
        length = np.hypot(run[:, 0], run[:, 1])
        kept = length > 1e-9
        points.append(((dense[:-1] + dense[1:]) / 2.0)[kept])
        normals.append(np.column_stack([-run[kept, 1], run[kept, 0]]) / length[kept, np.newaxis])
    if not points:
        return SeamPlaces(np.empty((0, 2)), np.empty((0, 2)))
    return SeamPlaces(np.concatenate(points), np.concatenate(normals))


def weakest(
    places: SeamPlaces, growth_mm: NDArray[np.float64], setup: Repeatability, margin: float
) -> tuple[int, float]:
    """Return the place with the least odds of cover, and those odds.

    ``growth_mm`` (n,) is the known deviation across the line at each place.
    """
    least = (0, inf)
    for index in range(len(places.at_mm)):
        at = (float(places.at_mm[index, 0]), float(places.at_mm[index, 1]))
        variation = variation_at_mm(setup, at, places.across[index])
        odds = two_sided(margin, variation, float(growth_mm[index]))
        if odds < least[1]:
            least = (index, odds)
    return least


# ---- How far the wood has grown between two setups, and from which line it grows


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


def comes_back(job: Job) -> Repeatability:
    """Return the variation with which the job's holding brings a blank back.

    Pins near the ends of the blank turn by as much as they shift, over the distance between them:
    sqrt(2) s / L.
    """
    blank = job.blank
    shift = job.holding.repeat_mm / SIGMAS
    apart = max(blank.length_mm, blank.width_mm) - 2.0 * PIN_INSET_MM
    turn = 2.0**0.5 * shift / max(apart, PIN_INSET_MM)
    return Repeatability(shift, turn, (blank.length_mm / 2.0, blank.width_mm / 2.0))
