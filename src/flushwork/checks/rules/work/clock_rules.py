"""Is there time enough: before the cup sets, before the next cut, before the next pour?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from math import isinf
from typing import Final

from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Severity, Subject
from flushwork.core.tolerances import VISIBLE_MM
from flushwork.core.units.kinds import HOUR_S, MINUTE_S
from flushwork.job.records import Manner, told_at
from flushwork.resin.before_gel import MIXING_S, clear_top_mm, escape, sinking_mm
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cup.heat import label_g
from flushwork.resin.cure import at_temperature_s, cure_ends
from flushwork.resin.pours import Pour
from flushwork.resin.thinned import slowest_of_each, working_resin

CLEAR_MM: Final = 1.0
"""A clear top this thick is seen into (assumed, 0.5 to 3 mm; a cured column cut in half)."""
DEEP_MM: Final = 50.0
"""What sinks deeper than any pocket is on its floor."""


def pot_life_over(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for batches that set before they are poured.

    A warning where one was split.
    """
    by_stage = groupby(build.pours, key=lambda pour: (pour.stage, pour.mix.name))
    split: dict[tuple[int, str], None] = {}
    for _, group in by_stage:
        pours = list(group)
        worst = max(pours, key=lambda pour: pour.working_s / max(pour.pot_life_s, 1.0))
        if worst.working_s > worst.pot_life_s > 0.0:
            yield _over(worst)
        elif len(pours) > 1 and _in_one_s(pours) > worst.pot_life_s:
            split.setdefault((worst.stage, worst.mix.name))
    for key in split:
        # the run may be poured in groups: the stage's batches of all of them are told together
        yield _split([pour for pour in build.pours if (pour.stage, pour.mix.name) == key])


def _in_one_s(pours: list[Pour]) -> float:
    return MIXING_S + sum(pour.working_s - MIXING_S for pour in pours)


def _over(pour: Pour) -> Finding:
    return Finding.must_fix(
        "pot-life-over",
        message=f"Mixing and filling with {pour.mix.name} at stage {pour.stage} takes "
        f"{pour.working_s / MINUTE_S:.0f} min, but the cup sets after "
        f"{pour.pot_life_min} min.",
        remedy="Fill fewer pockets at once, take a slower resin, or work cooler.",
        subjects=(Subject("mix", pour.mix.name),),
        source=pour.mix.source,
        measure=Measure(
            "working time", pour.working_s / MINUTE_S, pour.pot_life_s / MINUTE_S, "min"
        ),
    )


def _split(pours: list[Pour]) -> Finding:
    first = pours[0]
    longest = max(pour.working_s for pour in pours)
    # with more batches than pieces each batch is a share of all of them
    if len({pour.first for pour in pours}) == 1:
        count = first.pieces
        boards = f"each a share for {'the one piece' if count == 1 else f'all {count} pieces'}"
    else:
        boards = f"for {' + '.join(str(pour.pieces) for pour in pours)} pieces"
    filling = (_in_one_s(pours) - MIXING_S) / MINUTE_S
    return Finding.warning(
        "pot-life-splits-run",
        message=f"Filling {first.mix.name} at stage {first.stage} takes {filling:.0f} min in all, "
        f"and a cup sets after {first.pot_life_min} min from first contact: "
        f"{len(pours)} batches, {boards}, each done in {longest / MINUTE_S:.1f} min.",
        remedy="Mix each batch only when the one before is poured; cooler resin buys time but lets "
        "bubbles out more slowly.",
        subjects=(Subject("mix", first.mix.name),),
        source=first.mix.source,
        measure=Measure("filling", filling, first.pot_life_s / MINUTE_S, "min"),
    )


def cup_runs_away(build: Build) -> Iterator[Finding]:
    """Yield a must fix for a batch of more than one cup may hold that no share makes less.

    A note where a run is mixed in more batches than its pot life asks for, so that none is.
    """
    hot = sorted(
        (pour for pour in build.pours if pour.batch_g > pour.cup_limit_g),
        key=lambda pour: -pour.batch_g,
    )
    for name in dict.fromkeys(pour.mix.name for pour in hot):
        yield _too_hot([pour for pour in hot if pour.mix.name == name], build.job.shop.air.day_c)
    if hot:
        return
    by_stage = groupby(build.pours, key=lambda pour: (pour.stage, pour.mix.name))
    for _, group in by_stage:
        pours = list(group)
        whole_g = sum(pour.batch_g for pour in pours)
        if len(pours) < 2 or whole_g <= pours[0].cup_limit_g:
            continue
        if _in_one_s(pours) > min(pour.pot_life_s for pour in pours):
            continue
        yield _kept_cool(pours, whole_g, build.job.shop.air.day_c)


def _cup_words(pour: Pour, day_c: float) -> str:
    resin = pour.mix.resin
    if day_c <= resin.at_c:
        return f"by its label {pour.cup_limit_g:.0f} g is the most in one cup"
    return (
        f"at {day_c:g} degrees C {pour.cup_limit_g:.1f} g is the most in one cup (by its label "
        f"{label_g(resin):.0f} g at {resin.at_c:g})"
    )


def _too_hot(hot: list[Pour], day_c: float) -> Finding:
    pour = hot[0]
    also = f" ({len(hot) - 1} more like it)" if len(hot) > 1 else ""
    return Finding.must_fix(
        "cup-runs-away",
        message=f"The least of {pour.mix.name} that can be mixed is {pour.batch_g:.0f} g{also}, "
        f"and {_cup_words(pour, day_c)}: more heats itself, smokes and sets before it is poured.",
        remedy="Measure smaller batches, on a finer scale or by finer syringes; work cooler; or "
        "take a slower resin. What the resin's own sheet says comes first: write it as `in one "
        "cup`. A cup that grows hot goes outdoors onto stone.",
        subjects=(Subject("mix", pour.mix.name),),
        source=pour.mix.source,
        measure=Measure("batch", pour.batch_g, pour.cup_limit_g, "g"),
    )


def _kept_cool(pours: list[Pour], whole_g: float, day_c: float) -> Finding:
    first = pours[0]
    return Finding.note(
        "cup-splits-run",
        message=f"Stage {first.stage} takes {whole_g:.0f} g of {first.mix.name}, and "
        f"{_cup_words(first, day_c)}: it is mixed in {len(pours)} batches, each in a cup of its "
        "own.",
        remedy="Mix each batch only when the one before is poured, and leave none standing; a "
        "cooler shop or a slower resin allows more in one cup.",
        subjects=(Subject("mix", first.mix.name),),
        source=first.mix.source,
        measure=Measure("batches together", whole_g, first.cup_limit_g, "g"),
    )


def cure_cut_short(build: Build) -> Iterator[Finding]:
    """Yield a must fix where the planned wait is shorter than a resin needs in this shop."""
    wait_s, air = build.job.cure_wait_s, build.job.shop.air
    if wait_s is None:
        return
    poured = {item.mix for item in build.replay.poured}
    for resin in slowest_of_each(mix for mix in build.job.mixes if mix.name in poured):
        ends = cure_ends(resin.sandable_s, resin, air, air.day_until_h)
        if wait_s >= ends.later_s:
            continue
        never = isinf(ends.later_s)
        later = (
            "never if hours in the cold count for nothing"
            if never
            else f"after {ends.later_s / HOUR_S:.0f} h if they count for nothing"
        )
        short = wait_s < ends.earlier_s
        yield Finding(
            code="cure-cut-short",
            severity=Severity.MUST_FIX if short else Severity.WARNING,
            message=f"You mean to cut {wait_s / HOUR_S:.0f} h after a pour, but {resin.name} "
            f"poured in the evening is hard after {ends.earlier_s / HOUR_S:.0f} h if hours below "
            f"{resin.floor_c:g} degrees C count, {later}.",
            remedy="Wait longer, or keep the pieces warm in a box with a thermostat and an "
            "independent cut-out (21 degrees C all day needs "
            f"{at_temperature_s(resin.sandable_s, 21.0, resin.at_c) / HOUR_S:.0f} h). Press a nail "
            "into what is left in the cup; wash off any waxy film with water before scuff-sanding.",
            subjects=(Subject("material", resin.name),),
            source=told_at(build.job, "cure wait"),
            measure=Measure(
                "wait",
                wait_s / HOUR_S,
                (ends.earlier_s if short else ends.later_s) / HOUR_S,
                "h",
            ),
        )


def bubbles_stay(build: Build) -> Iterator[Finding]:
    """Yield a warning where bubbles large enough to see do not rise out before the resin gels."""
    air = build.job.shop.air
    mixes = {mix.name: mix for mix in build.job.mixes}
    told: set[str] = set()
    for poured in sorted(build.replay.poured, key=lambda item: -item.greatest_mm):
        mix = mixes[poured.mix]
        if mix.bubbles != "left" or mix.name in told:
            continue
        density = 1000.0 * mix_density_g_cm3(mix)
        out = escape(working_resin(mix), poured.greatest_mm, air.day_c, density)
        if out.smallest_mm <= VISIBLE_MM:
            continue
        told.add(mix.name)
        yield Finding.warning(
            "bubbles-stay",
            message=f"In {poured.subject}, {poured.greatest_mm:.1f} mm deep, bubbles under "
            f"{out.smallest_mm:.2f} mm stay in {mix.name} when it gels, and the eye sees "
            f"{VISIBLE_MM:g} mm.",
            remedy=f"Warm the parts by 10 degrees ({out.warmer_mm:.2f} mm), pour half as deep "
            f"({out.shallower_mm:.2f} mm), or draw a vacuum on the cup ({out.vacuum_mm:.2f} mm); "
            "then write what you do under `bubbles`.",
            subjects=(inlay := Subject("inlay", poured.subject),),
            source=build.source_of(inlay),
            measure=Measure("bubble", out.smallest_mm, VISIBLE_MM, "mm"),
        )


def flakes_settle(build: Build) -> Iterator[Finding]:
    """Yield a note where pigment sinks so far that a deep fill is left clear on top."""
    job = build.job
    inlays = {inlay.name: inlay for inlay in job.inlays}
    mixes = {mix.name: mix for mix in job.mixes}
    found: list[tuple[float, float, str, str]] = []
    for poured in build.replay.poured:
        mix = mixes[poured.mix]
        sunk_mm = sinking_mm(mix, job.shop.air.day_c)
        overfilled = inlays[poured.subject].manner is Manner.OVERFILLED
        taken_mm = job.allowances.overfill_mm + job.allowances.sand_mm if overfilled else 0.0
        clear_mm = clear_top_mm(sunk_mm, poured.greatest_mm, taken_mm)
        if clear_mm > CLEAR_MM:
            found.append((clear_mm, sunk_mm, poured.subject, mix.name))
    if not found:
        return
    clear_mm, sunk_mm, subject, name = max(found)
    also = f" ({len(found) - 1} more like it)" if len(found) > 1 else ""
    inlay = Subject("inlay", subject)
    sunk = f"{sunk_mm:.1f} mm" if sunk_mm < DEEP_MM else "all the way"
    yield Finding.note(
        "flakes-settle",
        message=f"The pigment of {name} sinks {sunk} before it gels, by a guess of its size, and "
        f"leaves up to {clear_mm:.1f} mm of clear resin on top of {subject}{also}: the colour is "
        "all there, but lies that much deeper, and a second pass cut into it meets clear.",
        remedy="Pour it later, when it has thickened; do not thin it; cut it less deep; or take "
        "finer flakes. A cured column, cut in half, shows how far they really sink.",
        subjects=(inlay,),
        source=build.source_of(inlay),
        measure=Measure("clear top", clear_mm, CLEAR_MM, "mm"),
    )


RULES = (
    pot_life_over,
    cup_runs_away,
    cure_cut_short,
    bubbles_stay,
    flakes_settle,
)
