"""What every picture passes first, and its dots once it is cropped and brought to size."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter, ImageOps, UnidentifiedImageError

from flushwork.art.faults import not_opened, refusal
from flushwork.core.findings import Source

Dots = NDArray[np.uint8]

MOST_BYTES: Final = 40_000_000
"""A larger file is no photograph of a telephone (assumed)."""
MOST_DOTS: Final = 64_000_000
"""More dots than this are not opened: a file of some kilobytes can ask for gigabytes (assumed; a
telephone takes 12 to 50 million)."""
WORKED_DOTS: Final = 2_400_000
"""Dots a picture is traced from: 0.06 mm each on a board of 100 mm, below what a bit cuts."""
LEAST_DOT_MM: Final = 0.04
"""Finer dots than this show nothing a bit could follow."""
_AVERAGED: Final = 0.6
"""A picture made smaller than this share is as good as without noise."""
_PAPER: Final = (255, 255, 255)
_SHADE_SHARE: Final = 0.12
"""Width over which light may change, as a share of the picture (assumed, 0.05 to 0.3)."""
_SHADE_DOTS: Final = 96


@dataclass(frozen=True, slots=True)
class Aslant:
    """A sheet on a photo: its corners as shares of the photo, and how large it is.

    The corners, [from the left, from the top], go round from its upper left one clockwise.
    """

    corners: tuple[tuple[float, float], ...]
    size_mm: tuple[float, float]


def picture_data(path: Path, source: Source) -> bytes:
    """Return what a picture file holds; raise JobRefusedError where there is none, or too much."""
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as fault:
        raise not_opened(source, "picture-not-found", "picture", path, fault) from None
    if size > MOST_BYTES:
        raise refusal(
            source,
            "picture-too-large",
            f"the picture {path.name} is {size / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB "
            "are read",
            "save it smaller",
        )
    return data


def read_dots(
    data: bytes,
    name: str,
    source: Source,
    *,
    crop: tuple[float, float, float, float],
    width_mm: float,
    even_light: bool,
    seen: Aslant | None = None,
) -> Dots:
    """Return the dots (rows, columns, 3) of a picture, upright, cropped, at the size worked at.

    A sheet that is ``seen`` aslant is brought upright before it is cropped.

    Raises JobRefusedError where it is no PNG or JPEG, broken, or has too many dots.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            with Image.open(BytesIO(data), formats=("PNG", "JPEG")) as picture:
                across, up = picture.size
                if across * up > MOST_DOTS:
                    raise refusal(
                        source,
                        "picture-too-large",
                        f"the picture {name} has {across * up / 1e6:.0f} million dots; at most "
                        f"{MOST_DOTS / 1e6:.0f} million are opened",
                        "save it smaller",
                    )
                shrink = math.sqrt(WORKED_DOTS / (across * up * _kept(crop) * _covered(seen)))
                if shrink < 1.0:
                    # a JPEG is decoded at a half, a quarter or an eighth of its size, never below
                    picture.draft("RGB", (math.ceil(across * shrink), math.ceil(up * shrink)))
                plain = _plain(ImageOps.exif_transpose(picture))
        except Image.DecompressionBombError:
            raise refusal(
                source,
                "picture-too-large",
                f"the picture {name} has more than {MOST_DOTS / 1e6:.0f} million dots",
                "save it smaller",
            ) from None
        except UnidentifiedImageError:
            raise _unreadable(source, name, "is no PNG or JPEG") from None
        except (OSError, SyntaxError, ValueError, EOFError, MemoryError, TypeError, LookupError):
            raise _unreadable(source, name, "is broken") from None
    drafted = max(plain.size) / max(across, up)
    upright = plain if seen is None else _from_above(plain, seen)
    cut = _sized(_cropped(upright, crop), width_mm, drafted)
    if even_light:
        cut = _even(cut)
    return np.asarray(cut, dtype=np.uint8)


def _sized(picture: Image.Image, width_mm: float, drafted: float) -> Image.Image:
    across, up = picture.size
    least = width_mm / LEAST_DOT_MM / across
    shrink = min(math.sqrt(WORKED_DOTS / (across * up)), least, 1.0)
    size = (max(8, round(across * shrink)), max(8, round(up * shrink)))
    small = picture if size == picture.size else picture.resize(size, Image.Resampling.BOX)
    # what is not averaged out of several dots is noise still
    return small.filter(ImageFilter.MedianFilter(3)) if shrink * drafted > _AVERAGED else small


def _unreadable(source: Source, name: str, what: str) -> Exception:
    return refusal(
        source,
        "picture-unreadable",
        f"the picture {name} {what}",
        "give a photo or a drawing saved as PNG or JPEG",
    )


def _kept(crop: tuple[float, float, float, float]) -> float:
    left, top, right, low = crop
    return max((1.0 - left - right) * (1.0 - top - low), 1e-4)


def _plain(picture: Image.Image) -> Image.Image:
    """Return a picture in red, green and blue, on white where it is clear."""
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        ground = Image.new("RGBA", clear.size, (*_PAPER, 255))
        return Image.alpha_composite(ground, clear).convert("RGB")
    return picture.convert("RGB")


def _covered(seen: Aslant | None) -> float:
    """Return the share of a photo that a sheet covers."""
    if seen is None:
        return 1.0
    x, y = np.array(seen.corners).T
    return max(0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))), 1e-3)


def _from_above(picture: Image.Image, seen: Aslant) -> Image.Image:
    """Return a sheet as seen from straight above: as fine as where it lies nearest.

    Lines stay lines in a photo, so that four corners tell the whole map (R. Hartley and A.
    Zisserman, Multiple View Geometry in Computer Vision, 2nd ed. 2003, section 2.3, from memory).
    """
    corners = np.array(seen.corners) * picture.size
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    across_mm, up_mm = seen.size_mm
    per_mm = max(max(sides[0], sides[2]) / across_mm, max(sides[1], sides[3]) / up_mm)
    per_mm = min(per_mm, math.sqrt(2.0 * WORKED_DOTS / (across_mm * up_mm)))
    size = (max(8, round(across_mm * per_mm)), max(8, round(up_mm * per_mm)))
    ends = np.array([(0, 0), (size[0], 0), size, (0, size[1])], float)
    rows: list[list[float]] = []
    for (x, y), (u, v) in zip(ends.tolist(), corners.tolist(), strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
    numbers = np.linalg.solve(np.array(rows), corners.ravel())
    return picture.transform(
        size, Image.Transform.PERSPECTIVE, numbers.tolist(), Image.Resampling.BICUBIC
    )


def _cropped(picture: Image.Image, crop: tuple[float, float, float, float]) -> Image.Image:
    across, up = picture.size
    left, top, right, low = crop
    begin, high = round(left * across), round(top * up)
    end, deep = round((1.0 - right) * across), round((1.0 - low) * up)
    return picture.crop((begin, high, max(end, begin + 8), max(deep, high + 8)))


_SPOTS: Final = 6
"""Along each side of a picture its paper is looked at in so many places."""
_SHADED: Final = 0.1
"""Paper by so much darker in one place than in another is unevenly lit (assumed)."""
_STEP: Final = 0.2
"""From one place to the next light changes by no more; what does is drawn (assumed)."""


def unevenly_lit(dots: Dots) -> bool:
    """Return whether the paper along the edge of a picture grows darker little by little."""
    rows, columns = dots.shape[:2]
    deep = max(1, min(rows, columns) // 12)
    tone = dots.max(axis=2).astype(np.float32)
    sides = (tone[:deep], tone[:, -deep:].T, tone[-deep:, ::-1], tone[::-1, :deep].T)
    spots = [
        float(np.median(part)) for side in sides for part in np.array_split(side, _SPOTS, axis=1)
    ]
    # a place or two may be covered by what is drawn: the middle one of five stands for them
    around = np.array(spots)
    calm = np.median([np.roll(around, by) for by in range(-2, 3)], axis=0)
    steps, most = np.abs(calm - np.roll(calm, 1)), float(calm.max())
    return most - float(calm.min()) > _SHADED * most and float(steps.max()) <= _STEP * most


def _even(picture: Image.Image) -> Image.Image:
    """Divide by the light that falls on the paper: the brightest around, smoothed."""
    across, up = picture.size
    rough = max(across, up) / _SHADE_DOTS
    small = picture.resize(
        (max(8, round(across / rough)), max(8, round(up / rough))), Image.Resampling.BOX
    )
    reach = 2 * max(1, round(_SHADE_DOTS * _SHADE_SHARE / 2.0)) + 1
    bright = np.asarray(small.filter(ImageFilter.MaxFilter(reach)), dtype=np.float32)
    whole = Image.fromarray(_paper_through(bright).astype(np.uint8))
    light = whole.filter(ImageFilter.GaussianBlur(reach / 2.0))
    shade = np.asarray(light.resize(picture.size, Image.Resampling.BILINEAR), dtype=np.float32)
    dots = np.asarray(picture, dtype=np.float32) * (250.0 / np.maximum(shade, 16.0))
    return Image.fromarray(np.clip(dots, 0.0, 255.0).astype(np.uint8))


_HUE: Final = 0.12
"""Where the brightest around differs so in its tint from the paper's it is no paper (assumed)."""
_DARK: Final = 0.5
"""No shadow takes more of the paper's light than this; what is darker is drawn (assumed)."""


def _paper_through(bright: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the brightest around, under a broad patch of colour that of the paper beside it."""
    tone = bright.max(axis=2, keepdims=True)
    tint = bright / np.maximum(tone, 1.0)
    rim = np.concatenate([bright[0], bright[-1], bright[:, 0], bright[:, -1]])
    paper = np.median(rim, axis=0)
    strange = np.abs(tint - paper / max(float(paper.max()), 1.0)).max(axis=2) > _HUE
    strange |= tone[..., 0] < _DARK * float(paper.max())
    if not strange.any() or np.count_nonzero(~strange) < _LEAST_SEEN:
        return bright
    up, right = (np.indices(strange.shape) / max(strange.shape)).astype(np.float64)
    terms = np.stack([np.ones_like(up), up, right, up * right, up**2, right**2], axis=-1)
    numbers = np.linalg.lstsq(terms[~strange], bright[~strange], rcond=None)[0]
    filled = bright.copy()
    filled[strange] = np.clip(terms[strange] @ numbers, 1.0, 255.0)
    return filled


_LEAST_SEEN: Final = 60
"""Of less paper no light is learnt: ten places for each number."""
