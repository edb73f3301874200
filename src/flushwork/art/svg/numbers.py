"""Numbers, lengths and transforms as SVG writes them, and how large a drawing is.

W3C, *Scalable Vector Graphics (SVG) 2*, Candidate Recommendation (2018), sections 8.5 (transform)
and 9.3.9 (numbers); W3C, *CSS Values and Units Module Level 3*, section 6.2: 1 in = 25.4 mm =
96 px = 72 pt = 6 pc, 1 Q = 0.25 mm.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

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


_ANGLE_DEG: Final = {"deg": 1.0, "": 1.0, "rad": 180.0 / math.pi, "turn": 360.0, "grad": 0.9}
_STYLE_TRANSFORM: Final = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)")
_ONE_WAY: Final = {
    "translateX": ("translate", "{0} 0"),
    "translateY": ("translate", "0 {0}"),
    "scaleX": ("scale", "{0} 1"),
    "scaleY": ("scale", "1 {0}"),
    "rotateZ": ("rotate", "{0}"),
}


def read_style_transform(text: str) -> Affine:
    """Return the map that the ``transform`` of a style writes down (CSS Transforms 1, section 13).

    Unlike the attribute it has units, and functions of one axis.
    """
    plain: list[str] = []
    at = 0
    while text[at:].strip():
        match = _STYLE_TRANSFORM.match(text, at)
        if match is None:
            break
        name, values = match[1], match[2].replace(",", " ").split()
        turned = name.startswith(("rotate", "skew"))
        given = [_plain_number(each, turned=turned) for each in values]
        kept, form = _ONE_WAY.get(name, (name, " ".join(f"{{{n}}}" for n in range(len(given)))))
        plain.append(f"{kept}({form.format(*given)})" if given else "none")
        at = match.end()
    return read_transform(" ".join([*plain, text[at:]]))


def read_angle(text: str) -> float:
    """Return an angle in radians; a bare number is degrees."""
    match = _LENGTH.match(text)
    if match is None or match[2].lower() not in _ANGLE_DEG:
        raise UnreadableError("svg-number-unreadable", f"'{text[:40]}' is not an angle")
    return math.radians(float(match[1]) * _ANGLE_DEG[match[2].lower()])


def _plain_number(text: str, *, turned: bool) -> str:
    match = _LENGTH.match(text)
    if match and turned and match[2].lower() in _ANGLE_DEG:
        return repr(float(match[1]) * _ANGLE_DEG[match[2].lower()])
    if match and not turned and match[2].lower() in UNIT_PX:
        return repr(float(match[1]) * UNIT_PX[match[2].lower()])
    return "none"


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


View = tuple[float, float]
"""Width and height, in its own units, of what percentages are taken of."""


def page_view(root: Element) -> View:
    """Return what percentages of a drawing are taken of."""
    box = _view_box(root)
    if box is not None:
        return (box[2], box[3])
    return (_extent(root, "width")[0] or 0.0, _extent(root, "height")[0] or 0.0)


_SHARED: Final = {
    **dict.fromkeys(("x", "width", "cx", "rx", "x1", "x2"), 0),
    **dict.fromkeys(("y", "height", "cy", "ry", "y1", "y2"), 1),
    "r": 2,
}
"""The attributes of shapes that may be percentages, and of what: width, height, or both."""


def in_lengths(element: Element, view: View) -> Element:
    """Return a shape with its percentages as lengths (SVG 2, section 8.9)."""
    shares = [name for name in _SHARED if element.get(name, "").rstrip().endswith("%")]
    if not shares:
        return element
    whole = Element(element.tag, dict(element.attrib))
    for name in shares:
        whole.set(name, repr(length_in(element.get(name, ""), view, _SHARED[name])))
    return whole


def in_px(style: Mapping[str, str], view: View) -> Mapping[str, str]:
    """Return a style whose strokes have no percentages."""
    shares = {name: style[name] for name in _STROKED if "%" in style.get(name, "")}
    if not shares:
        return style
    plain = {
        name: " ".join(repr(length_in(each, view, 2)) for each in text.replace(",", " ").split())
        for name, text in shares.items()
    }
    return {**style, **plain}


_STROKED: Final = ("stroke-width", "stroke-dasharray", "stroke-dashoffset")


def length_in(text: str, view: View, axis: int) -> float:
    """Return a length in px; a percentage is of the view's width, height or (2) of its diagonal."""
    value, unit = read_length(text)
    if unit != "%":
        return value
    of = (*view, math.hypot(*view) / math.sqrt(2.0))
    return value / 100.0 * of[axis]


@dataclass(frozen=True, slots=True)
class Viewport:
    """A drawing within a drawing: the map of its units, what its percentages are of, its window.

    ``window`` is the box it is seen through, in units outside it; None where it is not cut off.
    """

    to_outside: Affine
    view: View
    window: Box | None


def nested(element: Element, size: Element, view: View, *, overflow: str) -> Viewport:
    """Return the viewport of an ``svg`` or ``symbol``; ``size`` is what says how large it is."""
    tag = element.tag.rpartition("}")[2]
    x, y = (
        length_in(element.get(name, "0") or "0", view, axis) if tag == "svg" else 0.0
        for axis, name in enumerate(("x", "y"))
    )
    wide, high = (
        length_in(size.get(name) or element.get(name) or "100%", view, axis)
        for axis, name in enumerate(("width", "height"))
    )
    box = _view_box(element)
    inner = (
        Affine() if box is None else fitted(box, wide, high, element.get("preserveAspectRatio", ""))
    )
    window = None if overflow in ("visible", "auto") else (x, y, x + wide, y + high)
    inside = (wide, high) if box is None else (box[2], box[3])
    return Viewport(inner.moved(x, y), inside, window)


def marker_viewport(element: Element, *, overflow: str) -> Viewport:
    """Return the viewport of a ``marker``, its reference point at zero."""
    wide, high = (
        read_length_px(element.get(name) or "3") for name in ("markerWidth", "markerHeight")
    )
    box = _view_box(element)
    inner = (
        Affine() if box is None else fitted(box, wide, high, element.get("preserveAspectRatio", ""))
    )
    ref = np.array([[_reference(element, "refX"), _reference(element, "refY")]])
    x, y = inner.apply(ref)[0]
    window = None if overflow in ("visible", "auto") else (-x, -y, wide - x, high - y)
    inside = (wide, high) if box is None else (box[2], box[3])
    return Viewport(inner.moved(-float(x), -float(y)), inside, window)


def _reference(element: Element, name: str) -> float:
    text = element.get(name, "0").strip()
    part = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}.get(text)
    if part is None:
        return read_length_px(text)
    box = _view_box(element) or (0.0, 0.0, 0.0, 0.0)
    return box[0] + part * box[2] if name == "refX" else box[1] + part * box[3]


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
