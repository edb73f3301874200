"""Is there room for the clamps that a holding speaks of, where nobody says where they stand?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from flushwork.built import Build
from flushwork.findings import Finding, Severity, Subject
from flushwork.fit.grip import grip_of
from flushwork.job.sources import held_at
from flushwork.plan.stages import Mounting
from flushwork.plan.waste import keep_outs_of
from flushwork.proof.waste_rules import known_path, zero_mm
from flushwork.toolpaths.orders import CutFile
from flushwork.toolpaths.swept import CLAMP_GAP_MM, SAME_HEIGHT_MM, radius_mm, swept

CLAMP_MM: Final = 15.0
"""What the foot of a clamp covers of the waste, along and across (assumed, 10 to 25 mm)."""
STEP_MM: Final = 2.0
"""Places along the edge of the blank are tried so far apart."""


def clamps_without_room(build: Build) -> Iterator[Finding]:
    """Yield a finding for each mounting held by clamps with no place left for one.

    A foot is tried all along the edge of the blank, on the waste.  Where the job tells where its
    clamps stand, ``clamp_hit`` looks at them instead.
    """
    grip = grip_of(build.job.holding)
    if grip is None or not grip.clamps:
        return
    only = not grip.tape_share and not grip.pins
    for mounting in build.plan.mountings:
        files = [
            file
            for file in build.cut_files
            if file.order.mounting == mounting.number and not file.order.bare
        ]
        if not files or keep_outs_of(build.job, mounting.face, mounting.number):
            continue
        feet = _feet(build, mounting)
        for file in files:
            feet = _clear_of(build, file, feet)
        if not feet:
            yield _no_room(build, mounting, only=only)


def _feet(build: Build, mounting: Mounting) -> list[shapely.Polygon]:
    """Return where a clamp's foot may stand: along the blank's edge, off what is trimmed out."""
    blank = build.job.blank
    half = CLAMP_MM / 2.0
    across, away = blank.length_mm - half, blank.width_mm - half
    if min(across, away) < half:
        return []
    xs, ys = _steps(half, across), _steps(half, away)
    middles = {(x, y) for x in xs for y in (half, away)} | {
        (x, y) for x in (half, across) for y in ys
    }
    kept = build.face(mounting.face).trim
    trimmed = build.job.outline.artwork is not None
    feet = [shapely.box(x - half, y - half, x + half, y + half) for x, y in sorted(middles)]
    return [foot for foot in feet if not (trimmed and foot.intersection(kept).area > 0.0)]


def _steps(low: float, high: float) -> list[float]:
    count = max(2, int((high - low) / STEP_MM) + 1)
    return [float(each) for each in np.linspace(low, high, count)]


def _clear_of(
    build: Build, file: CutFile, feet: Sequence[shapely.Polygon]
) -> list[shapely.Polygon]:
    """Return the feet that a file's cutter passes by, at any height it comes lower than it crosses.

    The nut above it is left out: how high a clamp stands nobody says.
    """
    over = swept(file.program, file.order.cutter)
    if over is None or not feet:
        return list(feet)
    path, _ = known_path(file, zero_mm(build, file))
    level = over.over_mm + zero_mm(build, file) - SAME_HEIGHT_MM
    low: NDArray[np.float64] = path[np.minimum(path[:, 2], path[:, 5]) < level]
    if not len(low):
        return list(feet)
    ends = np.stack([low[:, :2], low[:, 3:5]], axis=1)
    ways = [shapely.LineString(each) for each in ends]
    reach_mm = radius_mm(file.order.cutter) + CLAMP_GAP_MM
    met = shapely.STRtree(ways).query(feet, predicate="dwithin", distance=reach_mm)[0]
    struck = set(met.tolist())
    return [foot for index, foot in enumerate(feet) if index not in struck]


def _no_room(build: Build, mounting: Mounting, *, only: bool) -> Finding:
    holding = mounting.holding
    return Finding(
        code="clamps-without-room",
        severity=Severity.STOP if only else Severity.CAUTION,
        message=f"Mounting {mounting.number} is held by {holding.how} ({holding.name}), but its "
        f"cutters come low over the whole edge of the blank: nowhere are {CLAMP_MM:g} mm by "
        f"{CLAMP_MM:g} mm of waste left for a clamp.",
        remedy="Hold it with tape, or with stops and screws that end below the face; take a longer "
        "blank; or say with `keep clear of` where its clamps stand.",
        subjects=(Subject("holding", holding.name),),
        source=held_at(build.job),
    )


RULES = (clamps_without_room,)
