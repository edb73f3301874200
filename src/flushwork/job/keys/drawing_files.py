"""Artwork that comes from a drawing file beside the job."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, ClassVar, Final

from flushwork.core.keys.declare import Items, Key, Keyed
from flushwork.core.keys.quantities import LENGTH, LENGTH_OR_NONE, length
from flushwork.core.keys.words import COLOUR, OneOf, Words

LAYERS: Final = Items(Words(), 1, or_one=True)


@dataclass(frozen=True, slots=True)
class SvgArt(Keyed):
    """Shapes of an SVG file; ``layers`` are ids or layer names, empty for all.

    ``colours`` (``#rrggbb``) are the paints taken, empty for all but the white of the paper.
    ``width_mm`` scales the picked shapes to that width; without it the file's own physical size
    holds.
    """

    kinds: ClassVar[tuple[str, ...]] = ("svg",)

    file: Annotated[str, Words(), Key("rose.svg", name="svg")]
    """An SVG file, beside the job file."""
    layers: Annotated[tuple[str, ...], LAYERS, Key("[dark]", default=())]
    """With svg and dxf: the layers to take, or the ids of an svg and the blocks of a dxf; all where
    left out."""
    colours: Annotated[tuple[str, ...], Items(COLOUR, 1, or_one=True), Key('["#0b6a72"]')] = field(
        default=(), kw_only=True
    )
    """With svg: the fills and strokes to take, as far as nothing is painted over them; all but
    white where left out, for white is the paper."""
    width_mm: Annotated[float | None, LENGTH, Key("60 mm", optional=True)]
    """With svg and dxf: the width the picked shapes are scaled to; layers of one drawing with the
    same width and place are scaled and placed as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DxfArt(Keyed):
    """Shapes of a DXF file; ``layers`` are layer or block names, empty for all.

    Closed outlines are areas, those inside others holes in them; with ``line_mm`` every outline is
    a line of that width.  ``units`` ("" for the file's own) say what a unit of it is.
    """

    kinds: ClassVar[tuple[str, ...]] = ("dxf",)

    file: Annotated[str, Words(), Key("rose.dxf", name="dxf")]
    """A DXF file, beside the job file."""
    layers: Annotated[tuple[str, ...], LAYERS, Key("[dark]", default=())]
    """With svg and dxf: the layers to take, or the ids of an svg and the blocks of a dxf; all where
    left out."""
    width_mm: Annotated[float | None, LENGTH, Key("60 mm", optional=True)]
    """With svg and dxf: the width the picked shapes are scaled to; layers of one drawing with the
    same width and place are scaled and placed as one."""
    units: Annotated[str, OneOf(("metric", "inch")), Key("metric", optional=True)] = ""
    """With dxf: what it is drawn in where it does not say so itself, mm or in."""
    line_mm: Annotated[float, LENGTH_OR_NONE, Key("1.5 mm", name="line")] = 0.0
    """With dxf: draws every outline as a line this wide, instead of what it encloses."""
    join_mm: Annotated[float, length(0.0, 5.0), Key("0.1 mm", name="join within")] = 0.01
    """With dxf: ends of lines that lie so near one another are taken for one."""


DrawingArt = SvgArt | DxfArt
"""Artwork of a drawing file with layers, which keep their places to each other."""
