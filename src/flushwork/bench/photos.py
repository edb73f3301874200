"""Photos of a step: checked, turned upright, made small, and freed of what the camera wrote in."""

from __future__ import annotations

import io
import warnings
from typing import Final

from PIL import Image, ImageOps, UnidentifiedImageError

from flushwork.store import digest

MOST_BYTES: Final = 16 * 1024 * 1024
MOST_PIXELS: Final = 60_000_000
LONGEST_PX: Final = 2000
KINDS: Final = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}


class PhotoError(ValueError):
    """What was sent is no photo that can be kept; the message says why."""


def kept_photo(data: bytes, kind: str) -> bytes:
    """Return a photo as it is kept: an upright JPEG of moderate size without hidden words.

    A camera writes place and time into its pictures; they are left out.  Raises PhotoError where
    the bytes are not what ``kind`` says, or too many.
    """
    if kind not in KINDS:
        raise PhotoError("a photo is a JPEG, PNG or WebP picture")
    if len(data) > MOST_BYTES:
        raise PhotoError(f"that photo is too large; at most {MOST_BYTES // 1024**2} MB are kept")
    try:
        with warnings.catch_warnings():
            # a picture that unfolds to more than it should is refused below, in words
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=[KINDS[kind]]) as opened:
                if opened.width * opened.height > MOST_PIXELS:
                    raise PhotoError("that photo has too many pixels")
                upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        OSError,
        SyntaxError,
        ValueError,
    ) as error:
        if isinstance(error, PhotoError):
            raise
        raise PhotoError("that is no picture, or a broken one") from error
    upright.thumbnail((LONGEST_PX, LONGEST_PX))
    out = io.BytesIO()
    Image.frombytes("RGB", upright.size, upright.tobytes()).save(out, "JPEG", quality=86)
    return out.getvalue()


def photo_name(stage: str, data: bytes) -> str:
    """Return the file name of a photo: its step in plain letters, and what it is."""
    plain = "".join(letter if letter.isascii() and letter.isalnum() else " " for letter in stage)
    words = " ".join(plain.split())[:60].strip() or "step"
    return f"{words} {digest(data)[:12]}.jpg"
