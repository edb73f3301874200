"""Numbers, lengths and transforms as SVG writes them, and how large a drawing is.

W3C, *Scalable Vector Graphics (SVG) 2*, Candidate Recommendation (2018), sections 8.5 (transform)
and 9.3.9 (numbers); W3C, *CSS Values and Units Module Level 3*, section 6.2: 1 in = 25.4 mm =
96 px = 72 pt = 6 pc, 1 Q = 0.25 mm.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

from flushwork.art.drawn import Box
from flushwork.art.placement import Affine, scaling, turning

PX_MM: Final = 25.4 / 96.0
"""One CSS pixel in mm."""

LARGEST: Final = 1e9
"""No number in a drawing is honestly larger, in any unit (assumed; it keeps sums finite)."""

NUMBER: Final = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"

UNIT_PX: Final = {
    "": 1.0,
    "px": 1.0,
    "mm": 96.0 / 25.4,
    "cm": 960.0 / 25.4,
    "in": 96.0,
    "pt": 96.0 / 72.0,
    "pc": 16.0,
    "q": 24.0 / 25.4,
}
_LENGTH: Final = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z%]*)\s*$")
_LIST: Final = re.compile(rf"{NUMBER}|[^\s,]")
_TRANSFORM: Final = re.compile(r"[\s,]*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")
_COUNTS: Final = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}


class UnreadableError(ValueError):
    """Text of a drawing that cannot be read: the code of the finding and what is wrong."""

    def __init__(self, code: str, what: str) -> None:
        self.code = code
        self.what = what
        super().__init__(what)


def read_float(text: str) -> float:
    """Return a number; raise UnreadableError where it is too large to be honest."""
    value = float(text)
    if not math.isfinite(value) or abs(value) > LARGEST:
        raise UnreadableError("svg-coordinates-absurd", f"the number {text} is absurdly large")
    return value


def read_length(text: str) -> tuple[float, str]:
    """Return a length in px and the unit it was written in (``%`` for a share)."""
    match = _LENGTH.match(text)
    unit = match[2].lower() if match else ""
    if match is None or unit not in (*UNIT_PX, "%"):
        raise UnreadableError(
            "svg-number-unreadable", f"'{text.strip()[:40]}' is not a length this program knows"
        )
    return read_float(match[1]) * UNIT_PX.get(unit, 1.0), unit


def read_length_px(text: str) -> float:
    """Return a length in px; a share of something else is refused."""
    value, unit = read_length(text)
    if unit == "%":
        raise UnreadableError(
            "svg-number-unreadable", f"'{text.strip()[:40]}' is a share; a length is wanted"
        )
    return value


def read_numbers(text: str) -> list[float]:
    """Return the numbers of a list parted by blanks or commas."""
    words = _LIST.findall(text)
    try:
        return [read_float(word) for word in words]
    except UnreadableError:
        raise
    except ValueError:
        raise UnreadableError(
            "svg-number-unreadable", f"'{text.strip()[:40]}' is not a list of numbers"
        ) from None


def read_transform(text: str) -> Affine:
    """Return the map that a ``transform`` attribute writes down."""
    result = Affine()
    at = 0
    while text[at:].strip(" ,\t\r\n"):
        match = _TRANSFORM.match(text, at)
        numbers = read_numbers(match[2]) if match else []
        if match is None or len(numbers) not in _COUNTS[match[1]]:
            raise UnreadableError(
                "svg-transform-malformed",
                f"its transform cannot be read from '{text[at : at + 30].strip()}'",
            )
        result = result.after(_one(match[1], numbers))
        at = match.end()
    return result


def _one(name: str, numbers: list[float]) -> Affine:
    if name == "rotate":
        x, y = numbers[1:] or (0.0, 0.0)
        return turning(math.radians(numbers[0])).after(Affine(e=-x, f=-y)).moved(x, y)
    if name == "translate":
        return Affine(e=numbers[0], f=numbers[1] if len(numbers) > 1 else 0.0)
    if name == "scale":
        return scaling(numbers[0], numbers[-1])
    if name == "matrix":
        return Affine(*numbers)
    slope = math.tan(math.radians(numbers[0]))
    return Affine(c=slope) if name == "skewX" else Affine(b=slope)


# ---- How large a drawing is: width, height, viewBox and preserveAspectRatio (SVG 2, section 8)


_ALIGN = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


@dataclass(frozen=True, slots=True)
class Page:
    """The page of a drawing.

    ``to_mm`` maps the drawing's own units to mm with y up and the origin at the page's lower left;
    ``frame`` is the page in mm.  Without ``sized`` one of its units stands for one mm until the
    job says how wide the artwork is.  ``unit`` is the unit that its size is written in.
    """

    to_mm: Affine
    frame: Box
    sized: bool
    unit: str = ""


def read_page(root: Element) -> Page:
    """Return the page of an ``svg`` root element."""
    box = _view_box(root)
    width_px, height_px = _extent(root, "width"), _extent(root, "height")
    sized = any(size is not None and unit not in ("", "%") for size, unit in (width_px, height_px))
    width, height = width_px[0], height_px[0]
    if box is None:
        wide, high = width or 0.0, height or 0.0
        inner = Affine()
    else:
        wide, high = _proportioned(width, height, box)
        inner = fitted(box, wide, high, root.get("preserveAspectRatio", ""))
    unit_mm = PX_MM if sized else 1.0
    outer = Affine(a=unit_mm, d=-unit_mm, f=high * unit_mm)
    unit = next((unit for size, unit in (width_px, height_px) if size is not None), "")
    return Page(outer.after(inner), (0.0, 0.0, wide * unit_mm, high * unit_mm), sized, unit)


def nested_map(element: Element) -> Affine:
    """Return the map of an ``svg`` inside another one: its place and its viewBox."""
    x, y = (read_length_px(element.get(name, "0")) for name in ("x", "y"))
    box = _view_box(element)
    if box is None:
        return Affine(e=x, f=y)
    width, height = _extent(element, "width")[0], _extent(element, "height")[0]
    wide, high = _proportioned(width, height, box)
    return fitted(box, wide, high, element.get("preserveAspectRatio", "")).moved(x, y)


def _view_box(element: Element) -> Box | None:
    text = element.get("viewBox", "").strip()
    if not text:
        return None
    numbers = read_numbers(text)
    if len(numbers) != 4 or numbers[2] <= 0.0 or numbers[3] <= 0.0:
        raise UnreadableError("svg-size-unreadable", f"its viewBox '{text[:60]}' has no area")
    return (numbers[0], numbers[1], numbers[2], numbers[3])


def _extent(element: Element, name: str) -> tuple[float | None, str]:
    """Return ``width`` or ``height`` in px and its unit; a share says nothing about size."""
    text = element.get(name, "").strip()
    if not text or text == "auto":
        return None, ""
    try:
        value, unit = read_length(text)
    except UnreadableError as fault:
        code = "svg-size-unreadable" if fault.code == "svg-number-unreadable" else fault.code
        raise UnreadableError(code, f"its {name}: {fault.what}") from None
    if unit == "%":
        return None, unit
    if value <= 0.0:
        raise UnreadableError("svg-size-unreadable", f"its {name} is '{text}', which is no size")
    return value, unit


def _proportioned(width: float | None, height: float | None, box: Box) -> tuple[float, float]:
    """Return the size of the viewport; what is not said follows the viewBox."""
    if width is None and height is None:
        return box[2], box[3]
    if width is None:
        return (height or 0.0) * box[2] / box[3], height or 0.0
    return width, width * box[3] / box[2] if height is None else height


def fitted(box: Box, width: float, height: float, rule: str) -> Affine:
    """Return the map of a viewBox into a viewport under ``preserveAspectRatio``."""
    scale_x, scale_y = width / box[2], height / box[3]
    words = rule.split()
    align = words[0] if words else "xMidYMid"
    share_x, share_y = 0.0, 0.0
    if align != "none":
        if len(align) != 8 or align[1:4] not in _ALIGN or align[5:] not in _ALIGN:
            raise UnreadableError(
                "svg-size-unreadable", f"its preserveAspectRatio '{rule[:40]}' is unknown"
            )
        pick = max if "slice" in words[1:] else min
        scale_x = scale_y = pick(scale_x, scale_y)
        share_x, share_y = _ALIGN[align[1:4]], _ALIGN[align[5:]]
    return Affine(
        a=scale_x,
        d=scale_y,
        e=-box[0] * scale_x + share_x * (width - box[2] * scale_x),
        f=-box[1] * scale_y + share_y * (height - box[3] * scale_y),
    )
