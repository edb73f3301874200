"""Will it be seen?"""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.colour.difference import ciede2000
from flushwork.colour.palette import Colour
from flushwork.colour.spaces import to_lab
from flushwork.findings import Finding, Measure, Severity
from flushwork.geometry.drawn import DrawnInlay
from flushwork.proof.case import Case

FINE_MM, BROAD_MM = 1.0, 3.0
FINE_LIGHTNESS, BROAD_LIGHTNESS = 30.0, 20.0
"""Least difference of CIELAB lightness for strokes up to 1 mm and for shapes from 3 mm (assumed,
20 to 40 and 10 to 30; a swatch board seen at arm's length would replace them)."""
PLAIN_HUE = 20.0
"""A broad shape this far off in CIEDE2000 is told apart by its hue (assumed, 10 to 30)."""


def low_contrast(case: Case) -> Iterator[Finding]:
    """Yield a caution for inlays too near in lightness to what lies around them."""
    for drawn in case.inlays:
        own = case.palette.mixes[drawn.inlay.mix.name]
        if own.clear:
            continue
        width_mm = mean_width_mm(drawn)
        wanted = wanted_lightness(width_mm)
        for name, around in _grounds(case, drawn):
            apart = abs(to_lab(own.rgb)[0] - to_lab(around.rgb)[0])
            if apart >= wanted:
                continue
            if width_mm >= BROAD_MM and ciede2000(to_lab(own.rgb), to_lab(around.rgb)) > PLAIN_HUE:
                continue
            yield _pale(drawn, name, apart, wanted, width_mm)


def _grounds(case: Case, drawn: DrawnInlay) -> list[tuple[str, Colour]]:
    """Return what an inlay is seen against: the line around it, what it is cut into, the timber."""
    inlay = drawn.inlay
    around = [
        other.mix.name
        for other in case.job.inlays
        if other.seam is not None and not other.seam.shared_only and inlay.name in other.seam.along
    ]
    if around:
        return [(name, case.palette.mixes[name]) for name in dict.fromkeys(around)]
    under = inlay.second_pass_of or (inlay.seam.along if inlay.seam is not None else ())
    mixes = [other.mix.name for other in case.job.inlays if other.name in under]
    if not mixes:
        return [(case.job.blank.timber.name, case.palette.timber)]
    return [
        (name, case.palette.mixes[name])
        for name in dict.fromkeys(mixes)
        if name != inlay.mix.name and not case.palette.mixes[name].clear
    ]


def mean_width_mm(drawn: DrawnInlay) -> float:
    """Return the mean width of an inlay's strokes: twice the area over the outline's length."""
    edge_mm = drawn.region.length
    return 2.0 * drawn.region.area / edge_mm if edge_mm > 0.0 else 0.0


def wanted_lightness(width_mm: float) -> float:
    """Return the least difference of lightness for strokes of a width, less for broad ones."""
    share = min(1.0, max(0.0, (width_mm - FINE_MM) / (BROAD_MM - FINE_MM)))
    return FINE_LIGHTNESS + share * (BROAD_LIGHTNESS - FINE_LIGHTNESS)


def _pale(drawn: DrawnInlay, ground: str, apart: float, wanted: float, width_mm: float) -> Finding:
    inlay = drawn.inlay
    return Finding(
        code="low-contrast",
        severity=Severity.CAUTION,
        message=f"{inlay.name} in {inlay.mix.name} differs from {ground} by only {apart:.0f} in "
        f"lightness; strokes {width_mm:.1f} mm wide want {wanted:.0f}.",
        remedy="Choose a lighter or darker colour, give it a bright outline, or draw it broader.",
        subject=inlay.name,
        source=inlay.source,
        measure=Measure("lightness difference", apart, wanted, "L*"),
    )


RULES = (low_contrast,)
