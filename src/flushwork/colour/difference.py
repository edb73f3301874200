"""How different two colours look: CIEDE2000.

G. Sharma, W. Wu and E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes,
supplementary test data, and mathematical observations", Color Res. Appl. 30(1), 2005, 21-30; the
equation numbers below are theirs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.colour.spaces import Triple, to_lab

_TWENTY_FIVE_7 = 25.0**7


@dataclass(frozen=True, slots=True)
class _Polar:
    """Lightness, chroma and hue (degrees, 0 to 360) with a* stretched as eq. 2 to 7."""

    light: float
    chroma: float
    hue: float


def _polar(lab: Triple, stretch: float) -> _Polar:
    a = (1.0 + stretch) * lab[1]
    hue = math.degrees(math.atan2(lab[2], a)) % 360.0 if a or lab[2] else 0.0
    return _Polar(lab[0], math.hypot(a, lab[2]), hue)


def _hue_step(first: _Polar, second: _Polar) -> float:
    """Return the hue difference in degrees, eq. 10."""
    if first.chroma * second.chroma == 0.0:
        return 0.0
    step = second.hue - first.hue
    if step > 180.0:
        return step - 360.0
    return step + 360.0 if step < -180.0 else step


def _hue_mean(first: _Polar, second: _Polar) -> float:
    """Return the mean hue in degrees, eq. 14."""
    total = first.hue + second.hue
    if first.chroma * second.chroma == 0.0:
        return total
    if abs(first.hue - second.hue) <= 180.0:
        return total / 2.0
    return (total + 360.0) / 2.0 if total < 360.0 else (total - 360.0) / 2.0


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))


def _sevenths(chroma: float) -> float:
    return math.sqrt(chroma**7 / (chroma**7 + _TWENTY_FIVE_7))


def ciede2000(first: Triple, second: Triple) -> float:
    """Return the difference of two CIELAB colours, with k_L = k_C = k_H = 1."""
    mean_star = (math.hypot(first[1], first[2]) + math.hypot(second[1], second[2])) / 2.0
    stretch = 0.5 * (1.0 - _sevenths(mean_star))
    one, two = _polar(first, stretch), _polar(second, stretch)
    step = _hue_step(one, two)
    hue_gap = 2.0 * math.sqrt(one.chroma * two.chroma) * math.sin(math.radians(step) / 2.0)
    light, chroma = (one.light + two.light) / 2.0, (one.chroma + two.chroma) / 2.0
    hue = _hue_mean(one, two)
    weight = (
        1.0
        - 0.17 * _cos(hue - 30.0)
        + 0.24 * _cos(2.0 * hue)
        + 0.32 * _cos(3.0 * hue + 6.0)
        - 0.20 * _cos(4.0 * hue - 63.0)
    )
    turn = 30.0 * math.exp(-(((hue - 275.0) / 25.0) ** 2))
    tied = -math.sin(math.radians(2.0 * turn)) * 2.0 * _sevenths(chroma)
    off = (light - 50.0) ** 2
    by_light = (two.light - one.light) / (1.0 + 0.015 * off / math.sqrt(20.0 + off))
    by_chroma = (two.chroma - one.chroma) / (1.0 + 0.045 * chroma)
    by_hue = hue_gap / (1.0 + 0.015 * chroma * weight)
    return math.sqrt(by_light**2 + by_chroma**2 + by_hue**2 + tied * by_chroma * by_hue)


def difference(first: Triple, second: Triple) -> float:
    """Return CIEDE2000 between two sRGB colours (0 to 1)."""
    return ciede2000(to_lab(first), to_lab(second))
