"""Do the tabs that the job asks for stand when the outline is cut?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from flushwork.built import Build
from flushwork.findings import TRIM_LINE, Finding, Measure, Place, Severity
from flushwork.fit.discs import grow
from flushwork.plan.stages import StageKind
from flushwork.plan.trim_choice import trim_cutter
from flushwork.strata.tiles import Window, grid, surface
from flushwork.toolpaths.move_table import Floats

STEP_MM: Final = 0.2
"""Places along the middle of the kerf are looked at so far apart."""
SHARE: Final = 0.5
"""A tab under half as high or half as long as was asked is none (assumed, 0.3 to 0.8)."""


def tabs_missing(build: Build) -> Iterator[Finding]:
    """Yield a stop where fewer tabs hold the piece than the job asks for, as the files replay."""
    outline = build.job.outline
    stage = next((each for each in build.plan.stages if each.kind is StageKind.TRIM), None)
    cutter = trim_cutter(build.job)
    if stage is None or cutter is None or not outline.tabs or outline.tab_height_mm <= 0.0:
        return
    mounting = next(each for each in build.plan.mountings if stage.number in each.stages)
    under_mm = mounting.face_z_mm - mounting.stands_mm
    kerf = grow(build.face(stage.face).trim, cutter.radius_mm)
    standing, spots = 0, []
    for part in kerf.geoms:
        places = shapely.get_coordinates(shapely.segmentize(part.exterior, STEP_MM))[:-1]
        high = _wood_mm(build, stage.number, places) - under_mm >= SHARE * outline.tab_height_mm
        standing += _runs(high, SHARE * outline.tab_mm, part.exterior.length / len(places))
        spots.append(places[0])
    if standing >= outline.tabs or not spots:
        return
    yield Finding(
        code="tabs-missing",
        severity=Severity.STOP,
        message=f"As the cut files replay, {standing} of the {outline.tabs} tabs that the job asks "
        "for are left: the piece comes loose beside a turning cutter.",
        remedy="Do not run this file; have it leave the tabs, or give the job the number that it "
        "leaves and hold the piece otherwise.",
        subjects=(TRIM_LINE,),
        source=outline.source,
        place=Place(stage.face, float(spots[0][0]), float(spots[0][1])),
        measure=Measure("tabs", float(standing), float(outline.tabs), ""),
    )


def _wood_mm(build: Build, stage: int, places: Floats) -> Floats:
    """Return the height of the wood at places (n, 2) of a face after a stage, (n,)."""
    spec = build.replay.spec
    whole = grid(spec)
    stack = build.replay.after(stage).face(build.plan.stage(stage).face)
    columns = np.clip((places[:, 0] / spec.cell_mm).astype(int), 0, whole.columns - 1)
    rows = np.clip((places[:, 1] / spec.cell_mm).astype(int), 0, whole.rows - 1)
    west, south = int(columns.min()), int(rows.min())
    window = Window(west, south, int(columns.max()) - west + 1, int(rows.max()) - south + 1)
    return np.asarray(surface(stack, window, 0)[rows - south, columns - west], np.float64)


def _runs(high: np.ndarray[tuple[int], np.dtype[np.bool_]], least_mm: float, step_mm: float) -> int:
    """Return how many stretches of a closed way are high for ``least_mm`` at least."""
    if high.all():
        return 1
    first = int(np.argmin(high))
    turned = np.concatenate(([False], np.roll(high, -first), [False]))
    begins = np.flatnonzero(turned[1:] & ~turned[:-1])
    ends = np.flatnonzero(~turned[1:] & turned[:-1])
    return int(np.count_nonzero((ends - begins) * step_mm >= least_mm))


RULES = (tabs_missing,)
