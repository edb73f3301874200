"""Pictures as PNG bytes, the same bytes for the same picture."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from flushwork.job.records import FaceName

WIDEST_PIXELS = 2000
"""Pixels across a page's live area: 300 to the inch on 170 mm."""


def finished_name(face: FaceName) -> str:
    """Return the name of the picture of a face as it will be seen."""
    return f"{face}-finished"


def png_bytes(rgb: NDArray[np.uint8], widest: int = WIDEST_PIXELS) -> bytes:
    """Return a picture as PNG: ``rgb`` is (rows, columns, 3), far edge of the face first.

    A picture wider than ``widest`` pixels is averaged down to it.  Raises ValueError where the
    array is no picture.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise ValueError("a picture is an array of (rows, columns, 3) bytes")
    picture = Image.fromarray(np.ascontiguousarray(rgb))
    if picture.width > widest:
        height = max(1, round(picture.height * widest / picture.width))
        picture = picture.resize((widest, height), Image.Resampling.BOX)
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=6)
    return out.getvalue()
