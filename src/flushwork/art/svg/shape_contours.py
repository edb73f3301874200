"""Basic shapes and path data to contours (SVG 2), in the element's own units."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

from flushwork.art.contours import (
    Arc,
    Bezier,
    Contour,
    Piece,
    ellipse,
    line,
    point,
    polyline,
    rounded_rectangle,
)
from flushwork.art.svg.numbers import (
    NUMBER,
    UnreadableError,
    read_float,
    read_length_px,
    read_numbers,
)
from flushwork.kernels.outlines import Points

# ---- Path data to contours (SVG 2, section 9.3), read strictly: what is malformed is named
#
# Read here and not by a library: the general reader that the tests hold this one against passes
# over five of nine malformed texts in silence, lets S reflect a T before it, and of style sheets it
# leaves out ``!important``, selectors of several parts and ``visibility``.


_COMMAND: Final = re.compile(r"[\s]*([MmLlHhVvCcSsQqTtAaZz])\s*")
_NUMBER: Final = re.compile(NUMBER)
_FLAG: Final = re.compile(r"[01]")
_BETWEEN: Final = re.compile(r"\s*,?\s*")
_TAKES: Final = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def read_path(text: str) -> tuple[Contour, ...]:
    """Return the contours of path data, in its own units, y as the file has it.

    Raises UnreadableError, with the place in the text, where the data break the grammar.
    """
    pen = _Pen()
    at = 0
    while text[at:].strip():
        match = _COMMAND.match(text, at)
        if match is None or (not pen.begun and match[1] not in "Mm"):
            raise _malformed(text, at)
        command, at = match[1], match.end()
        if command in "Zz":
            pen.close()
            continue
        numbers, at = _arguments(text, at, command.upper())
        pen.run(command, numbers)
    return pen.finished()


def _malformed(text: str, at: int) -> UnreadableError:
    rest = text[at : at + 24].strip()
    what = f"from character {at + 1}: '{rest}'" if rest else "at its end: numbers are missing"
    return UnreadableError("svg-path-malformed", f"its path data cannot be read {what}")


def _arguments(text: str, at: int, command: str) -> tuple[list[list[float]], int]:
    """Read the sets of numbers that follow a command; at least one set."""
    takes = _TAKES[command]
    sets: list[list[float]] = []
    while True:
        begin = at if not sets else _skip(text, at)
        first = _NUMBER.match(text, begin)
        if first is None:
            if not sets:
                raise _malformed(text, begin)
            if "," in text[at:begin]:
                raise _malformed(text, at)
            return sets, at
        numbers: list[float] = []
        at = begin
        for index in range(takes):
            pattern = _FLAG if command == "A" and index in (3, 4) else _NUMBER
            match = pattern.match(text, at)
            if match is None:
                raise _malformed(text, at)
            numbers.append(read_float(match[0]))
            at = match.end()
            if index < takes - 1:
                at = _skip(text, at)
        sets.append(numbers)


def _skip(text: str, at: int) -> int:
    match = _BETWEEN.match(text, at)
    return match.end() if match else at


@dataclass
class _Pen:
    """Where the drawing stands while path data are read."""

    begun: bool = False
    start: Points = field(default_factory=lambda: point(0.0, 0.0))
    at: Points = field(default_factory=lambda: point(0.0, 0.0))
    pieces: list[Piece] = field(default_factory=list)
    contours: list[Contour] = field(default_factory=list)
    handle: Points | None = None
    handle_kind: str = ""
    moved: bool = False

    def run(self, command: str, sets: list[list[float]]) -> None:
        """Draw one command with its sets of numbers."""
        kind = command.upper()
        for index, numbers in enumerate(sets):
            origin = self.at if command.islower() else point(0.0, 0.0)
            if kind == "M" and index == 0:
                self._lift()
                self.start = self.at = origin + np.array(numbers)
                self.begun = self.moved = True
                self.handle_kind = ""
            elif kind in "MLHV":
                self._to(line(self.at, self._straight(kind, numbers, origin)))
            elif kind == "A":
                self._arc(numbers, origin)
            else:
                self._curve(kind, np.array(numbers).reshape(-1, 2) + origin)

    def close(self) -> None:
        """End the contour where it began."""
        self._finish(closed=True)
        self.at = self.start
        self.handle_kind = ""

    def finished(self) -> tuple[Contour, ...]:
        """Return everything drawn."""
        self._lift()
        return tuple(self.contours)

    def _lift(self) -> None:
        if self.pieces:
            self._finish(closed=False)
        self.moved = False

    def _finish(self, *, closed: bool) -> None:
        if self.pieces or self.moved:
            self.contours.append(Contour(self.start, tuple(self.pieces), closed))
        self.pieces = []
        self.moved = False

    def _to(self, piece: Piece, end: Points | None = None) -> None:
        self.pieces.append(piece)
        self.at = piece.end if end is None else end
        self.handle_kind = ""

    def _straight(self, kind: str, numbers: list[float], origin: Points) -> Points:
        if kind == "H":
            return point(float(origin[0]) + numbers[0], float(self.at[1]))
        if kind == "V":
            return point(float(self.at[0]), float(origin[1]) + numbers[0])
        end: Points = origin + np.array(numbers)
        return end

    def _curve(self, kind: str, given: Points) -> None:
        family = "C" if kind in "CS" else "Q"
        if kind in "ST":
            mirrored = (
                2.0 * self.at - self.handle
                if self.handle is not None and self.handle_kind == family
                else self.at
            )
            given = np.concatenate([mirrored[None, :], given])
        self._to(Bezier(np.concatenate([self.at[None, :], given])))
        self.handle, self.handle_kind = given[-2], family

    def _arc(self, numbers: list[float], origin: Points) -> None:
        end = origin + np.array(numbers[5:])
        radii = (abs(numbers[0]), abs(numbers[1]))
        if np.array_equal(end, self.at):
            self.handle_kind = ""
        elif 0.0 in radii:
            self._to(line(self.at, end))
        else:
            arc = arc_between(
                self.at,
                end,
                radii,
                tilt_rad=math.radians(numbers[2]),
                large=bool(numbers[3]),
                sweep=bool(numbers[4]),
            )
            self._to(arc, end)


def arc_between(
    start: Points,
    end: Points,
    radii: tuple[float, float],
    *,
    tilt_rad: float,
    large: bool,
    sweep: bool,
) -> Arc:
    """Return the elliptical arc through two different points (SVG 2, appendix B.2.4 and B.2.5)."""
    cosine, sine = math.cos(tilt_rad), math.sin(tilt_rad)
    unturn = np.array([[cosine, sine], [-sine, cosine]])
    x, y = unturn @ ((start - end) / 2.0)
    reach = math.hypot(x / radii[0], y / radii[1])
    grow = max(1.0, reach)
    radius_x, radius_y = radii[0] * grow, radii[1] * grow
    # 1 / reach^2 - 1 is the radicand of B.2.4 step 2, written so that it cannot overflow
    lift = math.sqrt(max(0.0, (grow / reach) ** 2 - 1.0))
    if large == sweep:
        lift = -lift
    centre_x, centre_y = lift * radius_x * y / radius_y, -lift * radius_y * x / radius_x
    begin_rad = math.atan2((y - centre_y) / radius_y, (x - centre_x) / radius_x)
    finish_rad = math.atan2((-y - centre_y) / radius_y, (-x - centre_x) / radius_x)
    sweep_rad = finish_rad - begin_rad
    if sweep and sweep_rad < 0.0:
        sweep_rad += 2.0 * math.pi
    elif not sweep and sweep_rad > 0.0:
        sweep_rad -= 2.0 * math.pi
    axes = np.array([[radius_x * cosine, radius_x * sine], [-radius_y * sine, radius_y * cosine]])
    turned = np.array([[cosine, -sine], [sine, cosine]]) @ np.array([centre_x, centre_y])
    return Arc(turned + (start + end) / 2.0, axes, begin_rad, sweep_rad)


# ---- Basic shapes to contours (SVG 2, section 10), in the element's own units


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
