"""The pictures of a build as PNG bytes, the same bytes for the same picture."""

from __future__ import annotations

import io
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely import MultiPolygon

from flushwork.art.drawn import DrawnFace
from flushwork.built import Build
from flushwork.job.records import FaceName
from flushwork.strata.look import AWAY, MIRROR, MOST_SAMPLES, WoodLook, looks

WIDEST_PIXELS: Final = 1400
"""Pixels across a page's live area: 210 to the inch on 170 mm, near what an eye resolves."""

DEFLATE: Final = 4
"""Compression of the pictures, 1 to 9.  Grain hardly ever repeats, so only runs of one byte are
looked for (RFC 1951 leaves that to the writer): sooner done, and no larger than by long search."""

OVERSAMPLE: Final = 3
"""Stencil pixels per pixel along the trim line, for a smooth edge."""


TILTS: Final = (("mirror", MIRROR), ("away", AWAY))
"""The two tilts at which a face with flakes is shown."""


def tilted_name(face: FaceName, tilt: str) -> str:
    """Return the name of the picture of a face held at a tilt, ``mirror`` or ``away``."""
    return f"{face}-tilted-{tilt}"


def finished_name(face: FaceName) -> str:
    """Return the name of the picture of a face as it will be seen."""
    return f"{face}-finished"


def picture_names(made: Build) -> tuple[str, ...]:
    """Return the names of the pictures that ``picture_tasks`` draw.

    Those of several parts of a job begin with the part's name and a hyphen.
    """
    return tuple(
        f"{_before(part)}{name}"
        for part in made.each
        for sheet in _sheets(part)
        for name in sheet.names
    )


def picture_tasks(made: Build) -> list[Callable[[], dict[str, bytes]]]:
    """Return what draws the pictures of a build, a task each, the heaviest first."""
    return [partial(_drawn, part, sheet) for part in made.each for sheet in _sheets(part)]


def finished_picture(made: Build, face: FaceName) -> bytes:
    """Return the finished look of a face as PNG."""
    name = f"{_before(made)}{finished_name(face)}"
    return _drawn(made, _Sheet(made.face(face), (finished_name(face),)))[name]


def _before(made: Build) -> str:
    return f"{made.job.part}-" if made.job.part else ""


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Pictures of one face drawn in one go, a tilt each; their pixels ``times`` as large."""

    face: DrawnFace
    names: tuple[str, ...]
    sheens: tuple[float, ...] = (0.0,)
    times: float = 1.0
    most_samples: int = MOST_SAMPLES


def _sheets(made: Build) -> list[_Sheet]:
    if not made.replay.states:
        return []
    swatches = made.palette.materials
    worked = [face for face in made.faces if face.worked]
    glittering = [
        face
        for face in made.faces
        if any(swatches[drawn.inlay.mix.name].flake for drawn in face.inlays)
    ]
    return [
        *(_Sheet(face, (finished_name(face.name),)) for face in worked),
        *(
            _Sheet(
                face=face,
                names=tuple(tilted_name(face.name, tilt) for tilt, _ in TILTS),
                sheens=tuple(sheen for _, sheen in TILTS),
                times=2.0,
                most_samples=2,
            )
            for face in glittering
        ),
    ]


def _drawn(made: Build, sheet: _Sheet) -> dict[str, bytes]:
    spec = made.replay.spec
    longest = max(spec.length_mm, spec.width_mm)
    px_mm = sheet.times * max(longest / WIDEST_PIXELS, spec.cell_mm / 2.0)
    seen = looks(
        made.replay.final,
        spec,
        sheet.face.name,
        wood_look(made),
        made.palette.materials,
        mm_per_px=px_mm,
        sheens=sheet.sheens,
        most_samples=sheet.most_samples,
    )
    return {
        f"{_before(made)}{name}": png_bytes(trimmed(picture, sheet.face.trim, px_mm))
        for name, picture in zip(sheet.names, seen, strict=True)
    }


def trimmed(picture: NDArray[np.uint8], trim: MultiPolygon, mm_per_px: float) -> NDArray[np.uint8]:
    """Return the part of a face's picture inside the trim line: waste and tabs are gone.

    ``picture`` is (rows, columns, 4) of the whole blank, far edge first; ``trim`` in mm of the
    face's frame.  An empty trim line leaves the picture as it is.
    """
    if trim.is_empty:
        return picture
    rows, columns = picture.shape[:2]
    stencil = Image.new("L", (columns * OVERSAMPLE, rows * OVERSAMPLE), 0)
    pen = ImageDraw.Draw(stencil)
    scale = OVERSAMPLE / mm_per_px
    for part in trim.geoms:
        for ring, ink in ((part.exterior, 255), *((hole, 0) for hole in part.interiors)):
            pen.polygon([(x * scale, rows * OVERSAMPLE - y * scale) for x, y in ring.coords], ink)
    inside = np.asarray(stencil.resize((columns, rows), Image.Resampling.BOX))
    cut = picture.copy()
    cut[..., 3] = np.minimum(cut[..., 3], inside)
    left, low, right, top = (edge / mm_per_px for edge in trim.bounds)
    window = cut[max(rows - round(top), 0) : rows - round(low), max(round(left), 0) : round(right)]
    return np.ascontiguousarray(window)


def wood_look(made: Build) -> WoodLook:
    """Return how the wood of a job looks."""
    blank = made.job.blank
    return WoodLook(
        colour=blank.wood.colour,
        grain_colour=blank.wood.grain_colour,
        grain_along_x=blank.grain_along_x,
        flat_sawn=blank.flat_sawn,
    )


def png_bytes(picture: NDArray[np.uint8]) -> bytes:
    """Return a picture as PNG: (rows, columns, 4) RGBA, laid on white.

    Raises ValueError where the array is no picture.
    """
    if picture.ndim != 3 or picture.shape[2] != 4 or picture.dtype != np.uint8:
        raise ValueError("a picture is an array of (rows, columns, 4) bytes")
    share = picture[..., 3:].astype(np.float32) / 255.0
    laid = picture[..., :3] * share + 255.0 * (1.0 - share)
    out = io.BytesIO()
    Image.fromarray(np.rint(laid).astype(np.uint8)).save(
        out, "PNG", compress_level=DEFLATE, compress_type=zlib.Z_RLE
    )
    return out.getvalue()
