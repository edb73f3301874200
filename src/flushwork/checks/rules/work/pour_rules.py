"""Can each batch be measured, does a bright line stay bright, can loose parts match their fill?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Place, Severity, Subject
from flushwork.core.words import counted
from flushwork.job.records import LoosePart, Manner, Mix
from flushwork.process.bright_lines import BrightLine, bright_lines
from flushwork.process.stages import StageKind
from flushwork.resin.before_gel import sinking_mm
from flushwork.resin.composition import PIGMENT, REST, ratio_by_weight
from flushwork.resin.pours import Part, Pour
from flushwork.wood.dyeing import DyeRecipe, dye_recipes

PERCENT = 100.0
USED_SHARE = 0.1
"""A batch of which less than this goes into the work is not worth mixing (assumed, 0.05 to 0.2)."""
WASTE_FROM_G = 10.0
"""... once it weighs this much (assumed, 5 to 20 g)."""
FINE_ENOUGH = 0.2
"""A scale whose step is this share of an amount weighs it well enough (a fifth is within a quarter,
the most that is added may be off)."""
SEEN_APART: Final = 5.0
"""CIEDE2000 above which a dyed part no longer passes for its fill a hand's breadth away (assumed;
range 3 to 8; a dyed strip laid on the cured swatch replaces it)."""
LEAST_SANDING_MM: Final = 0.02
"""Less cannot be sanded on purpose (assumed; range 0.01 to 0.05; a step wedge replaces it)."""


def batch_below_tools(build: Build) -> Iterator[Finding]:
    """Yield findings where what is needed is less than the tools can measure.

    The card always carries a batch that can be measured; the finding tells what it leaves over,
    the warnings of a job in one.  Must fix where no tool on the shelf can measure the mix at
    all, or hardly anything of what has to be mixed goes into the work.
    """
    small: list[Pour] = []
    for pour in build.pours:
        if pour.smallest_g == float("inf"):
            yield Finding.must_fix(
                "batch-cannot-be-measured",
                message=f"No measuring tool in the shop file can hold {pour.mix.name} to its "
                f"ratio within {PERCENT * pour.mix.resin.tolerance:g} %.",
                remedy="Add a scale of 0.1 g or 0.01 g, or syringes, to the shop file.",
                subjects=(Subject("mix", pour.mix.name),),
                source=pour.mix.source,
            )
        elif pour.out_of:
            continue
        elif _needed_g(pour) < pour.smallest_g and not _takes_a_share(pour):
            seal = build.plan.stage(pour.stage).kind is StageKind.SEAL
            if _mostly_waste(pour) and not seal:
                yield _small(pour, Severity.MUST_FIX, "")
            else:
                small.append(pour)
    if small:
        worst = max(small, key=lambda pour: pour.surplus_g)
        also = ", ".join(dict.fromkeys(pour.mix.name for pour in small if pour is not worst))
        more = (
            f" It is the same for {counted(len(small) - 1, 'more pour')} ({also})." if also else ""
        )
        yield _small(worst, Severity.WARNING, more)


def _takes_a_share(pour: Pour) -> bool:
    """Whether it is taken out of a clear batch whose rest another pour is told of."""
    return bool(pour.shares_clear_with) and all(part.kind != REST for part in pour.parts)


def _needed_g(pour: Pour) -> float:
    return pour.batch_g - pour.surplus_g


def _small(pour: Pour, severity: Severity, more: str) -> Finding:
    return Finding(
        code="batch-below-tools",
        severity=severity,
        message=f"Stage {pour.stage} needs {_needed_g(pour):.1f} g of {pour.mix.name}, but the "
        f"shop's tools cannot measure less than {pour.smallest_g:.1f} g to within "
        f"{PERCENT * pour.mix.resin.tolerance:g} %. The card mixes {pour.batch_g:.1f} g "
        f"and {pour.surplus_g:.1f} g is left over.{more}",
        remedy="Keep the surplus for test strips, swatches and spare parts, pour more pieces "
        "at once, or weigh on a finer scale.",
        subjects=(Subject("mix", pour.mix.name),),
        source=pour.mix.source,
        measure=Measure("needed", _needed_g(pour), pour.smallest_g, "g"),
    )


def _mostly_waste(pour: Pour) -> bool:
    """Whether hardly anything of a batch worth the name goes into the work."""
    used_g = pour.batch_g * pour.needed_cm3 / pour.batch_cm3
    return pour.batch_g >= WASTE_FROM_G and used_g < USED_SHARE * pour.batch_g


def ratio_off(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for mixes whose stated ratio is not their resin's."""
    for mix in build.job.mixes:
        resin = mix.resin
        stated = ratio_by_weight(
            mix.ratio_resin,
            mix.ratio_hardener,
            by_weight=mix.by_weight,
            density_resin_g_cm3=resin.density_resin_g_cm3,
            density_hardener_g_cm3=resin.density_hardener_g_cm3,
        )
        right = ratio_by_weight(
            resin.ratio_resin,
            resin.ratio_hardener,
            by_weight=resin.by_weight,
            density_resin_g_cm3=resin.density_resin_g_cm3,
            density_hardener_g_cm3=resin.density_hardener_g_cm3,
        )
        over = stated / right - 1.0
        if abs(over) <= resin.tolerance:
            continue
        yield Finding.must_fix(
            "ratio-off",
            message=f"{mix.name} is to be mixed {mix.ratio_resin:g}:{mix.ratio_hardener:g} by "
            f"{'weight' if mix.by_weight else 'volume'}: that is {PERCENT * abs(over):.1f} % too "
            f"{'much' if over > 0 else 'little'} hardener for {resin.name} "
            f"({resin.ratio_resin:g}:{resin.ratio_hardener:g} by "
            f"{'weight' if resin.by_weight else 'volume'}, within "
            f"{PERCENT * resin.tolerance:g} %).",
            remedy=f"By weight take {PERCENT / (1 + right):.1f} % resin and "
            f"{PERCENT * right / (1 + right):.1f} % hardener; leave `ratio` out to have the "
            "resin's own.",
            subjects=(Subject("mix", mix.name),),
            source=mix.source,
            measure=Measure("hardener", PERCENT * over, PERCENT * resin.tolerance, "%"),
        )


def part_cannot_be_measured(build: Build) -> Iterator[Finding]:
    """Yield a warning for what goes into a mix that no tool in the shop measures."""
    found: dict[tuple[str, str], tuple[Pour, Part, int]] = {}
    for pour in build.pours:
        if pour.smallest_g == float("inf"):
            continue
        for part in pour.parts:
            if part.tool is None and part.kind != REST:
                key = (pour.mix.name, part.name)
                first, what, count = found.get(key, (pour, part, 0))
                found[key] = (first, what, count + 1)
    for pour, part, count in found.values():
        also = f" (and {count - 1} more pours of it)" if count > 1 else ""
        pigment = part.kind == PIGMENT
        yield Finding.warning(
            "part-cannot-be-measured",
            message=f"Pour {pour.number} of {pour.mix.name}{also} takes {part.mass_g:.2g} g of "
            f"{part.name}, and no {'scale or spoon' if pigment else 'vessel or scale'} in the shop "
            "file measures that: its card leaves it to the eye.",
            remedy=f"Add a scale with a step of at most {part.mass_g * FINE_ENOUGH:.1g} g, or a "
            f"{'spoon' if pigment else 'syringe'} of that size, to the shop file; mix more pieces "
            "at once; or match the cured swatch by eye, stirring in a little at a time.",
            subjects=(Subject("mix", pour.mix.name),),
            source=pour.mix.source,
            measure=Measure(part.name, part.mass_g, 0.0, "g"),
        )


def bright_line_dull(build: Build) -> Iterator[Finding]:
    """Yield a warning for lines whose flakes the sanding reaches, with what would keep them bright.

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
    return Finding.warning(
        "bright-line-dull",
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
            "Write `how: scraped flush and capped`, and cut it "
            f"{ways}, measured from the finished face."
        )
    other = line.instead
    depth_mm = 0.0 if other is None else other.depth_mm - line.sanding.mean_mm
    if other is None or depth_mm <= 0.0:
        return (
            "It cannot be cut deep enough here: move it off what lies behind it, or draw it wider."
        )
    told: list[str] = []
    if other.variation_mm >= LEAST_SANDING_MM / 2.0:
        told.append(f"sand it evenly to +-{other.variation_mm:.2f} mm (one variation)")
    if other.mean_mm >= LEAST_SANDING_MM:
        told.append(f"sand no more than {other.mean_mm:.2f} mm after it is filled")
    if other.share >= 0.1:
        told.append(f"want no more than {PERCENT * other.share:.0f} % of its width")
    if not told:
        told.append("fill it in the last round of its face, which is sanded least")
    return (
        f"Nothing deeper than {depth_mm:.1f} mm may be cut here (resin, flutes, wood beneath), and "
        "no depth and thinner within that are enough. Write `how: scraped flush and capped`, cut "
        f"it {_way(depth_mm, other.thinner_share)}, measured from the finished face, and "
        + ", or ".join(told)
        + "."
    )


def _way(depth_mm: float, thinner_share: float) -> str:
    thinner = f" with {PERCENT * thinner_share:.0f} % thinner" if thinner_share else ""
    return f"{depth_mm:.2f} mm deep{thinner}"


def dye_cannot_match(build: Build) -> Iterator[Finding]:
    """Yield a warning for loose parts that stay apart from their fill whatever they are dyed."""
    for part, mix, recipe in dye_recipes(build.job, build.palette):
        if recipe.apart > SEEN_APART:
            yield _unmatched(part, mix, recipe)


def _unmatched(part: LoosePart, mix: Mix, recipe: DyeRecipe) -> Finding:
    bands = ", ".join(recipe.lighter_in)
    if recipe.lighter_in:
        why = (
            f" {mix.name} reflects more light than bare {part.wood.name} ({bands}), and "
            "no wood can be dyed lighter than itself."
        )
        remedy = (
            "Make them of a paler wood, match a darker mix, or leave them bare and let them "
            "differ on purpose."
        )
    else:
        why = " The dyes on the shelf do not reach it."
        remedy = "Put a dye nearer to that colour on the shelf, or match another mix."
    return Finding.warning(
        "dye-cannot-match",
        message=f"{part.name}: {part.wood.name} dyed to match {mix.name} stays "
        f"{recipe.apart:.1f} apart from it (CIEDE2000).{why}",
        remedy=remedy,
        subjects=(Subject("name", part.name),),
        source=part.source,
        measure=Measure("colour difference", recipe.apart, SEEN_APART, ""),
    )


RULES = (batch_below_tools, part_cannot_be_measured, ratio_off, bright_line_dull, dye_cannot_match)
