"""The card of each pour: what it serves, how it is measured, what to watch."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from flushwork.core.findings import Subject
from flushwork.process.bright_lines import BrightLine
from flushwork.resin.composition import (
    HARDENER,
    REST,
    mix_density_g_cm3,
)
from flushwork.resin.cup.batches import KEPT_G
from flushwork.resin.cup.cards import ratio_of
from flushwork.resin.cup.heat import label_g
from flushwork.resin.pours import Part, Pour
from flushwork.shelf.items import ToolKind
from flushwork.views.book_records import Fact, MeasureStep, PourView, TableView
from flushwork.views.context import ViewContext, blank_words
from flushwork.views.figures import (
    NO_BREAK,
    PLUS_MINUS,
    TIMES,
    clean,
    counted,
    duration,
    grams,
    joined,
    mark_text,
    measured_amount,
    no_longer_than,
    number,
    numbers_text,
    percent,
    short,
    volume,
)
from flushwork.views.overshoot import overshoot_table, overshoot_words
from flushwork.views.stage_views import LEAST_TOUCH_UP_G, batch_words, ticks
from flushwork.views.warning_lines import accepted_lines, pour_warnings

SPARE_G: Final = 0.5
"""A rest smaller than this fills nothing (assumed, 0.3 to 1 g)."""


SPARE_FOR: Final = "swatch, test strip, spare parts."


_STIRRING: Final = (
    "The clock starts when resin meets hardener. Stir three minutes, scraping wall and floor, "
)
_STIRRED: Final = {
    1: "then a minute more. Keep it in this cup: a second one would keep too much of so little.",
    2: "pour over into a clean cup, stir again; do not scrape the first cup out.",
}


def pour_views(context: ViewContext, letters: Mapping[str, str]) -> tuple[PourView, ...]:
    """Return a card for every pour."""
    return tuple(pour_view(context, pour, letters) for pour in context.build.pours)


def pour_view(context: ViewContext, pour: Pour, letters: Mapping[str, str]) -> PourView:
    """Return the card of a pour."""
    mix = pour.mix
    things = {Subject("inlay", served.subject) for served in pour.serves}
    things.add(Subject("mix", mix.name))
    return PourView(
        number=pour.number,
        stage=pour.stage,
        letter=letters.get(mix.name, ""),
        mix=clean(mix.name),
        colour=context.colours.get(mix.name, mix.colour),
        heading=f"Pour {pour.number}: {clean(mix.name)}"
        + (f", {clean(pour.part)}" if pour.part else ""),
        serves=_serves(pour, context.build.parted_into),
        facts=_facts(context, pour),
        steps=tuple(map(_step, pour.parts)),
        notes=_notes(context, pour),
        ticks=ticks(context.build.job),
        warnings=(
            *accepted_lines(context.build.findings, things),
            *pour_warnings(context.build.job, context.build.plan, pour),
        ),
        clear_steps=tuple(map(_step, _clear(pour))),
        colouring=_colouring(pour),
        overshoot=overshoot_table(pour) if _measures(pour) else None,
    )


def _measures(pour: Pour) -> bool:
    """Whether resin and hardener are measured on this card: the first of those that share does."""
    if pour.out_of:
        return False
    return not pour.shares_clear_with or pour.number < min(pour.shares_clear_with)


def _clear(pour: Pour) -> tuple[Part, ...]:
    return pour.clear_parts if _measures(pour) else ()


def _colouring(pour: Pour) -> str:
    """Return what is done with a common clear batch once it is mixed.

    What stays in its cup is coloured last: the others take theirs clear.
    """
    if not _clear(pour):
        return ""
    if not any(part.kind == REST for part in pour.parts):
        return "Then this colour, out of it"
    others = joined(numbers_text(pour.shares_clear_with))
    word = "share" if len(pour.shares_clear_with) == 1 else "shares"
    pours = "pour" if len(pour.shares_clear_with) == 1 else "pours"
    return f"Take the {word} of {pours} {others} out clear first; then colour the rest"


def _serves(pour: Pour, parted: int) -> TableView:
    blank = "piece" if parted == 1 else "plank"
    rows = [
        (
            f"{clean(served.subject)}, {served.face}",
            number(served.pocket_cm3, 2),
            number(served.over_cm3, 2),
            number(served.pocket_cm3 + served.over_cm3, 2),
        )
        for served in pour.serves
    ]
    total = sum(served.pocket_cm3 + served.over_cm3 for served in pour.serves)
    rows.append((f"one {blank}", "", "", number(total, 2)))
    if parted > 1:
        rows.append((f"each of {parted}, on average", "", "", number(total / parted, 2)))
    head = ("serves", "in the pocket", "above it", f"cm\N{SUPERSCRIPT THREE} a {blank}")
    return TableView(head, tuple(rows), wide=(0,))


def _facts(context: ViewContext, pour: Pour) -> tuple[Fact, ...]:
    blanks = blank_words(pour.pieces, context.build.parted_into)
    if pour.out_of:
        takes = volume(pour.needed_cm3 + pour.allowance_cm3)
        return (
            Fact("Comes out of", f"the cup of pour {pour.out_of}: {takes} of it"),
            Fact("Needed", f"{volume(pour.needed_cm3)} for {blanks}"),
            Fact("Pot life", f"{no_longer_than(pour.pot_life_s)} from first contact in that cup"),
            Fact("Fill", duration(pour.working_s)),
        )
    return (
        Fact("Mix", f"{volume(pour.batch_cm3)}, {grams(pour.batch_g)}"),
        Fact("Needed", f"{volume(pour.needed_cm3)} for {blanks}"),
        Fact("Cup and walls", volume(_lost_cm3(pour)) + _through(pour)),
        Fact("Kept back", f"{grams(KEPT_G)} for the nail test and to top up (assumed)"),
        *_also_fills(pour),
        Fact("Left over", grams(max(pour.surplus_g, 0.0))),
        _pot_life(context, pour),
        Fact("Mix and fill", duration(pour.working_s) + _together(pour)),
        Fact("In one cup", _in_one_cup(context, pour)),
        Fact("Ratio", _ratio(pour)),
        Fact("Smallest batch", _smallest(pour)),
    )


def _pot_life(context: ViewContext, pour: Pour) -> Fact:
    """Return the pot life in the shop's warm hours, and the label's beside it."""
    resin, day_c = pour.mix.resin, context.build.job.shop.air.day_c
    degrees = f"{NO_BREAK}\N{DEGREE SIGN}C"
    batch = "" if pour.clock_of == pour.number else f" in the batch of pour {pour.clock_of}"
    mass = f" for {grams(resin.pot_mass_g, 1.0)}" if resin.pot_mass_g > 0.0 else ""
    return Fact(
        "Pot life",
        f"{no_longer_than(pour.pot_life_s or resin.pot_life_s)} from first contact{batch} at the "
        f"shop's {short(day_c, 0)}{degrees}; by its label {no_longer_than(resin.pot_life_s)} at "
        f"{short(resin.at_c, 0)}{degrees}{mass}",
    )


def _together(pour: Pour) -> str:
    if not pour.shares_clear_with:
        return ""
    numbers = sorted((pour.number, *pour.shares_clear_with))
    return f" for pours {joined([str(number) for number in numbers])} together"


def _lost_cm3(pour: Pour) -> float:
    return pour.allowance_cm3 - KEPT_G / mix_density_g_cm3(pour.mix)


def _through(pour: Pour) -> str:
    return f" ({counted(pour.cups, 'cup')})" if pour.clock_of == pour.number else ""


def _also_fills(pour: Pour) -> tuple[Fact, ...]:
    if not pour.also_fills:
        return ()
    others = joined([str(number) for number in pour.also_fills])
    word = "pour" if len(pour.also_fills) == 1 else "pours"
    return (Fact(f"For {word} {others}", volume(pour.also_cm3)),)


def _in_one_cup(context: ViewContext, pour: Pour) -> str:
    resin, day_c = pour.mix.resin, context.build.job.shop.air.day_c
    if math.isinf(pour.cup_limit_g):
        return "no more than its label says"
    degrees = f"{NO_BREAK}\N{DEGREE SIGN}C"
    text = f"at most {grams(_floored(pour.cup_limit_g))}"
    if day_c <= resin.at_c:
        return f"{text}, by its label"
    return (
        f"{text} at {short(day_c, 0)}{degrees}; by its label {grams(label_g(resin), 1.0)} "
        f"at {short(resin.at_c, 0)}{degrees}"
    )


def _floored(mass_g: float) -> float:
    return math.floor(10.0 * mass_g + 1e-6) / 10.0


def _ratio(pour: Pour) -> str:
    bears = f"{PLUS_MINUS}{percent(pour.mix.resin.tolerance)} allowed"
    if not math.isfinite(pour.ratio_error):
        return f"cannot be held with these tools; {bears}"
    return f"{PLUS_MINUS}{percent(pour.ratio_error)} at worst, {bears}"


def _smallest(pour: Pour) -> str:
    if not math.isfinite(pour.smallest_g):
        return "none with these tools"
    return f"{grams(pour.smallest_g)} with these tools"


def _step(part: Part) -> MeasureStep:
    tool = part.tool
    read = _is_read(part)
    return MeasureStep(
        what=clean(part.name if part.kind in part.name else f"{part.name} ({part.kind})"),
        tool=clean(tool.name) if tool is not None else "",
        add=_add(part),
        reads=mark_text((part.fills or (part.target,))[-1], tool) if tool and read else "",
        stop_between=f"{mark_text(part.low, tool, unit=False, half=True)} and "
        f"{mark_text(part.high, tool, half=True)}"
        if tool and read
        else "",
        also=", ".join(_also(part)),
    )


def _by_label(pour: Pour) -> str:
    """Return the label's ratio by volume beside what is weighed of it, else nothing."""
    resin = pour.mix.resin
    weighed = any(_weighed(part) for part in (*_clear(pour), *pour.parts) if part.kind == HARDENER)
    if resin.by_weight or not weighed or not _measures(pour):
        return ""
    parts = f"{short(resin.ratio_resin, 2)} to {short(resin.ratio_hardener, 2)} by volume"
    share = short(100.0 * ratio_of(pour.mix).hardener_per_resin, 0)
    return f"The label's {parts} is 100 to {share} by weight, as weighed here."


def _is_read(part: Part) -> bool:
    """Whether its tool shows a reading: a spoon is struck level and shows none."""
    return part.tool is not None and part.tool.kind is not ToolKind.SPOON


def _add(part: Part) -> str:
    if part.tool is not None and part.tool.kind is ToolKind.SPOON:
        return f"{short(part.spoons, 1)}{NO_BREAK}{TIMES} level"
    return measured_amount(part)


def _weighed(part: Part) -> bool:
    return part.tool is not None and part.tool.kind is ToolKind.SCALE


def _also(part: Part) -> list[str]:
    """Return the same amount by other tools: a powder by the spoon, a liquid by volume."""
    if part.kind == REST:
        return ["what stays in the clear cup, coloured there"]
    if part.tool is None:
        return ["no tool in the shop file measures it: see the check"]
    texts = []
    if part.spoons > 0.0 and part.tool is not part.spoon:
        spoon = clean(part.spoon.name) if part.spoon is not None else "spoon"
        texts.append(f"{short(part.spoons, 1)}{NO_BREAK}{TIMES} {spoon}, level")
    if part.tool.kind is not ToolKind.SCALE:
        texts.append(grams(part.mass_g, 0.01))
    elif part.spoons <= 0.0:
        texts.append(volume(part.volume_cm3))
    return texts


def _notes(context: ViewContext, pour: Pour) -> tuple[str, ...]:
    """Return what the card of a pour by itself has to say, how it is mixed included."""
    if pour.out_of:
        return own_notes(context, pour)
    lines = [] if pour.clock_of != pour.number else [_STIRRING + _STIRRED[pour.cups]]
    day_c = context.build.job.shop.air.day_c
    if abs(day_c - pour.mix.resin.at_c) >= 3.0:
        lines.append(
            f"Warmer than {short(day_c, 0)}{NO_BREAK}\N{DEGREE SIGN}C the cup sets sooner than the "
            "pot life above."
        )
    if any(_weighed(part) for part in (*_clear(pour), *pour.parts)):
        lines.append(
            "Set the scale to zero before each part, with the cup and what is in it on it; it "
            f"bears them in a cup of up to {grams(context.build.job.shop.cup_g)}. What another "
            "scale weighs is weighed in a dry cup of its own first."
        )
    return (*lines, *own_notes(context, pour))


def own_notes(context: ViewContext, pour: Pour) -> tuple[str, ...]:
    """Return what is told of one pour and not of all."""
    if pour.out_of:
        return (
            f"Nothing is mixed for it: keep pour {pour.out_of}'s cup at hand, its clock runs on.",
        )
    lines = [told] if (told := _by_label(pour)) else []
    if pour.clock_of != pour.number:
        lines.append(
            f"Its clock began with pour {pour.clock_of} and runs on: stir "
            "the colour in well, wall and floor, and pour without a pause."
        )
    if pour.also_fills:
        others = joined([str(number) for number in pour.also_fills])
        word = "pour" if len(pour.also_fills) == 1 else "pours"
        named = joined([clean(name) for name in context.build.also_of(pour)])
        why = f" of {named}." if named else ", which alone could not be measured."
        lines.append(f"This cup also fills {word} {others}{why}")
    if pour.shares_clear_with:
        others = joined([str(other) for other in pour.shares_clear_with])
        word = "pour" if len(pour.shares_clear_with) == 1 else "pours"
        where = "" if _measures(pour) else " (its card)"
        stays = any(part.kind == REST for part in pour.parts)
        split = "" if stays else " This share goes into a cup of its own."
        lines.append(f"Mixed clear with {word} {others}{where}, then split.{split}")
    if _measures(pour) and overshoot_table(pour) is None and math.isfinite(pour.ratio_error):
        lines.append(overshoot_words(pour))
    if pour.surplus_g >= SPARE_G:
        lines.append(f"{grams(pour.surplus_g)} is left over: {SPARE_FOR}")
    own = [line for line in context.lines if line.inlay.mix.name == pour.mix.name]
    lines += [_touch_up(context, line) for line in own if line.touch_up_g >= LEAST_TOUCH_UP_G]
    return tuple(lines)


def _touch_up(context: ViewContext, line: BrightLine) -> str:
    job = context.build.job
    missing = 1.0 - line.odds
    length_mm = missing * line.length_mm * (job.pieces + job.test_pieces)
    return (
        f"Of {clean(line.inlay.name)} {percent(missing)} is expected to come out too dull, about "
        f"{short(length_mm, 0)}{NO_BREAK}mm and {grams(line.touch_up_g, 0.01)} over all pieces, "
        f"once it is cut out again. {batch_words(line, job.shop)}"
    )
