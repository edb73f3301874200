"""What of a drawing is seen: each coat of paint over those before it (SVG 2, section 3.3)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import shapely
from shapely import LineString, MultiPolygon

from flushwork.geometry.regions import NOTHING, many, united
from flushwork.geometry.svg_paint import PaintCover, Painted

PAPER: Final = "#ffffff"
"""White is the paper: it is not inlaid, and it takes away what it is painted over."""


@dataclass(frozen=True, slots=True)
class Sight:
    """What is wanted and seen, its centre lines where it is made of lines only.

    ``white`` says that something was taken for paper, ``covered_mm2`` how much that hides.
    """

    region: MultiPolygon
    strokes: list[LineString]
    white: bool
    covered_mm2: float


def in_sight(painted: Sequence[Painted], colours: Sequence[str]) -> Sight:
    """Return what is seen of some ``colours``; without them of all but white.

    Where everything is white there is nothing it could be the paper of: it is taken as it is.
    """
    coats = [coat for shape in painted for coat in shape.coats if not coat.region.is_empty]
    inked = [_wanted(coat, colours) for coat in coats]
    if not colours and not any(inked):
        inked = [True] * len(coats)
    if all(inked):
        lines_only = all(shape.stroked_only for shape in painted)
        strokes = [line for shape in painted for line in shape.strokes] if lines_only else []
        return Sight(united([shape.region for shape in painted]), strokes, False, 0.0)
    region, covered_mm2 = NOTHING, 0.0
    for ink, run in groupby(zip(inked, coats, strict=True), key=lambda pair: pair[0]):
        layer = united([coat.region for _, coat in run])
        if ink:
            region = united([region, layer])
            continue
        left = many(shapely.difference(region, layer))
        covered_mm2 += region.area - left.area
        region = left
    wanted = [shape for shape in painted if any(_wanted(coat, colours) for coat in shape.coats)]
    whole = covered_mm2 == 0.0 and all(
        shape.stroked_only and all(_wanted(coat, colours) for coat in shape.coats)
        for shape in wanted
    )
    strokes = [line for shape in wanted for line in shape.strokes] if whole else []
    return Sight(region, strokes, not colours, covered_mm2)


def _wanted(coat: PaintCover, colours: Sequence[str]) -> bool:
    return coat.colour in colours if colours else coat.colour != PAPER
