"""Still pictures of the board: for screens without a live one, and beside each finding."""

from __future__ import annotations

import io
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from flushwork.bench.desk import Shown
from flushwork.book.pictures import swatches_of, wood_look
from flushwork.job.records import FaceName
from flushwork.plan.stages import StageKind
from flushwork.strata.look import look

CROP_MM: Final = 24.0
"""Side of the piece of board shown beside a finding."""

WIDEST_PX: Final = 1200


def still(shown: Shown, stage: int, face: FaceName) -> bytes:
    """Return a face after a stage as PNG."""
    return _png(_seen(shown, stage, face, max(_px_mm(shown), shown.film.px_mm)))


def crop(shown: Shown, face: FaceName, x_mm: float, y_mm: float) -> bytes:
    """Return the finished face around a place as PNG; the place is its middle."""
    px_mm = max(_px_mm(shown), 0.1)
    whole = _seen(shown, shown.film.shots[-1].stage, face, px_mm)
    half = round(CROP_MM / 2.0 / px_mm)
    row = whole.shape[0] - round(y_mm / px_mm)
    column = round(x_mm / px_mm)
    padded = np.pad(whole, ((half, half), (half, half), (0, 0)))
    row, column = np.clip(row, 0, whole.shape[0]), np.clip(column, 0, whole.shape[1])
    return _png(np.ascontiguousarray(padded[row : row + 2 * half, column : column + 2 * half]))


def _png(picture: NDArray[np.uint8]) -> bytes:
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "PNG", compress_level=3)
    return out.getvalue()


def _px_mm(shown: Shown) -> float:
    spec = shown.film.spec
    return max(spec.length_mm, spec.width_mm) / WIDEST_PX


@lru_cache(maxsize=2)
def _seen(shown: Shown, stage: int, face: FaceName, px_mm: float) -> NDArray[np.uint8]:
    made = shown.made
    state = made.replay.after(stage)
    trims = [each.number for each in made.plan.stages if each.kind is StageKind.TRIM]
    drawn = next(each for each in made.faces if each.name == face)
    within = drawn.trim if trims and stage >= trims[0] and not drawn.trim.is_empty else None
    wood, swatches = wood_look(made), swatches_of(made.palette)
    return look(state, made.replay.spec, face, wood, swatches, mm_per_px=px_mm, within=within)
