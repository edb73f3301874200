"""Do resin, thinner, pigment, sealer and finish go together?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon

from flushwork.built import Build
from flushwork.checks.rules.board.look_rules import mean_width_mm
from flushwork.core.findings import Finding, Measure, Severity, Subject
from flushwork.core.units import down_mm
from flushwork.job.records import Manner, Mix
from flushwork.resin.before_gel import fluid_time_to_gel_s, pot_life_s, viscosity_at_pa_s
from flushwork.resin.bleed import bleed_mm
from flushwork.resin.thinned import slower, stays_share, working_resin
from flushwork.shelf.items import Finish, Pigment, PigmentKind

FLAKE_SHARE: Final = 0.1
"""Flakes wider than this share of a line no longer lie flat in it (assumed, 0.05 to 0.15; a
slot-width ladder)."""
FINE_LINE_MM: Final = 1.0
"""Only lines this narrow are at risk."""
THIN_SLOT_MM: Final = 1.5
"""Casting resin in narrower slots does not warm itself (common practice, no source; assumed, 1 to 3
mm; a ladder of slots filled with it)."""
STEEP_SHARE: Final = 0.7
"""A wall whose direction has this share across the grain shows end grain (a half right angle)."""


def mobile(mix: Mix) -> tuple[str, ...]:
    """Return the names of a mix's colourants that travel into bare wood."""
    return tuple(each.pigment.name for each in mix.pigments if each.pigment.mobile)


def end_grain_mm(region: MultiPolygon, *, grain_along_x: bool) -> float:
    """Return the length of a region's walls that cut the grain across: those that drink most."""
    total = 0.0
    for ring in shapely.get_parts(region.boundary):
        run = np.diff(shapely.get_coordinates(ring), axis=0)
        length = np.hypot(run[:, 0], run[:, 1])
        across = np.abs(run[:, 1] if grain_along_x else run[:, 0])
        total += float(length[across >= STEEP_SHARE * length].sum())
    return total


def likely_bleed_mm(build: Build, mix: Mix) -> float:
    """Return how far a mix runs into a bare wall of the job's wood before it gels."""
    at_c, resin = build.job.shop.air.day_c, working_resin(mix)
    viscosity = viscosity_at_pa_s(resin.viscosity_pa_s, at_c, resin.at_c)
    fluid_s = fluid_time_to_gel_s(pot_life_s(resin, at_c, resin.pot_mass_g))
    return bleed_mm(build.job.blank.wood.pores, viscosity, fluid_s)


def bleed_risk(build: Build) -> Iterator[Finding]:
    """Yield a warning for colours that travel behind one thin film of sealer in open pores."""
    job = build.job
    if job.sealer is None or job.blank.wood.pores != "open":
        return
    for drawn in build.inlays:
        inlay = drawn.inlay
        travels = mobile(inlay.mix)
        if not travels or not inlay.sealed or drawn.region.is_empty:
            continue
        walls = end_grain_mm(drawn.region, grain_along_x=job.blank.grain_along_x)
        yield Finding.warning(
            "bleed-risk",
            message=f"{' and '.join(travels)} travels, and {inlay.name} has {walls:.0f} mm of "
            f"end-grain wall in {job.blank.wood.name}, whose pores one coat of "
            f"{job.sealer.name} may leave open: up to {likely_bleed_mm(build, inlay.mix):.1f} mm "
            "of halo.",
            remedy="Seal twice, or try a bleed strip of this wood first.",
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.source,
            measure=Measure("end-grain wall", walls, 0.0, "mm"),
        )


def pigment_share(build: Build) -> Iterator[Finding]:
    """Yield a warning for mixes that hold more of a pigment than is advised."""
    for mix in build.job.mixes:
        for each in mix.pigments:
            most = each.pigment.share_high
            if each.share <= most * 1.5:
                continue
            yield Finding.warning(
                "pigment-too-much",
                message=f"{mix.name} holds {100 * each.share:g} % {each.pigment.name}, and up to "
                f"{100 * most:g} % is advised: the fill cures soft, thick and full of bubbles.",
                remedy=f"Take at most {100 * most:g} %, or try a cured swatch first. A decimal "
                "point may have slipped.",
                subjects=(Subject("mix", mix.name),),
                source=mix.source,
                measure=Measure("share", 100 * each.share, 100 * most, "%"),
            )


def flakes_too_coarse(build: Build) -> Iterator[Finding]:
    """Yield a warning for fine lines filled with flakes too wide to lie flat in them."""
    for drawn in build.inlays:
        inlay = drawn.inlay
        width = inlay.seam.width_mm if inlay.seam is not None else mean_width_mm(drawn)
        if not 0.0 < width <= FINE_LINE_MM:
            continue
        flakes = [
            each.pigment for each in inlay.mix.pigments if each.pigment.kind is PigmentKind.FLAKE
        ]
        widest = max((pigment.flake_mm for pigment in flakes), default=0.0)
        if widest <= FLAKE_SHARE * width + 1e-9:
            continue
        yield Finding.warning(
            "flakes-too-coarse",
            message=f"Flakes of {widest:g} mm do not lie flat in {inlay.name}, {width:.2f} mm "
            "wide: the line glitters here and is dull there.",
            remedy=f"Take flakes of at most {down_mm(FLAKE_SHARE * width)} mm.",
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.source,
            measure=Measure("flake", widest, FLAKE_SHARE * width, "mm"),
        )


def cap_not_clear(build: Build) -> Iterator[Finding]:
    """Yield a must fix for coloured caps: they would cover what they shall protect."""
    for inlay in build.job.inlays:
        if inlay.cap is None or inlay.cap.clear:
            continue
        yield Finding.must_fix(
            "cap-not-clear",
            message=f"{inlay.name} is capped with {inlay.cap.name}, which is coloured and would "
            "cover it.",
            remedy="Name a mix without pigments as `cap`, or leave it out.",
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.source,
        )


def thinned_overfill(build: Build) -> Iterator[Finding]:
    """Yield a note for thinned resin used as a full fill, the deepest with each mix."""
    told: set[str] = set()
    for inlay in sorted(build.job.inlays, key=lambda inlay: -inlay.depth_mm):
        mix = inlay.mix
        if mix.thinner is None or inlay.manner is not Manner.OVERFILLED or mix.name in told:
            continue
        told.add(mix.name)
        stays = stays_share(mix, inlay.depth_mm) / mix.thinner_share
        longer = slower(mix.thinner_share) - 1.0
        yield Finding.note(
            "thinned-overfill",
            message=f"{inlay.name} is overfilled with {mix.name}, of which "
            f"{100 * mix.thinner_share:.0f} % is {mix.thinner.name}: the fill sinks as that "
            f"leaves, takes about {100 * longer:.0f} % longer to cure, and from {inlay.depth_mm:g} "
            f"mm deep about {100 * stays:.0f} % of the thinner never leaves, so that it stays "
            "softer (by guesses of how thinner slows the cure and moves in it).",
            remedy="Fill with unthinned resin, warmed; keep thinned resin for scraped lines and "
            "wash coats.",
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.source,
            measure=Measure("thinner", 100 * mix.thinner_share, 0.0, "%"),
        )


def fill_without_colour(build: Build) -> Iterator[Finding]:
    """Yield a finding for fills of a mix without pigment, through which the wood is seen.

    A warning where that mix caps another inlay and is likely to be meant for that alone.
    """
    caps = {inlay.cap.name: inlay.name for inlay in build.job.inlays if inlay.cap is not None}
    told: set[str] = set()
    for inlay in build.job.inlays:
        mix = inlay.mix
        if not mix.clear or mix.name in told or inlay.second_pass_of:
            continue
        told.add(mix.name)
        meant = caps.get(mix.name)
        yield Finding(
            code="fill-without-colour",
            severity=Severity.WARNING if meant else Severity.NOTE,
            message=f"{inlay.name} is filled with {mix.name}, which holds no pigment: the floor of "
            "the pocket is seen through it, as dark as wet wood, every tool mark with it"
            + (f". It is the mix that caps {meant}." if meant else "."),
            remedy="Name a coloured mix as `fill`, or keep it if a window onto the wood is meant.",
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.source,
        )


def casting_in_thin_slot(build: Build) -> Iterator[Finding]:
    """Yield a warning for casting resin in strokes too thin to warm themselves."""
    thin = [
        (drawn, width)
        for drawn in build.inlays
        if drawn.inlay.mix.resin.kind == "casting"
        and 0.0 < (width := mean_width_mm(drawn)) < THIN_SLOT_MM
    ]
    told: set[str] = set()
    for drawn, width in thin:
        resin = drawn.inlay.mix.resin.name
        if resin in told:
            continue
        told.add(resin)
        alike = sum(other.inlay.mix.resin.name == resin for other, _ in thin) - 1
        also = f" (and in {alike} more inlays)" if alike else ""
        yield Finding.warning(
            "casting-in-thin-slot",
            message=f"{resin} is poured into {drawn.inlay.name}, {width:.1f} mm wide{also}: a "
            "casting resin sets by its own warmth, and in a thin slot it may stay soft for days.",
            remedy="Take a coating resin for fine lines, or keep the piece in a warm box and test "
            "the slot itself, not the cup, with a thumbnail.",
            subjects=(drawn.subject,),
            source=drawn.inlay.source,
            measure=Measure("width", width, THIN_SLOT_MM, "mm"),
        )


BARRIERS: Final = {
    "water": "Lay a barrier of dewaxed shellac first, or seal the walls.",
    "spirit": "Seal the walls, or take a finish that is not thinned with spirit: shellac, thinned "
    "with it too, is no barrier.",
    "oil": "Seal the walls, or lay a barrier of dewaxed shellac first.",
}
"""What keeps a finish from the dye beneath, by what carries it (common practice, no source)."""


def carrier_of(finish: Finish) -> str:
    """Return what a finish is thinned with, as far as it says."""
    return finish.carried_by or ("oil" if finish.flammable else "water")


def runs_in(pigment: Pigment) -> tuple[str, ...]:
    """Return what moves a pigment that has run into bare wood; nothing where it does not run."""
    if not pigment.mobile:
        return ()
    return ("water", "spirit") if pigment.runs_in is None else pigment.runs_in


def finish_over_dye(build: Build) -> Iterator[Finding]:
    """Yield a warning for a finish over dyes that what it is carried by moves."""
    plan = build.job.finish
    if plan is None:
        return
    carrier = carrier_of(plan.finish)
    dyed = [
        mix
        for mix in build.job.mixes
        if any(carrier in runs_in(part.pigment) for part in mix.pigments)
    ]
    unsealed = [inlay for inlay in build.job.inlays if not inlay.sealed]
    if not dyed or not unsealed:
        return
    yield Finding.warning(
        "finish-over-dye",
        message=f"{plan.finish.name.capitalize()} over {dyed[0].name}: {carrier} moves dye that "
        "has run into unsealed wood, and the halo grows.",
        remedy=BARRIERS[carrier] + " Try it on the test strip.",
        subjects=(Subject("mix", dyed[0].name),),
        source=dyed[0].source,
    )


RULES = (
    bleed_risk,
    pigment_share,
    flakes_too_coarse,
    cap_not_clear,
    thinned_overfill,
    fill_without_colour,
    casting_in_thin_slot,
    finish_over_dye,
)
