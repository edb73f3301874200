"""Still pictures of the board: for screens without a live one, and beside each finding."""

from __future__ import annotations

import io
from math import ceil, floor
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from shapely import MultiPolygon

from flushwork.bench.snapshot import Snapshot, cached_on
from flushwork.book.pictures import wood_look
from flushwork.job.records import FaceName
from flushwork.plan.stages import StageKind
from flushwork.strata.look import look, pixels
from flushwork.strata.tiles import Window

CROP_MM: Final = 24.0
"""Side of the piece of board shown beside a finding."""

WIDEST_PX: Final = 1200


CROP_PX_MM: Final = (0.1, 0.15)
"""Side of a pixel of that piece: what a finding is about is often half a millimetre wide."""


def still(snapshot: Snapshot, stage: int, face: FaceName) -> bytes:
    """Return a face after a stage as PNG."""
    return png(seen(snapshot, stage, face)[0])


AROUND_MM: Final = 6.0
"""So much more is drawn around that piece: its light and shadows come from there."""


def crop(snapshot: Snapshot, face: FaceName, x_mm: float, y_mm: float) -> bytes:
    """Return the finished face around a place as PNG; the place is its middle."""
    finest, coarsest = CROP_PX_MM
    px_mm = min(max(_widest_px_mm(snapshot), finest), coarsest)
    whole = pixels(snapshot.film.spec, px_mm)
    half, around = round(CROP_MM / 2.0 / px_mm), round(AROUND_MM / px_mm)
    column = min(max(round(x_mm / px_mm), 0), whole.columns)
    row = min(max(round(y_mm / px_mm), 0), whole.rows)
    left, low = max(column - half - around, 0), max(row - half - around, 0)
    right = min(column + half + around, whole.columns)
    top = min(row + half + around, whole.rows)
    stage = snapshot.film.shots[-1].stage
    drawn = _drawn(snapshot, stage, face, px_mm, Window(left, low, right - left, top - low))
    # beyond the board's edges nothing is seen; rows count from the far edge down
    padded = np.pad(drawn, ((half, half), (half, half), (0, 0)))
    down, across = top - row, column - left
    return png(np.ascontiguousarray(padded[down : down + 2 * half, across : across + 2 * half]))


def seen(snapshot: Snapshot, stage: int, face: FaceName) -> tuple[NDArray[np.uint8], float]:
    """Return a face after a stage as seen from above, and the side of a pixel in mm."""
    px_mm = max(_widest_px_mm(snapshot), snapshot.film.px_mm)
    return _seen(snapshot, stage, face, px_mm), px_mm


def seen_part(
    snapshot: Snapshot, stage: int, face: FaceName, box_mm: tuple[float, float, float, float]
) -> tuple[NDArray[np.uint8], float, tuple[float, float]]:
    """Return what of a face is seen in a box (left, low, right, top), with its light from around.

    Then the side of a pixel and the place of the near left corner of what was drawn, in mm.
    """
    px_mm = max(_widest_px_mm(snapshot), snapshot.film.px_mm)
    whole = pixels(snapshot.film.spec, px_mm)
    left, low = (max(0, floor((each - AROUND_MM) / px_mm)) for each in box_mm[:2])
    right = min(whole.columns, ceil((box_mm[2] + AROUND_MM) / px_mm))
    top = min(whole.rows, ceil((box_mm[3] + AROUND_MM) / px_mm))
    drawn = _drawn(snapshot, stage, face, px_mm, Window(left, low, right - left, top - low))
    return drawn, px_mm, (left * px_mm, low * px_mm)


def png(picture: NDArray[np.uint8]) -> bytes:
    """Return a picture (rows, columns, 4) as PNG."""
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "PNG", compress_level=3)
    return out.getvalue()


def _widest_px_mm(snapshot: Snapshot) -> float:
    spec = snapshot.film.spec
    return max(spec.length_mm, spec.width_mm) / WIDEST_PX


@cached_on
def _seen(snapshot: Snapshot, stage: int, face: FaceName, px_mm: float) -> NDArray[np.uint8]:
    return _drawn(snapshot, stage, face, px_mm, None)


def _drawn(
    snapshot: Snapshot, stage: int, face: FaceName, px_mm: float, part: Window | None
) -> NDArray[np.uint8]:
    made = snapshot.made
    state = made.replay.after(stage)
    trims = [each.number for each in made.plan.stages if each.kind is StageKind.TRIM]
    trim = next((each.trim for each in made.faces if each.name == face), MultiPolygon())
    within = trim if trims and stage >= trims[0] and not trim.is_empty else None
    wood, swatches = wood_look(made), made.palette.materials
    return look(
        state, made.replay.spec, face, wood, swatches, mm_per_px=px_mm, within=within, part=part
    )
