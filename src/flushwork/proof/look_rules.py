"""Will it be seen?"""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from flushwork.built import Build
from flushwork.colour.contrast import Apart, apart
from flushwork.findings import Finding, Measure, Severity, Subject
from flushwork.geometry.drawn import DrawnInlay
from flushwork.job.records import TextArt
from flushwork.strata.palette import ShownColour


def low_contrast(build: Build) -> Iterator[Finding]:
    """Yield a caution for inlays too near in lightness and colour to what lies around them."""
    for drawn in build.inlays:
        own = build.palette.mixes[drawn.inlay.mix.name]
        if own.clear:
            continue
        width_mm = mean_width_mm(drawn)
        for name, around in _grounds(build, drawn):
            found = apart(own.rgb, around.rgb, width_mm, lettering=is_lettering(drawn))
            if not found.seen:
                yield _pale(drawn, name, found, width_mm)


def is_lettering(drawn: DrawnInlay) -> bool:
    """Whether an inlay's artwork is text."""
    return any(isinstance(each.art, TextArt) for each in drawn.inlay.artwork)


def _grounds(build: Build, drawn: DrawnInlay) -> list[tuple[str, ShownColour]]:
    """Return what an inlay is seen against: the line around it, what it is cut into, the timber."""
    inlay = drawn.inlay
    around = [
        other.mix.name
        for other in build.job.inlays
        if other.seam is not None and not other.seam.shared_only and inlay.name in other.seam.along
    ]
    if around:
        return [(name, build.palette.mixes[name]) for name in dict.fromkeys(around)]
    under = inlay.second_pass_of or (inlay.seam.along if inlay.seam is not None else ())
    mixes = [other.mix.name for other in build.job.inlays if other.name in under]
    if not mixes:
        return [(build.job.blank.timber.name, build.palette.timber)]
    return [
        (name, build.palette.mixes[name])
        for name in dict.fromkeys(mixes)
        if name != inlay.mix.name and not build.palette.mixes[name].clear
    ]


def mean_width_mm(drawn: DrawnInlay) -> float:
    """Return the mean width of an inlay's strokes: twice the area over the outline's length."""
    edge_mm = drawn.region.length
    return 2.0 * drawn.region.area / edge_mm if edge_mm > 0.0 else 0.0


def _pale(drawn: DrawnInlay, ground: str, found: Apart, width_mm: float) -> Finding:
    inlay = drawn.inlay
    by_lightness_alone = isinf(found.difference_wanted)
    strokes = f"{'letters' if is_lettering(drawn) else 'strokes'} {width_mm:.1f} mm wide"
    message = (
        f"{inlay.name} in {inlay.mix.name} differs from {ground} by only {found.lightness:.0f} in "
        f"lightness; {strokes} want {found.lightness_wanted:.0f}"
    )
    if not by_lightness_alone:
        message += (
            f", or a colour difference of {found.difference_wanted:.0f} where it has "
            f"{found.difference:.0f}"
        )
    return Finding(
        code="low-contrast",
        severity=Severity.CAUTION,
        message=message + ".",
        remedy="Choose a lighter or darker colour, give it a bright outline, or draw it broader.",
        subjects=(Subject("inlay", inlay.name),),
        source=inlay.source,
        measure=Measure("lightness difference", found.lightness, found.lightness_wanted, "L*"),
    )


RULES = (low_contrast,)
