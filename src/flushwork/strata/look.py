"""The finished look of a face: what the eye sees from above, as a picture.

Light and shadow over a face's heights, so that recesses and holes read in a picture.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.colour.kubelka_munk import NEVER_HIDES_MM, SEEN_THROUGH
from flushwork.colour.spaces import Triple, encode, parse_hex, to_linear
from flushwork.job.records import FaceName
from flushwork.kernels.coverage import coverage
from flushwork.kernels.seen_layers import Inks, board_figure, cast_shadow, mean_around, see_layers
from flushwork.runtime.pool import map_threads
from flushwork.strata.palette import ShownColour
from flushwork.strata.planes import HOLE_MM, other_name, region_edges
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import BoardState, FaceStack
from flushwork.strata.tiles import Window, grid, layers, wood_between

Heights = NDArray[np.float32]

_TOWARD: Final = (-0.6, 0.8)
"""Direction towards the light in the face's plane: upper left."""

_CLIMB: Final = 1.1
"""How steeply the light falls: height per distance."""

_DEEPEST_MM: Final = 6.0


def shade(top_mm: Heights, mm_per_px: float, plane_mm: float) -> Heights:
    """Return how brightly each pixel of a height map is lit, about 1 on the flat face.

    ``top_mm`` (rows, columns), row 0 nearest.  Three terms: how far the surface leans to the light,
    the shadow that higher ground casts, and how much of the sky it closes off.
    """
    heights = np.clip(top_mm, plane_mm - _DEEPEST_MM, plane_mm + 1.0).astype(np.float32)
    lit = np.float32(1.0) + np.float32(0.16) * _lean(heights, mm_per_px)
    lit *= np.float32(1.0) - np.float32(0.55) * _cast(heights, mm_per_px)
    lit *= np.float32(1.0) - np.float32(0.5) * _closed(heights, mm_per_px)
    rows, columns = heights.shape
    # a lamp on one side: the light falls off gently across the board
    fall = np.add.outer(np.linspace(-0.02, 0.02, rows), np.linspace(0.02, -0.02, columns))
    return lit * (1.0 + fall).astype(np.float32)


def slopes(top_mm: Heights, mm_per_px: float) -> tuple[Heights, Heights]:
    """Return how much a height map rises per mm along its columns and along its rows."""
    padded = np.pad(top_mm, 1, mode="edge")
    across = (padded[1:-1, 2:] - padded[1:-1, :-2]) / np.float32(2.0 * mm_per_px)
    up = (padded[2:, 1:-1] - padded[:-2, 1:-1]) / np.float32(2.0 * mm_per_px)
    return across, up


def _lean(heights: Heights, mm_per_px: float) -> Heights:
    across, up = slopes(heights, mm_per_px)
    lean: Heights = np.tanh(np.float32(-0.8) * (across * _TOWARD[0] + up * _TOWARD[1]))
    return lean


def _cast(heights: Heights, mm_per_px: float) -> Heights:
    """Return how deep each pixel lies in the shadow of what stands towards the light, 0 to 1."""
    reach = _DEEPEST_MM / _CLIMB
    steps = max(1, min(14, math.ceil(reach / mm_per_px)))
    away = reach * (np.arange(1, steps + 1) / steps) ** 1.5
    across, up = (np.rint(away * axis / mm_per_px).astype(np.int64) for axis in _TOWARD)
    over = cast_shadow(heights, across, up, (away * _CLIMB).astype(np.float32))
    cast: Heights = np.clip(over / np.float32(0.6), np.float32(0.0), np.float32(1.0))
    return cast


def _closed(heights: Heights, mm_per_px: float) -> Heights:
    """Return how much of the sky is closed off by higher ground around, 0 to 1."""
    closed = np.zeros_like(heights)
    for radius_mm in (0.6, 1.8):
        around = mean_around(heights, max(1, round(radius_mm / mm_per_px)))
        closed += np.clip((around - heights) / np.float32(2.0 * radius_mm), 0.0, 0.5)
    return np.clip(closed, np.float32(0.0), np.float32(1.0))


Picture = NDArray[np.uint8]
Light = NDArray[np.float32]
Places = NDArray[np.float64]

_BAND_PX: Final = 64
MOST_SAMPLES: Final = 4
_STEPS: Final = 16384


CLEAR: Final = ShownColour((1.0, 1.0, 1.0), NEVER_HIDES_MM, flake=False, clear=True)
"""What a material of no colour is taken for: sealer, clear cap."""

_FOLDS: Final = math.log(1.0 / SEEN_THROUGH)
"""Times that what shows through falls to 1/e until a fill covers."""

WET_POWER: Final = 1.14
WET_LIGHT: Final = 1.03
"""A finish wets the wood: its dark tones deepen, its light ones hardly change (assumed, 1.05 to 1.3
and 1 to 1.1; a finished strip beside a bare one replaces them)."""

MIRROR: Final = 0.55
AWAY: Final = -0.45
"""How much brighter or darker whole flakes are at the angle where they mirror the light and well
away from it (assumed, 0.3 to 1 and -0.3 to -0.6; two photographs of one swatch replace them)."""


@dataclass(frozen=True, slots=True)
class WoodLook:
    """How the wood looks: the colours of its ground and its late wood, and how it was sawn."""

    colour: str
    grain_colour: str
    grain_along_x: bool = True
    flat_sawn: bool = True
    seed: int = 11


@dataclass(frozen=True, slots=True)
class _Scene:
    """What is looked at, and how closely."""

    spec: BoardSpec
    here: FaceStack
    other: FaceStack
    name: FaceName
    wood: WoodLook
    swatches: Mapping[str, ShownColour]
    mm_per_px: float
    sheens: tuple[float, ...]
    most_samples: int


@lru_cache(maxsize=64)
def _linear_light(rgb: Triple) -> Light:
    return np.array(to_linear(rgb), np.float32)


@lru_cache(maxsize=1)
def _curve() -> Picture:
    """Return sRGB bytes of linear light in 16,384 even steps."""
    steps = (np.arange(_STEPS) / (_STEPS - 1)).tolist()
    return np.rint(255.0 * np.array([encode(part) for part in steps])).astype(np.uint8)


def srgb_bytes(light: Light) -> Picture:
    """Return linear light as sRGB bytes, from a table of 16,384 steps."""
    return _curve()[np.rint(np.clip(light, 0.0, 1.0) * (_STEPS - 1)).astype(np.intp)]


def looks(
    state: BoardState,
    spec: BoardSpec,
    face: FaceName,
    wood: WoodLook,
    swatches: Mapping[str, ShownColour],
    *,
    mm_per_px: float,
    within: MultiPolygon | None = None,
    sheens: Sequence[float] = (0.0,),
    most_samples: int = MOST_SAMPLES,
    part: Window | None = None,
) -> tuple[Picture, ...]:
    """Return a face as seen from above, (rows, columns, 4) RGBA, first row at the far edge.

    One picture for each of ``sheens``: ``MIRROR`` and ``AWAY`` are of a board tilted so that whole
    flakes flash or lie dark.  ``part`` is a window of the picture's pixels, counted from its near
    left corner; without it the whole face is drawn.

    Each pixel averages up to ``most_samples`` of its cells each way; holes right through are
    transparent, and so is all that lies outside ``within`` (the trim line, so that the waste does
    not show).  Light comes from the upper left, so recesses and holes read.  Raises ValueError
    unless ``mm_per_px`` is positive.
    """
    if mm_per_px <= 0.0:
        message = "mm_per_px must be positive"
        raise ValueError(message)
    here, other = state.face(face), state.face(other_name(face))
    part = part or pixels(spec, mm_per_px)
    seen = np.empty((len(sheens), part.rows, part.columns, 5), np.float32)
    scene = _Scene(spec, here, other, face, wood, swatches, mm_per_px, tuple(sheens), most_samples)

    def one(first: int) -> None:
        band = seen[:, first : first + _BAND_PX]
        _see_band(scene, band, Window(part.column, part.row + first, part.columns, band.shape[1]))

    map_threads(one, range(0, part.rows, _BAND_PX))
    lit = shade(seen[0, ..., 4], mm_per_px, here.plane_mm)
    alpha = seen[0, ..., 3]
    shown = alpha
    if within is not None:
        left_mm, low_mm = part.column * mm_per_px, part.row * mm_per_px
        edges = region_edges(within)
        shown = alpha * coverage(edges, left_mm, low_mm, mm_per_px, part.columns, part.rows)
    return tuple(_picture(light[..., :3], alpha, shown, lit) for light in seen)


def pixels(spec: BoardSpec, mm_per_px: float) -> Window:
    """Return the window of all pixels of a face."""
    width = max(1, round(spec.length_mm / mm_per_px))
    return Window(0, 0, width, max(1, round(spec.width_mm / mm_per_px)))


def _picture(light: Light, alpha: Light, shown: Light, lit: Light) -> Picture:
    """Return light (rows, columns, 3), taken with its alpha, as a picture, far edge first."""
    colour = (light / np.maximum(alpha[..., np.newaxis], 1e-6)).astype(np.float32)
    picture = np.empty((*alpha.shape, 4), np.uint8)
    picture[..., :3] = srgb_bytes(colour * lit[..., np.newaxis])
    picture[..., 3] = np.rint(255.0 * shown)
    return np.ascontiguousarray(picture[::-1])


def _see_band(scene: _Scene, seen: Light, band: Window) -> None:
    spec, mm_per_px = scene.spec, scene.mm_per_px
    whole = grid(spec)
    samples = min(scene.most_samples, max(1, round(mm_per_px / spec.cell_mm)))
    ratio = mm_per_px / spec.cell_mm
    across = _cells(band.column + np.arange(band.columns), samples, ratio, whole.columns)
    up = _cells(band.row + np.arange(band.rows), samples, ratio, whole.rows)
    window = Window(
        int(across[0]), int(up[0]), int(across[-1] - across[0]) + 1, int(up[-1] - up[0]) + 1
    )
    stack = layers(scene.here, window)
    void = wood_between(spec, scene.here, scene.other, window) <= HOLE_MM
    inks = layer_inks([scene.swatches.get(name, CLEAR) for name in stack.materials])
    ground = _ground(scene, band)
    if scene.here.coats:
        ground = np.power(ground, np.float32(WET_POWER)) * np.float32(WET_LIGHT)
    for sheen, tilted in zip(scene.sheens, seen, strict=True):
        see_layers(
            stack.heights,
            void,
            up - window.row,
            across - window.column,
            samples,
            ground,
            inks,
            scene.here.plane_mm,
            sheen,
            (window.row, window.column),
            spec.cell_mm,
            tilted,
        )


def _cells(pixels: NDArray[np.int64], samples: int, ratio: float, count: int) -> NDArray[np.int64]:
    inside = (np.arange(samples) + 0.5) / samples
    places = (pixels[:, np.newaxis] + inside) * ratio
    return np.clip(np.floor(places), 0, count - 1).astype(np.int64).ravel()


def layer_inks(looks: Sequence[ShownColour]) -> Inks:
    """Return materials, the wood first, as the arrays the kernels take."""
    hides = [math.inf if one.clear else one.hides_mm / _FOLDS for one in looks]
    return Inks(
        np.stack([_linear_light(one.rgb) for one in looks]),
        np.array(hides, np.float32),
        np.array([one.scatter_per_mm for one in looks], np.float32),
        np.array([one.inner for one in looks], np.float32),
        np.array([float(one.flake) for one in looks], np.float32),
    )


def _ground(scene: _Scene, band: Window) -> Light:
    """Return the bare wood of a band of pixels in linear light."""
    x, y = np.meshgrid(
        (band.column + np.arange(band.columns) + 0.5) * scene.mm_per_px,
        (band.row + np.arange(band.rows) + 0.5) * scene.mm_per_px,
    )
    return bare_wood(scene.spec, scene.name, scene.wood, x, y, scene.mm_per_px)


def bare_wood(
    spec: BoardSpec, face: FaceName, wood: WoodLook, x: Places, y: Places, mm_per_px: float
) -> Light:
    """Return bare wood in linear light, (rows, columns, 3), at places of a face in mm.

    Both faces are one board: the back is the far side of the same wood.
    """
    depth_mm = 0.0
    if face == "back":
        depth_mm = spec.thickness_mm
        if spec.turn_about_x:
            y = spec.width_mm - y
        else:
            x = spec.length_mm - x
    along, across = (x, y) if wood.grain_along_x else (y, x)
    rings, fibres = board_figure(along, across, depth_mm, wood.flat_sawn, mm_per_px, wood.seed)
    light, dark = (_linear_light(parse_hex(each)) for each in (wood.colour, wood.grain_colour))
    mixed = light + (dark - light) * np.clip(0.85 * rings, 0.0, 1.0)[..., np.newaxis]
    lit: Light = mixed * (1.0 + np.float32(0.11) * fibres)[..., np.newaxis]
    return lit
