"""Does a bright line stay bright, and can loose parts be dyed to match their fill?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.findings import Finding, Measure, Place, Severity, Subject
from flushwork.job.records import LoosePart, Manner
from flushwork.plan.bright_lines import BrightLine, bright_lines
from flushwork.resin.settling import sinking_mm
from flushwork.wood.dyeing import DyeRecipe, dye_recipes

PERCENT = 100.0

SEEN_APART: Final = 5.0
"""CIEDE2000 above which a dyed part no longer passes for its fill a hand's breadth away (assumed;
range 3 to 8; a dyed strip laid on the cured swatch replaces it)."""


LEAST_SANDING_MM: Final = 0.02
"""Less cannot be sanded on purpose (assumed; range 0.01 to 0.05; a step wedge replaces it)."""


def bright_line_dull(build: Build) -> Iterator[Finding]:
    """Yield a caution for lines whose flakes the sanding reaches, with what would keep them bright.

    A seam line without a cap is told of already, as ``bright-line-uncapped``.
    """
    for line in bright_lines(build.job, build.faces, build.plan.planes):
        uncapped = line.inlay.seam is not None and line.inlay.manner is not Manner.CAPPED
        if line.odds < build.job.bright_odds and not uncapped:
            yield _dull(build, line)


def _dull(build: Build, line: BrightLine) -> Finding:
    job, inlay = build.job, line.inlay
    spot = line.drawn.region.representative_point()
    sanded = f"{line.sanding.mean_mm:.2f} mm of sanding"
    if line.recess_mm <= 0.0:
        why = f"it cures {-line.recess_mm:.2f} mm proud of its edges and {sanded} cuts every flake"
    else:
        why = (
            f"it sinks by {line.centre_mm:.2f} mm in its middle and {sanded} leaves "
            f"{PERCENT * line.bright:.0f} % of its width bright"
        )
    sunk_mm = min(sinking_mm(inlay.mix, job.shop.air.day_c), line.depth_mm)
    if sunk_mm >= LEAST_SANDING_MM:
        why += (
            f" (its flakes may first sink {sunk_mm:.2f} mm out of the way: a guess that is not "
            "counted on)"
        )
    return Finding(
        code="bright-line-dull",
        severity=Severity.CAUTION,
        message=f"{inlay.name} is {line.width_mm:.2f} mm wide and {inlay.manner.value}: {why}. "
        f"{PERCENT * job.bright_share:.0f} % is wanted and comes out at {PERCENT * line.odds:.0f} "
        "places of 100.",
        remedy=_remedy(line),
        subjects=(Subject("inlay", inlay.name),),
        source=inlay.source,
        place=Place(inlay.face, spot.x, spot.y),
        measure=Measure("odds", PERCENT * line.odds, PERCENT * job.bright_odds, "%"),
    )


def _remedy(line: BrightLine) -> str:
    if line.proposals:
        ways = " or ".join(
            _way(way.depth_mm - line.sanding.mean_mm, way.thinner_share)
            for way in line.proposals[:2]
        )
        return (
            f"Write `how: scraped and capped`, and cut it {ways}, measured from the finished face."
        )
    other = line.instead
    depth_mm = 0.0 if other is None else other.depth_mm - line.sanding.mean_mm
    if other is None or depth_mm <= 0.0:
        return (
            "It cannot be cut deep enough here: move it off what lies behind it, or draw it wider."
        )
    told: list[str] = []
    if other.spread_mm >= LEAST_SANDING_MM / 2.0:
        told.append(f"sand it evenly to +-{other.spread_mm:.2f} mm (one spread)")
    if other.mean_mm >= LEAST_SANDING_MM:
        told.append(f"sand no more than {other.mean_mm:.2f} mm after it is filled")
    if other.share >= 0.1:
        told.append(f"want no more than {PERCENT * other.share:.0f} % of its width")
    if not told:
        told.append("fill it in the last round of its face, which is sanded least")
    return (
        f"Nothing deeper than {depth_mm:.1f} mm may be cut here (resin, flutes, wood beneath), and "
        "no depth and thinner within that are enough. Write `how: scraped and capped`, cut it "
        f"{_way(depth_mm, other.thinner_share)}, measured from the finished face, and "
        + ", or ".join(told)
        + "."
    )


def _way(depth_mm: float, thinner_share: float) -> str:
    thinner = f" with {PERCENT * thinner_share:.0f} % thinner" if thinner_share else ""
    return f"{depth_mm:.2f} mm deep{thinner}"


def dye_cannot_match(build: Build) -> Iterator[Finding]:
    """Yield a caution for loose parts that stay apart from their fill whatever they are dyed."""
    for part, recipe in dye_recipes(build.job, build.palette):
        if recipe.apart > SEEN_APART:
            yield _unmatched(part, recipe)


def _unmatched(part: LoosePart, recipe: DyeRecipe) -> Finding:
    bands = ", ".join(recipe.lighter_in)
    if recipe.lighter_in:
        why = (
            f" {part.match.name} reflects more light than bare {part.timber.name} ({bands}), and "
            "no wood can be dyed lighter than itself."
        )
        remedy = (
            "Make them of a paler timber, match a darker mix, or leave them bare and let them "
            "differ on purpose."
        )
    else:
        why = " The dyes on the shelf do not reach it."
        remedy = "Put a dye nearer to that colour on the shelf, or match another mix."
    return Finding(
        code="dye-cannot-match",
        severity=Severity.CAUTION,
        message=f"{part.name}: {part.timber.name} dyed to match {part.match.name} stays "
        f"{recipe.apart:.1f} apart from it (CIEDE2000).{why}",
        remedy=remedy,
        subjects=(Subject("name", part.name),),
        source=part.source,
        measure=Measure("colour difference", recipe.apart, SEEN_APART, ""),
    )


RULES = (bright_line_dull, dye_cannot_match)
