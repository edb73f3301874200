"""What an SVG drawing is made of, before anything of it is taken: its colours and its layers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from flushwork.art.faults import refusal
from flushwork.art.placement import Affine, scaling
from flushwork.art.svg.numbers import UnreadableError, read_page
from flushwork.art.svg.paint import PAPER, Painted, hull, in_sight, paint
from flushwork.art.svg.shape_contours import READERS
from flushwork.art.svg.tree import Seen, Walk, parsed, tag_of
from flushwork.core.findings import Source

_ROUGH_MM: Final = 100.0
"""It is looked at about this large, whatever its own units."""


@dataclass(frozen=True, slots=True)
class SvgContents:
    """The colours of a drawing as they are seen, the most of it first, each with its area's share.

    ``layers`` are its outermost groups that bear a name and show something; ``width_mm`` is that
    of its page, 0 where it does not say how large it is.
    """

    colours: tuple[tuple[str, float], ...]
    layers: tuple[str, ...]
    width_mm: float


def svg_contents(data: bytes, name: str, source: Source) -> SvgContents:
    """Return what a drawing is made of; raise JobRefusedError where it is none, or empty."""
    root = parsed(data, name, source)
    walk = Walk(root)
    try:
        page = read_page(root)
        seen = [item for item in walk.shapes() if item.tag in READERS]
        size = _across(seen, page.to_mm)
        scale = _ROUGH_MM / size if size > 0.0 else 1.0
        to_mm = scaling(scale, scale).after(page.to_mm)
        painted: list[Painted] = [paint(item, to_mm, _ROUGH_MM * 1e-4) for item in seen]
    except UnreadableError as fault:
        raise refusal(
            source,
            fault.code,
            f"the drawing {name}: {fault.what}",
            "save it again from your drawing program as plain SVG",
        ) from None
    there = dict.fromkeys(coat.colour for shape in painted for coat in shape.coats if coat.colour)
    areas = {colour: in_sight(painted, (colour,)).region.area for colour in there}
    whole = sum(areas.values())
    if whole <= 0.0 and not any(shape.region.area for shape in painted):
        raise refusal(
            source,
            "svg-without-shapes",
            f"there is no shape in the drawing {name}",
            "draw closed shapes or stroked lines, and leave their layer visible",
        )
    inks = [colour for colour in there if areas[colour] > 0.0 and colour != PAPER]
    inks = inks or [colour for colour in there if areas[colour] > 0.0]
    shares = sorted(((c, areas[c] / whole) for c in inks), key=lambda each: -each[1])
    shown = {each for item in seen for each in item.names}
    layers = dict.fromkeys(
        label
        for child in root
        if tag_of(child) == "g"
        for label in [_label(child.attrib)]
        if label and label in shown
    )
    return SvgContents(tuple(shares), tuple(layers), page.frame[2] if page.sized else 0.0)


def _label(attributes: dict[str, str]) -> str:
    """Return the name a drawing program shows for a group: its label, else its id."""
    labels = (each for key, each in attributes.items() if key.rpartition("}")[2].endswith("label"))
    return next(labels, attributes.get("id", ""))


def _across(seen: list[Seen], to_mm: Affine) -> float:
    """Return how far the shapes reach, in mm of the page."""
    corners = np.concatenate([np.empty((0, 2)), *(hull(item, to_mm) for item in seen)])
    return float(np.ptp(corners, axis=0).max()) if len(corners) else 0.0
