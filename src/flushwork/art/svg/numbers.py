"""Numbers, lengths and transforms as SVG writes them.

W3C, *Scalable Vector Graphics (SVG) 2*, Candidate Recommendation (2018), sections 8.5 (transform)
and 9.3.9 (numbers); W3C, *CSS Values and Units Module Level 3*, section 6.2: 1 in = 25.4 mm =
96 px = 72 pt = 6 pc, 1 Q = 0.25 mm.
"""

from __future__ import annotations

import math
import re
from typing import Final

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
