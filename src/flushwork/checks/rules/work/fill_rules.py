"""Does each fill go in soundly, and is enough of it left to be seen?"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from shapely import MultiPolygon

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.art.regions import many, united
from flushwork.built import Build
from flushwork.checks.expected_board import finished_mm, sunk_in
from flushwork.checks.odds.heights import grooves_of
from flushwork.colour.kubelka_munk import NEVER_HIDES_MM
from flushwork.core.findings import Finding, Measure, Place, Severity, Subject
from flushwork.core.units import down_mm
from flushwork.core.units.kinds import HOUR_S
from flushwork.job.records import Manner, thing_at, told_at
from flushwork.process.stages import StageKind
from flushwork.resin.cure import cure_ends
from flushwork.resin.thinned import slowest_of_each
from flushwork.runtime.memo import memoized
from flushwork.strata.measure import area_where, thickness_map
from flushwork.strata.planes import region_window, shares
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import FaceStack, Heights
from flushwork.strata.tiles import part_of

SEEN_MM = 0.02
"""A film thinner than this is not seen (assumed, 0.01 to 0.05 mm)."""
EDGE_MM = 0.15
"""The rim of an inlay left out of its thickness, where walls blur in the cells."""
THIN_SHARE = 0.05
"""A fill may fall short over this share of its area before it is told."""
SEEN_SHARE = 0.7
"""Less of the artwork seen than this share of what is drawn is told (assumed, 0.5 to 0.9)."""
GONE_SHARE = 0.05
"""Less than this is an inlay that has been sanded away."""
MORE_SHARE, MORE_MM = 0.5, 0.1
"""Sanding goes too deep by half of itself, and by this much at least, once in twenty pieces
(assumed, 0.3 to 0.8 and 0.05 to 0.15 mm; a sanding wedge)."""
CAP_MM = 0.05
"""Least clear left over flakes: one light sanding (assumed, 0.03 to 0.1; a sanding wedge)."""
PROUD_MM = 0.5
"""More resin than this above the wood is not sanded by hand (common practice, no source)."""


def pour_too_deep(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for fills deeper than their resin may be poured at once."""
    mixes = {mix.name: mix for mix in build.job.mixes}
    for poured in build.replay.poured:
        resin = mixes[poured.mix].resin
        if poured.greatest_mm <= resin.layer_mm:
            continue
        lifts = math.ceil(poured.greatest_mm / resin.layer_mm)
        over_mm = poured.greatest_mm - resin.layer_mm
        depth_mm = next(
            (inlay.depth_mm for inlay in build.job.inlays if inlay.name == poured.subject), 0.0
        )
        less = (
            f"Cut it at most {down_mm(depth_mm - over_mm)} mm deep (opaque colour needs less), take"
            if depth_mm > over_mm
            else "Take"
        )
        yield Finding.must_fix(
            "pour-too-deep",
            message=f"{poured.subject} is poured {poured.greatest_mm:.1f} mm deep at once, but "
            f"{resin.name} may go in only {resin.layer_mm:g} mm at a time: it heats itself, "
            "shrinks and cracks.",
            remedy=f"{less} a casting resin, or write `in layers: yes`: {lifts} layers, each "
            "poured within the recoat window of the one before.",
            subjects=(inlay := Subject("inlay", poured.subject),),
            source=build.source_of(inlay),
            measure=Measure("pour depth", poured.greatest_mm, resin.layer_mm, "mm"),
        )


def fill_left(build: Build) -> Iterator[Finding]:
    """Yield findings for inlays that sanding thins, uncovers or takes away."""
    for face in build.faces:
        for drawn in face.inlays:
            yield from _what_is_left(build, face, drawn)


def _what_is_left(build: Build, face: DrawnFace, drawn: DrawnInlay) -> Iterator[Finding]:
    inlay = drawn.inlay
    own = _own_area(face, drawn)
    if own.is_empty or not build.fit(inlay.name).bits:
        return
    hides_mm = build.palette.mixes[inlay.mix.name].hides_mm
    spec = build.replay.spec
    stack = part_of(build.replay.final.face(face.name), region_window(spec, own))
    left = _left(stack, spec, inlay.mix.name, own, hides_mm)
    if left is None:
        return
    seen, thin, thinnest_mm = left
    if seen < SEEN_SHARE and _through(build, face, drawn):
        return
    if seen < SEEN_SHARE:
        yield _sanded(build, drawn, seen)
        return
    if inlay.v_bit or hides_mm >= NEVER_HIDES_MM:
        return
    if thin > THIN_SHARE:
        yield Finding.warning(
            "fill-does-not-hide",
            message=f"{100 * thin:.0f} % of {inlay.name} ends thinner than the {hides_mm:.2f} mm "
            f"at which {inlay.mix.name} covers the wood; it is mostly {thinnest_mm:.2f} mm thick.",
            remedy="Cut it deeper, add pigment within its advised share, or put an opaque coat "
            "under it.",
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.depth_source,
            place=_place(drawn),
            measure=Measure("thickness", thinnest_mm, hides_mm, "mm"),
        )


def _through(build: Build, face: DrawnFace, drawn: DrawnInlay) -> bool:
    """Whether an inlay is sunk right through the finished board: nothing can fill it then."""
    floor_mm = next(
        item.floor_mm for item in sunk_in(build, face.name) if item.name == drawn.inlay.name
    )
    behind = finished_mm(build, "back" if face.name == "front" else "front")
    return build.job.blank.thickness_mm + floor_mm + behind <= 0.0


@memoized
def _left(
    stack: FaceStack, spec: BoardSpec, mix: str, own: MultiPolygon, hides_mm: float
) -> tuple[float, float, float] | None:
    """Return the share of a fill that is seen, the share that does not hide, and how thick it is.

    None where the area has no cells.
    """
    mapped = thickness_map(stack, spec, mix, own)
    inside = shares(spec, own, region_window(spec, own))
    whole = float(inside.sum(dtype=np.float64))
    if whole <= 0.0:
        return None
    there = mapped.values >= SEEN_MM
    seen = float(inside[there].sum(dtype=np.float64)) / whole
    thin = float(inside[mapped.values <= hides_mm].sum(dtype=np.float64)) / whole
    return seen, thin, _middle(mapped.values[mapped.values > SEEN_MM])


def _middle(values: Heights) -> float:
    return float(np.median(values)) if values.size else 0.0


def _sanded(build: Build, drawn: DrawnInlay, seen: float) -> Finding:
    """Return the finding for an inlay of which only a share is seen at the finished face."""
    inlay = drawn.inlay
    gone = seen < GONE_SHARE
    grooves = grooves_of(build, drawn) if inlay.v_bit else None
    return Finding(
        code="sanded-away" if gone else "thinned-by-sanding",
        severity=Severity.MUST_FIX if gone else Severity.WARNING,
        message=f"Only {100 * seen:.0f} % of {inlay.name} is left at the finished face; the "
        + (
            "rest is shallower than what flush milling and sanding take."
            if grooves is None
            else f"{grooves.bit.name} cuts strokes of {grooves.width_mm:.2f} mm "
            f"{grooves.depth_mm:.2f} mm deep, and {grooves.taken_mm:.2f} mm are sanded away."
        ),
        remedy="Cut it deeper, draw its strokes broader, use a narrower V angle, or sand less."
        if grooves is None
        else f"Write `measured from: finished face`; or for {grooves.width_mm:.2f} mm strokes left "
        f"after sanding draw them {grooves.to_draw_mm:.2f} mm broad, use a narrower V angle or a "
        "sharper tip, or engrave after the last sanding.",
        subjects=(Subject("inlay", inlay.name),),
        source=inlay.depth_source,
        place=_place(drawn),
        measure=Measure("share seen", 100 * seen, 100 * SEEN_SHARE, "%"),
    )


def engraving_shallow(build: Build) -> Iterator[Finding]:
    """Yield findings for engraving that a little more sanding would thin or take away.

    Where depths count from the finished face, V walls meet their outline there, so sanding as
    planned takes nothing of it.
    """
    allowances = build.job.allowances
    more_mm = max(MORE_MM, MORE_SHARE * allowances.sand_mm)
    for face in build.faces:
        for drawn in face.inlays:
            if not drawn.inlay.v_bit or not build.fit(drawn.inlay.name).bits:
                continue
            own = _own_area(face, drawn)
            stack = build.replay.final.face(face.name)
            mapped = thickness_map(stack, build.replay.spec, drawn.inlay.mix.name, own)
            area_mm2 = area_where(mapped, region=own)
            seen = area_where(mapped, at_least=SEEN_MM, region=own)
            if area_mm2 <= 0.0 or seen < SEEN_SHARE * area_mm2:
                continue  # what sanding as planned takes is told by its own rule
            left = area_where(mapped, at_least=more_mm, region=own) / area_mm2
            if left >= SEEN_SHARE:
                continue
            gone = left < GONE_SHARE
            yield Finding(
                code="engraving-shallow",
                severity=Severity.MUST_FIX if gone else Severity.WARNING,
                message=f"{more_mm:.2f} mm more sanding than planned leaves "
                f"{100 * left:.0f} % of {drawn.inlay.name}: its deepest is "
                f"{float(mapped.values.max()):.2f} mm below the finished face.",
                remedy="Take a narrower V angle or a sharper tip, draw the strokes broader, set "
                "the words larger, or engrave after the last sanding.",
                subjects=(drawn.subject,),
                source=drawn.inlay.source,
                place=_place(drawn),
                measure=Measure("share left", 100 * left, 100 * SEEN_SHARE, "%"),
            )


def _own_area(face: DrawnFace, drawn: DrawnInlay) -> MultiPolygon:
    """Return the part of an inlay that nothing later is cut into, its rim left out."""
    later = united([other.region for other in face.inlays if drawn.inlay.name in _under(other)])
    return _without(drawn.region, later, 0.0 if drawn.inlay.v_bit else EDGE_MM)


@memoized
def _without(region: MultiPolygon, later: MultiPolygon, overspill_mm: float) -> MultiPolygon:
    own = region.difference(later)
    return many(own.buffer(-overspill_mm) if overspill_mm > 0.0 else own)


def _under(other: DrawnInlay) -> tuple[str, ...]:
    seam = other.inlay.seam
    return other.inlay.second_pass_of + (seam.along if seam is not None else ())


def cap_left(build: Build) -> Iterator[Finding]:
    """Yield a warning where too little clear is left over flakes for sanding to stay off them."""
    for face in build.faces:
        for drawn in face.inlays:
            cap = drawn.inlay.cap
            if drawn.inlay.manner is not Manner.CAPPED or cap is None or drawn.region.is_empty:
                continue
            core = _own_area(face, drawn)
            stack = build.replay.final.face(face.name)
            mapped = thickness_map(stack, build.replay.spec, cap.name, core)
            area_mm2 = area_where(mapped, region=core)
            if area_mm2 <= 0.0:
                continue
            short = area_where(mapped, at_most=CAP_MM, region=core) / area_mm2
            if short <= THIN_SHARE:
                continue
            yield Finding.warning(
                "cap-too-thin",
                message=f"Over {100 * short:.0f} % of {drawn.inlay.name} less than {CAP_MM:g} mm "
                f"of {cap.name} is left: the next sanding reaches the flakes and the line goes "
                "dull.",
                remedy="Let the line sit deeper below the face: a little thinner in its mix, a "
                "deeper cut, or a light sanding of less.",
                subjects=(drawn.subject,),
                source=drawn.inlay.source,
                place=_place(drawn),
                measure=Measure("share too thin", 100 * short, 100 * THIN_SHARE, "%"),
            )


def much_to_sand(build: Build) -> Iterator[Finding]:
    """Yield a warning where a sanding is left more proud resin than a hand takes off."""
    for stage in build.plan.stages:
        if stage.kind is not StageKind.SAND:
            continue
        before = build.replay.after(stage.number - 1).face(stage.face)
        proud_mm = max(
            (tile.top_mm - before.plane_mm for tile in before.tiles.values()),
            default=0.0,
        )
        if proud_mm <= PROUD_MM:
            continue
        yield Finding.warning(
            "proud-resin-left",
            message=f"Stage {stage.number} ({stage.title}) finds resin standing {proud_mm:.2f} mm "
            "above the wood: more than sanding takes without dishing the wood around it.",
            remedy="Mill it flush first, or scrape it.",
            subjects=(Subject("stage", stage.title),),
            source=build.job.source,
            measure=Measure("proud", proud_mm, PROUD_MM, "mm"),
        )


def shop_too_cold(build: Build) -> Iterator[Finding]:
    """Yield findings for resins that the shop's air lets cure slowly or not at all."""
    air = build.job.shop.air
    poured = {item.mix for item in build.replay.poured}
    for resin in slowest_of_each(mix for mix in build.job.mixes if mix.name in poured):
        ends = cure_ends(resin.sandable_s, resin, air, air.day_until_h)
        if ends.cold_h_per_day <= 0.0:
            continue
        never = math.isinf(ends.later_s)
        yield Finding(
            code="shop-too-cold",
            severity=Severity.MUST_FIX if never else Severity.WARNING,
            message=f"The shop is below {resin.floor_c:g} degrees C, where {resin.name} may stall, "
            f"for {ends.cold_h_per_day:.0f} h of each day: it is hard enough to cut after "
            f"{ends.earlier_s / HOUR_S:.0f} h"
            + (
                ", or never if cold hours count for nothing."
                if never
                else f", or {ends.later_s / HOUR_S:.0f} h if cold hours count for nothing."
            ),
            remedy="Keep the pieces in a warm box with a thermostat and an independent cut-out, "
            "wash off any waxy blush with water before sanding, and test with a thumbnail.",
            subjects=(Subject("material", resin.name),),
            source=told_at(
                build.job,
                "air.night temperature",
                "air.day temperature",
                "air",
                otherwise=thing_at(build.job, resin.name),
            ),
            measure=Measure("night", air.night_c, resin.floor_c, "degC"),
        )


def _place(drawn: DrawnInlay) -> Place:
    spot = drawn.region.representative_point()
    return Place(drawn.inlay.face, spot.x, spot.y)


RULES = (pour_too_deep, fill_left, engraving_shallow, cap_left, much_to_sand, shop_too_cold)
