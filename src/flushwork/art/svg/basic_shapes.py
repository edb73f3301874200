"""Basic shapes to contours (SVG 2, section 10), in the element's own units."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

from flushwork.art.contours import Contour, ellipse, point, polyline, rounded_rectangle
from flushwork.art.svg.numbers import UnreadableError, read_length_px, read_numbers
from flushwork.art.svg.path_data import read_path


def contours_of(element: Element, tag: str) -> tuple[Contour, ...]:
    """Return the contours of one shape element; none where it is drawn with no size.

    Raises UnreadableError where its numbers cannot be read.
    """
    return READERS[tag](element)


def _length(element: Element, name: str) -> float:
    return read_length_px(element.get(name, "0") or "0")


def _radius(element: Element, name: str) -> float | None:
    text = element.get(name, "auto").strip()
    if text in ("auto", ""):
        return None
    value = read_length_px(text)
    if value < 0.0:
        raise UnreadableError("svg-number-unreadable", f"its {name} is below zero")
    return value


def _size(element: Element, name: str) -> float:
    value = _length(element, name)
    if value < 0.0:
        raise UnreadableError("svg-number-unreadable", f"its {name} is below zero")
    return value


def _path(element: Element) -> tuple[Contour, ...]:
    return read_path(element.get("d", ""))


def _rectangle(element: Element) -> tuple[Contour, ...]:
    width, height = _size(element, "width"), _size(element, "height")
    if not width or not height:
        return ()
    radius_x, radius_y = _radius(element, "rx"), _radius(element, "ry")
    # a radius that is not given equals the other one
    round_x = min(next((r for r in (radius_x, radius_y) if r is not None), 0.0), width / 2.0)
    round_y = min(next((r for r in (radius_y, radius_x) if r is not None), 0.0), height / 2.0)
    x, y = _length(element, "x"), _length(element, "y")
    return (rounded_rectangle(x, y, width, height, radius_x=round_x, radius_y=round_y),)


def _circle(element: Element) -> tuple[Contour, ...]:
    radius = _size(element, "r")
    if not radius:
        return ()
    return (ellipse(_length(element, "cx"), _length(element, "cy"), radius, radius),)


def _ellipse(element: Element) -> tuple[Contour, ...]:
    radius_x, radius_y = _radius(element, "rx"), _radius(element, "ry")
    wide = next((r for r in (radius_x, radius_y) if r is not None), 0.0)
    high = next((r for r in (radius_y, radius_x) if r is not None), 0.0)
    if not wide or not high:
        return ()
    return (ellipse(_length(element, "cx"), _length(element, "cy"), wide, high),)


def _line(element: Element) -> tuple[Contour, ...]:
    ends = np.stack(
        [
            point(_length(element, "x1"), _length(element, "y1")),
            point(_length(element, "x2"), _length(element, "y2")),
        ]
    )
    return (polyline(ends, closed=False),)


def _points(element: Element, *, closed: bool) -> tuple[Contour, ...]:
    numbers = read_numbers(element.get("points", ""))
    if len(numbers) % 2:
        raise UnreadableError("svg-number-unreadable", "its list of points ends in half a point")
    if not numbers:
        return ()
    return (polyline(np.array(numbers).reshape(-1, 2), closed=closed),)


READERS: Final[dict[str, Callable[[Element], tuple[Contour, ...]]]] = {
    "path": _path,
    "rect": _rectangle,
    "circle": _circle,
    "ellipse": _ellipse,
    "line": _line,
    "polyline": lambda element: _points(element, closed=False),
    "polygon": lambda element: _points(element, closed=True),
}
