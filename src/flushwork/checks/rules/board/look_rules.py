"""Will it be seen, and does the board as cut agree with the artwork as drawn?"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, hypot, isinf

import numpy as np
from shapely import MultiPolygon

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.art.regions import apart_mm, united
from flushwork.built import Build
from flushwork.checks.expected_board import JustCut, just_cut
from flushwork.checks.rules.board.thickness_rules import holes_through_the_other_face
from flushwork.colour.spaces import Apart, apart
from flushwork.core.findings import Finding, Measure, Place, Subject
from flushwork.fit.reach import Fit
from flushwork.job.records import TextArt
from flushwork.kernels.coverage import gone_within, shift_of
from flushwork.runtime.memo import memoized
from flushwork.strata.measure import compare
from flushwork.strata.palette import ShownColour
from flushwork.strata.planes import grown, region_window, shares
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import FaceStack
from flushwork.strata.tiles import part_of, surface

AROUND_MM = 1.0
"""How far around an inlay the cut is looked at."""
LEAST_AROUND_MM = 0.3
HALF_CELLS = 1.5
"""A difference this many cells to its middle is more than the edge's own blur."""
AREA_MM2 = 0.2
SHIFTED_MM = 0.1
"""A cut this far off was cut in another place (assumed, 0.05 to 0.15 mm)."""
SHIFT_REACH_MM = 0.6
"""So far to either side of an edge the cut is looked at for a shift (chosen: six times what is
told, and less than what stands between most inlays)."""


def low_contrast(build: Build) -> Iterator[Finding]:
    """Yield a warning for inlays too near in lightness and colour to what lies around them."""
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
    """Return what an inlay is seen against: the line around it, what it is cut into, the wood."""
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
        return [(build.job.blank.wood.name, build.palette.wood)]
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
    return Finding.warning(
        "low-contrast",
        message=message + ".",
        remedy="Choose a lighter or darker colour, give it a bright outline, or draw it broader.",
        subjects=(Subject("inlay", inlay.name),),
        source=inlay.source,
        measure=Measure("lightness difference", found.lightness, found.lightness_wanted, "L*"),
    )


def cut_against_artwork(build: Build) -> Iterator[Finding]:
    """Yield a must fix where the replayed cut leaves stock meant to go, or goes beyond."""
    for cut in just_cut(build):
        drawn, floor = cut.drawn, cut.floor_mm
        fit = build.fit(drawn.inlay.name)
        if drawn.inlay.v_bit or not fit.bits:
            continue
        meant = meant_region(fit)
        if meant.is_empty or floor >= cut.stack.plane_mm or bored_through(build, drawn):
            continue
        around_mm = _free_around_mm(cut.face, drawn)
        stack = _around(build, cut, meant)
        found = _compared(stack, build.replay.spec, meant, floor, around_mm)
        least_mm = HALF_CELLS * build.replay.spec.cell_mm
        if found.missed_mm2 > AREA_MM2 and found.missed_half_mm > least_mm:
            yield _differs(
                drawn,
                "cut-misses-artwork",
                found.missed_mm2,
                found.missed_at,
                "is left where the artwork has none",
            )
        beyond = found.beyond_mm2 > AREA_MM2 and found.beyond_half_mm > least_mm
        if beyond and around_mm > LEAST_AROUND_MM:
            yield _differs(
                drawn,
                "cut-beyond-artwork",
                found.beyond_mm2,
                found.beyond_at,
                "is cut where the artwork has wood",
            )


def cut_shifted(build: Build) -> Iterator[Finding]:
    """Yield a must fix where what is cut lies off what was meant, by all of its edges together."""
    for cut in just_cut(build):
        drawn = cut.drawn
        fit = build.fit(drawn.inlay.name)
        meant = meant_region(fit)
        if drawn.inlay.v_bit or not fit.bits or meant.is_empty or cut.floor_mm >= cut.wood_mm:
            continue
        if bored_through(build, drawn):
            continue
        around_mm = _free_around_mm(cut.face, drawn)
        stack = _around(build, cut, meant)
        off = shift_mm(stack, build.replay.spec, meant, cut.floor_mm, around_mm)
        if off is None or hypot(*off) <= SHIFTED_MM:
            continue
        yield Finding.must_fix(
            "cut-shifted",
            message=f"As the G-code files replay, {drawn.inlay.name} is cut about "
            f"{off[0]:+.2f}, {off[1]:+.2f} mm or more off its place.",
            remedy="Do not run these files: an origin in them is wrong.",
            subjects=(drawn.subject,),
            source=drawn.inlay.source,
            place=Place(cut.face.name, meant.centroid.x, meant.centroid.y),
            measure=Measure("off", hypot(*off), SHIFTED_MM, "mm"),
        )


def bored_through(build: Build, drawn: DrawnInlay) -> bool:
    """Whether holes from the other face come through an inlay: a stop of its own tells of it."""
    inlay = drawn.subject
    return any(inlay in finding.subjects for finding in holes_through_the_other_face(build))


_compared = memoized(compare)


def _around(build: Build, cut: JustCut, meant: MultiPolygon) -> FaceStack:
    """Return what of a face is looked at around an inlay."""
    return part_of(cut.stack, region_window(build.replay.spec, grown(meant, AROUND_MM)))


@memoized
def shift_mm(
    stack: FaceStack, spec: BoardSpec, meant: MultiPolygon, floor: float, around_mm: float
) -> tuple[float, float] | None:
    """Return how far a cut lies off what was meant, None where none is cut.

    The cut is what of each cell near it has gone down to the floor; the edges of many cells
    together are far finer than one of them.
    """
    near = grown(meant, around_mm)
    window = region_window(spec, near)
    top = surface(stack, window, -1)
    depth_mm = np.float32(stack.plane_mm - floor)
    cut = gone_within(top, shares(spec, near, window), np.float32(stack.plane_mm), depth_mm)
    if not cut.any():
        return None
    right, up = shift_of(cut, shares(spec, meant, window), ceil(SHIFT_REACH_MM / spec.cell_mm))
    return right * spec.cell_mm, up * spec.cell_mm


def meant_region(fit: Fit) -> MultiPolygon:
    """Return what the chosen bits shall cut of an inlay: all that they reach."""
    reached = [reach.reached for bit in fit.bits if (reach := fit.reach(bit)) is not None]
    return united(reached) if reached else fit.drawn.region


def _free_around_mm(face: DrawnFace, drawn: DrawnInlay) -> float:
    """Return how far around an inlay no other is, at most AROUND_MM."""
    gaps = [
        apart_mm(drawn.region, other.region)
        for other in face.inlays
        if other is not drawn and not other.region.is_empty
    ]
    return max(0.05, min([AROUND_MM, *(gap / 2.0 for gap in gaps)]))


def _differs(
    drawn: DrawnInlay, code: str, area_mm2: float, at: tuple[float, float] | None, what: str
) -> Finding:
    inlay = drawn.inlay
    return Finding.must_fix(
        code,
        message=f"{area_mm2:.2f} mm2 of {inlay.name} {what}, as the G-code files replay.",
        remedy="Do not run these files: bit, zero or file differ from what the job asks.",
        subjects=(Subject("inlay", inlay.name),),
        source=inlay.source,
        place=Place(inlay.face, *at) if at is not None else None,
        measure=Measure("area", area_mm2, AREA_MM2, "mm2"),
    )


RULES = (low_contrast, cut_against_artwork, cut_shifted)
