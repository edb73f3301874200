"""A section through the board as a drawing: every layer as it lies, depth exaggerated as told."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

from flushwork.core.units.kinds import INCH_MM
from flushwork.strata.section import BoardSection
from flushwork.views.book_records import LayerView, Picture
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import INK, SOFT, Space, bar_length_mm, disc
from flushwork.views.figures import NO_BREAK, TIMES, clean, number, short

Heights = NDArray[np.float64]

EXAGGERATIONS: Final = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0)
AXIS_MM: Final = 15.0
"""Room on paper at the left for the depth scale."""

FOOT_MM: Final = 6.5
"""Room on paper under the section for the bar of length."""

THIN_MM: Final = 0.003
"""A layer thinner than this is not there: below half the tolerance of heights."""

BELOW_MM: Final = 1.2
"""Wood shown under the deepest floor where the other face is far away."""

NEAR_WOOD_BETWEEN_MM: Final = 5.0
"""The other face is shown where it comes this close to a floor."""

SEALER_COLOUR: Final = "#6b4a2f"


@dataclass(frozen=True, slots=True)
class SectionLook:
    """Colours by material, letters by mix, and the colour of the wood."""

    wood: str
    colours: Mapping[str, str]
    letters: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Layer:
    """One material between two surfaces, (n,) each, in mm."""

    material: str
    top: Heights
    bottom: Heights

    def there(self, hole: NDArray[np.bool_]) -> NDArray[np.bool_]:
        return (self.top - self.bottom > THIN_MM) & ~hole


@dataclass(frozen=True, slots=True)
class _Scale:
    """From mm along the section and mm of height to mm on paper."""

    across: float
    up: float
    top_mm: float

    def place(self, along_mm: Heights, height_mm: Heights) -> Heights:
        """Return (n, 2) on paper."""
        x = AXIS_MM + along_mm * self.across
        y = 1.0 + (self.top_mm - height_mm) * self.up
        return np.column_stack((x, y))


@dataclass(frozen=True, slots=True)
class HeightMark:
    """A height to be drawn as measured: where along the section, from where to where, its words."""

    along_mm: float
    low_mm: float
    high_mm: float
    words: str


def section_drawing(
    cut: BoardSection,
    look: SectionLook,
    space: Space,
    alt: str,
    *,
    mark: HeightMark | None = None,
    small: bool = False,
    down_to_mm: float = -math.inf,
    inch: bool = False,
) -> Picture:
    """Return a section as a drawing no larger than ``space``.

    The exaggeration of depth stands under it, or, where it is ``small``, in its caption.  Columns
    are drawn as the replay holds them, one step each, so that a wall stands upright.  Nothing is
    shown below ``down_to_mm``.  Depths count in mm, or with ``inch`` in inches.
    """
    stack = _stack(cut)
    face_mm = _face_mm(cut)
    top_mm, bottom_mm, whole = _window(cut, stack, face_mm)
    if bottom_mm < down_to_mm:
        bottom_mm, whole = down_to_mm, False
    scale = _scale(cut, top_mm, top_mm - bottom_mm, space)
    body_mm = (top_mm - bottom_mm) * scale.up
    height = 1.0 + body_mm + (1.5 if small else FOOT_MM)
    width = space.width_mm
    if small:
        width = AXIS_MM + float(cut.positions_mm[-1]) * scale.across + 1.0
    parts = [
        *(_layer(cut, layer, look, scale, bottom_mm) for layer in stack),
        *(_letter(cut, layer, look, scale) for layer in stack),
        _axis(face_mm, bottom_mm, scale, INCH_MM if inch else 1.0),
        _break(cut, scale, bottom_mm) if not whole else "",
        "" if small else _foot(cut, scale, 1.0 + body_mm, "in" if inch else "mm"),
        _height_mark(mark, scale) if mark is not None else "",
    ]
    drawn = svg.drawing([part for part in parts if part], width, height, alt)
    caption = f"Section, {_exaggerated(scale)}" if small else ""
    return Picture(alt, caption, width, height, drawn)


def _height_mark(mark: HeightMark, scale: _Scale) -> str:
    """Draw a height between two ticks, its figure beside it."""
    heights = np.array([mark.high_mm, mark.low_mm])
    ((x, top), (_, low)) = scale.place(np.full(2, mark.along_mm), heights)
    return svg.dimension((float(x), float(top)), (float(x), float(low)), mark.words)


def _stack(cut: BoardSection) -> tuple[_Layer, ...]:
    """Return wood first, then what lies on it on this face, then on the other."""
    near = [(name, heights.astype(np.float64)) for name, heights in cut.near]
    far = [(name, heights.astype(np.float64)) for name, heights in cut.far]
    wood = _Layer(near[0][0], near[0][1], far[0][1])
    above = [
        _Layer(name, heights, lower) for (_, lower), (name, heights) in itertools.pairwise(near)
    ]
    below = [
        _Layer(name, upper, heights) for (_, upper), (name, heights) in itertools.pairwise(far)
    ]
    return (wood, *above, *below)


def _face_mm(cut: BoardSection) -> float:
    """Return the height of the face itself: the highest surface of this section."""
    top = cut.near[-1][1][~cut.hole]
    return float(top.max()) if top.size else 0.0


def _window(
    cut: BoardSection, stack: tuple[_Layer, ...], face_mm: float
) -> tuple[float, float, bool]:
    """Return the highest and lowest height shown, and whether that is the whole thickness."""
    solid = ~cut.hole
    if not solid.any():
        return face_mm + 1.0, face_mm - 1.0, True
    tops = [layer.top[layer.there(cut.hole)] for layer in stack]
    top_mm = max([float(top.max()) for top in tops if top.size], default=face_mm)
    floor_mm = float(cut.near[0][1][solid].min())
    far = cut.far[0][1][solid].astype(np.float64)
    lowest_mm = float(min(heights[solid].min() for _, heights in cut.far))
    if floor_mm - float(far.max()) < NEAR_WOOD_BETWEEN_MM:
        return top_mm, lowest_mm, True
    return top_mm, max(floor_mm - BELOW_MM, lowest_mm), False


def _scale(cut: BoardSection, top_mm: float, deep_mm: float, space: Space) -> _Scale:
    length = max(float(cut.positions_mm[-1]), 1e-6)
    room_mm = space.height_mm - FOOT_MM - 1.0
    across = min((space.width_mm - AXIS_MM - 2.0) / length, room_mm / deep_mm)
    fits = [times for times in EXAGGERATIONS if times * across * deep_mm <= room_mm + 1e-9]
    return _Scale(across, across * fits[-1], top_mm)


def _runs(there: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Yield the (first, one past last) of each unbroken run."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], there, [False])).astype(np.int8)))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _outline(cut: BoardSection, layer: _Layer, scale: _Scale, bottom_mm: float) -> str:
    half = float(cut.positions_mm[1] - cut.positions_mm[0]) / 2.0
    length = float(cut.positions_mm[-1])
    data: list[str] = []
    for first, last in _runs(layer.there(cut.hole)):
        along = cut.positions_mm[first:last]
        ends = np.clip(np.column_stack((along - half, along + half)).ravel(), 0.0, length)
        top = np.repeat(np.maximum(layer.top[first:last], bottom_mm), 2)
        low = np.repeat(np.maximum(layer.bottom[first:last], bottom_mm), 2)
        if float((top - low).max()) <= THIN_MM:
            continue
        data.append("M" + _points(ends, top, scale) + "L" + _points(ends[::-1], low[::-1], scale))
    return "z".join(data) + ("z" if data else "")


def _points(along: Heights, heights: Heights, scale: _Scale) -> str:
    line = LineString(scale.place(along, heights)).simplify(svg.SIMPLIFY_MM)
    return "L".join(f"{short(x, 2)} {short(y, 2)}" for x, y in line.coords).replace("\u2212", "-")


def _layer(
    cut: BoardSection, layer: _Layer, look: SectionLook, scale: _Scale, bottom_mm: float
) -> str:
    return svg.path(
        _outline(cut, layer, scale, bottom_mm),
        fill=_colour(layer, look, cut),
        stroke=INK,
        stroke_width="0.12",
        stroke_linejoin="round",
    )


def _colour(layer: _Layer, look: SectionLook, cut: BoardSection) -> str:
    if layer.material == cut.near[0][0]:
        return look.wood
    return look.colours.get(layer.material, SEALER_COLOUR)


def _letter(cut: BoardSection, layer: _Layer, look: SectionLook, scale: _Scale) -> str:
    """Draw the mix's letter where its layer is thickest, if there is room on paper."""
    letter = look.letters.get(layer.material, "")
    deep = np.where(layer.there(cut.hole), layer.top - layer.bottom, 0.0)
    if not letter or float(deep.max()) * scale.up < 4.6:
        return ""
    runs = list(_runs(deep > 0.9 * deep.max()))
    first, last = max(runs, key=lambda run: run[1] - run[0])
    at = (first + last - 1) // 2
    if float(cut.positions_mm[last - 1] - cut.positions_mm[first]) * scale.across < 4.2:
        return ""
    middle = (layer.top[at] + layer.bottom[at]) / 2.0
    ((x, y),) = scale.place(cut.positions_mm[at : at + 1], np.array([middle]))
    return disc(letter, float(x), float(y), 1.9)


def _axis(face_mm: float, bottom_mm: float, scale: _Scale, unit_mm: float) -> str:
    """Draw the depth below the face at the left, a tick each round step."""
    steps = (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
    first = 0.1 if unit_mm == 1.0 else 0.0
    units = next((step for step in steps if step >= first and step * unit_mm * scale.up >= 4.5), 20)
    step = units * unit_mm
    parts: list[str] = []
    for tick in range(int((face_mm - bottom_mm) / step + 1e-6) + 1):
        ((_, y),) = scale.place(np.zeros(1), np.array([face_mm - tick * step]))
        parts.append(
            svg.path(f"M{AXIS_MM - 3:.2f} {y:.2f}h2", stroke=INK, stroke_width="0.2")
            + svg.words(short(tick * units, 3), AXIS_MM - 4.0, y + 0.95, svg.WORD_MM, anchor="end")
        )
    return "".join(parts)


def _break(cut: BoardSection, scale: _Scale, bottom_mm: float) -> str:
    """Draw a wavy line where the wood goes on below the drawing."""
    length = float(cut.positions_mm[-1]) * scale.across
    ((x, y),) = scale.place(np.zeros(1), np.array([bottom_mm]))
    waves = max(int(length / 6.0), 1)
    wave = length / waves / 2.0
    data = f"M{x:.2f} {y:.2f}" + "".join(
        f"q{wave / 2:.3f} {0.8 if turn % 2 else -0.8:g} {wave:.3f} 0" for turn in range(2 * waves)
    )
    return svg.path(data, fill="#ffffff", stroke=SOFT, stroke_width="0.2")


def _foot(cut: BoardSection, scale: _Scale, y_mm: float, unit: str) -> str:
    """Draw the bar of length and the exaggeration in words."""
    bar = bar_length_mm(float(cut.positions_mm[-1]) / 3.0, inch=unit == "in")
    on_paper = bar * scale.across
    y = y_mm + 4.2
    depth = _exaggerated(scale)
    return svg.path(
        f"M{AXIS_MM:.2f} {y - 1:.2f}v2m0-1h{on_paper:.2f}m0-1v2",
        fill="none",
        stroke=INK,
        stroke_width="0.25",
    ) + svg.words(
        f"{short(bar, 4)}{NO_BREAK}mm along the line, {depth}; the scale at the left is {unit} "
        "below the face",
        AXIS_MM + on_paper + 2.0,
        y + 0.95,
        svg.WORD_MM,
    )


def _exaggerated(scale: _Scale) -> str:
    times = scale.up / scale.across
    return "depth at the same scale" if times < 1.01 else f"depth drawn {short(times, 1)}{TIMES}"


def section_layers(cut: BoardSection, look: SectionLook) -> tuple[LayerView, ...]:
    """Return what the colours of a section mean, each material shown once with its thickness."""
    most: dict[str, float] = {}
    colours: dict[str, str] = {}
    stack = _stack(cut)
    _, lowest_mm, _ = _window(cut, stack, _face_mm(cut))
    for layer in stack:
        shown = layer.there(cut.hole) & (layer.top > lowest_mm + THIN_MM)
        thick = (layer.top - layer.bottom)[shown]
        if thick.size:
            most[layer.material] = max(most.get(layer.material, 0.0), float(thick.max()))
            colours[layer.material] = _colour(layer, look, cut)
    return tuple(
        LayerView(colours[name], _layer_words(name, thick, look, cut))
        for name, thick in most.items()
    )


def _layer_words(name: str, thick_mm: float, look: SectionLook, cut: BoardSection) -> str:
    words = clean(f"{look.letters.get(name, '')} {name}".strip())
    if name == cut.near[0][0]:
        return words
    return f"{words}, up to {number(thick_mm, 2)}{NO_BREAK}mm"
