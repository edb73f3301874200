"""Page 2: what to buy and lay out before the first day.

Quantities of paper, cups and gloves are common practice, no source; all others are those of the
job's own plan.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from flushwork.book.setup_cards import bit_words
from flushwork.checks.expected_board import finished_thickness_mm
from flushwork.core.units.kinds import INCH_MM
from flushwork.core.words import plural
from flushwork.job.records import Job, LoosePart
from flushwork.process.coats import Coats, coats_of
from flushwork.process.stages import StageKind
from flushwork.process.tape import tape_plan
from flushwork.process.waste import goes_through
from flushwork.resin.composition import HARDENER, PIGMENT, RESIN, THINNER
from flushwork.resin.pours import Part, Pour
from flushwork.schedule.bit_changes import bit_lives, change_text, piece_names
from flushwork.views.book_records import BuyGroup
from flushwork.views.context import ViewContext
from flushwork.views.figures import (
    NO_BREAK,
    Lengths,
    clean,
    counted,
    coverage,
    duration,
    filled_up,
    grams,
    joined,
    numbers_text,
    percent,
    raised,
    short,
    volume,
)
from flushwork.views.setup_details import dowels_of_choice
from flushwork.views.stage_cards import CARDS
from flushwork.wood.dyeing import dyed_splines
from flushwork.wood.loose_stock import made_count, sticks_of, turned_mm
from flushwork.wood.rough_stock import board_feet, rough_parts, to_buy_mm3

BELOW_FACE_MM: Final = 1.0
"""A dowel ends so much below the finished face at least (common practice, no source)."""

SPARE_MM: Final = 1.6
"""A spare is laid out for a bit no wider than this (common practice, no source)."""

LONG: Final = {"counter": "thick", "man": "high"}

Rows = tuple[tuple[str, str, str], ...]


def buy_groups(
    context: ViewContext, lengths: Lengths, others: Sequence[ViewContext] = ()
) -> tuple[BuyGroup, ...]:
    """Return what is used in the run, group by group; ``others`` are further parts of the job."""
    parts, pours = (context, *others), context.build.all_pours
    groups = (
        BuyGroup("Wood", tuple(row for each in parts for row in _wood(each, lengths))),
        BuyGroup("Bits", _bits(parts, lengths)),
        BuyGroup("To hold the blank", _holding(parts, lengths)),
        BuyGroup("Resin", (*_poured(pours, (RESIN, HARDENER, THINNER)),)),
        BuyGroup("Pigments", _poured(pours, (PIGMENT,))),
        BuyGroup("Sealer and finish", _coats(parts)),
        BuyGroup("At the bench", _bench(parts)),
    )
    return tuple(group for group in groups if group.rows)


def lay_out_lines(context: ViewContext, lengths: Lengths) -> tuple[str, ...]:
    """Return what is to be settled before the first day."""
    lives = bit_lives(context.build.job, context.build.faces)
    names = piece_names(context.build.job)
    holding = context.build.job.holding
    lines = [
        "X0 Y0 is the cross on the card's picture, Z0 the top of the wood. Stand clear when a file "
        "starts: the bit rises, then goes straight to its first place."
    ]
    lines += [
        f"{fact.value[:1].upper()}{fact.value[1:]}." for fact in dowels_of_choice(context, lengths)
    ]
    lines += [clean(f"{change_text(life, names)}.") for life in lives]
    repeat = f"\N{PLUS-MINUS SIGN}{lengths.say(holding.repeat_mm)}"
    source = f" ({clean(holding.source)})" if holding.source else ""
    lines.append(f"On scrap, off and back, it must lie within {repeat}{source}.")
    nuts = dict.fromkeys(file.order.machine.holder_mm for file in context.build.gcode_files)
    lines += [
        f"Collet nut wider than {_no_wider(each, lengths)}? Into the shop file." for each in nuts
    ]
    lines += _cups(context.build.all_pours)
    return tuple(lines)


def _no_wider(width_mm: float, lengths: Lengths) -> str:
    """Return a greatest width as a rule or calliper shows it, never more than it is."""
    step_mm = 0.5 if lengths.units == "metric" else 0.01 * INCH_MM
    return lengths.say(math.floor(width_mm / step_mm + 1e-6) * step_mm, 1)


def _holding(parts: Sequence[ViewContext], lengths: Lengths) -> Rows:
    """Return what holds each part's blanks down, and what puts them back in their place."""
    rows: dict[tuple[str, str, str], None] = {}
    for context in parts:
        job = context.build.job
        holding = job.holding
        strips = [tape_plan(job, context.build.faces, each) for each in context.build.plan.setups]
        taped_mm = sum(each.rows * job.blank.length_mm for each in strips if each is not None)
        metres = math.ceil(taped_mm * (job.pieces + job.test_pieces) / 1000.0)
        amount = f"{metres}{NO_BREAK}m of {lengths.say(holding.tape_mm, 0)}" if metres else ""
        rows[clean(holding.how), amount, ""] = None
        rows[clean(holding.locates_by), "", ""] = None
    return tuple(rows)


def _dowels(context: ViewContext, lengths: Lengths) -> Rows:
    """Return the dowels or discs let in by G-code files, short enough to end below the face."""
    job = context.build.job
    locating = job.locating
    if locating is None:
        return ()
    into_mm = finished_thickness_mm(context.build)
    if not goes_through(locating):
        into_mm = min(into_mm, locating.blank_mm)
    step_mm = 1.0 if lengths.units == "metric" else INCH_MM / 16.0
    long_mm = math.floor((locating.board_mm + into_mm - BELOW_FACE_MM) / step_mm) * step_mm
    told = f"at most {lengths.say(long_mm, 0)} long"
    return ((str(locating.by), f"2, {lengths.say(locating.diameter_mm)}", told),)


def _wood(context: ViewContext, lengths: Lengths) -> Rows:
    job, blank = context.build.job, context.build.job.blank
    size = lengths.size(blank.length_mm, blank.width_mm, blank.thickness_mm)
    grain = "grain along the length" if blank.grain_along_x else "grain along the width"
    rows = [
        (
            clean(blank.wood.name) + (f", {clean(job.part)}" if job.part else ""),
            f"{counted(job.pieces + job.test_pieces, 'blank')}",
            f"{size}, {grain}{', sawn with the box' if job.sawn_for_box else ''}",
        ),
        *_rough(job, lengths),
    ]
    rows += [_loose(part, job, lengths) for part in (*job.loose_parts, *dyed_splines(job))]
    return (*rows, *_dowels(context, lengths))


def _rough(job: Job, lengths: Lengths) -> Rows:
    """Return the rough boards to buy, where the job says how its blanks are made of them."""
    told = ("rough stock", "blank.glue up")
    if not any(key.startswith(told) for key in job.given):
        return ()
    parts = [
        f"{part.count} of {lengths.size(part.along_mm, part.across_mm, part.thick_mm)}"
        for part in rough_parts(job)
    ]
    volume_mm3 = to_buy_mm3(job)
    amount = (
        f"{short(volume_mm3 / 1e6, 1)}{NO_BREAK}dm\N{SUPERSCRIPT THREE}"
        if lengths.units == "metric"
        else f"{short(board_feet(volume_mm3), 1)} board feet"
    )
    rest = f"; rests {duration(job.rough.rest_s)}" if job.rough.rest_s > 0.0 else ""
    return (
        (
            "rough boards for them",
            amount,
            f"{percent(job.rough.waste)} waste counted; saw {joined(parts)}{rest}",
        ),
    )


def _loose(part: LoosePart, job: Job, lengths: Lengths) -> tuple[str, str, str]:
    """Return a kind of loose part: how many, what they are made of, how they are cut."""
    number = str(made_count(part, job.pieces))
    if part.spares:
        number += f" ({part.spares * job.pieces} spare)"
    dyed = "bare" if part.match is None else f"dyed to {clean(part.match.name)}"
    told = [clean(part.wood.name), dyed]
    if part.side:
        told.append(f"for {clean(part.side)}")
    across, sticks = turned_mm(part, job), sticks_of(part, job)
    if across is not None:
        thin = "across" if part.tip_mm is None else f"to {lengths.say(part.tip_mm)}"
        told.append(f"{lengths.say(across)} {thin}")
    if part.long_mm is not None:
        told.append(f"{lengths.say(part.long_mm)} {LONG.get(part.shape, 'long')}")
    if sticks is not None:
        size = lengths.size(sticks.side_mm, sticks.side_mm, math.ceil(sticks.length_mm))
        told.append(f"from {counted(sticks.count, 'stick')} {size}")
    return (clean(part.name), number, ", ".join(told))


def _bits(parts: Sequence[ViewContext], lengths: Lengths) -> Rows:
    files = (file for each in parts for file in each.build.gcode_files)
    used = {file.order.bit.name: file.order.bit for file in files}
    return tuple(
        (
            bit_words(bit, lengths),
            "1 and a spare" if bit.diameter_mm < SPARE_MM else "1",
            "",
        )
        for bit in used.values()
    )


def _poured(pours: Iterable[Pour], kinds: tuple[str, ...]) -> Rows:
    """Return how much is mixed in all, by weight and by volume; a common batch counts once."""
    sums: dict[str, list[float]] = {}
    used: dict[str, set[int]] = {}
    for pour in pours:
        for part in _measured(pour):
            if part.kind in kinds:
                total = sums.setdefault(part.name, [0.0, 0.0])
                total[0] += part.mass_g
                total[1] += part.volume_cm3
                used.setdefault(part.name, set()).add(pour.number)
    return tuple(
        (
            clean(name),
            f"{grams(mass)}, {volume(cm3)}" if PIGMENT not in kinds else grams(mass, 0.01),
            ""
            if PIGMENT in kinds
            else f"{plural(len(used[name]), 'pour')} {joined(numbers_text(used[name]))}",
        )
        for name, (mass, cm3) in sums.items()
    )


def _cups(pours: Sequence[Pour]) -> tuple[str, ...]:
    """Return how much of each resin may be in one cup on a warm day, the least of its pours."""
    least: dict[str, float] = {}
    for pour in pours:
        name = pour.mix.resin.name
        if not pour.out_of and math.isfinite(pour.cup_limit_g):
            least[name] = min(pour.cup_limit_g, least.get(name, math.inf))
    return tuple(
        clean(f"{name}: at most {grams(limit)} in one cup.") for name, limit in least.items()
    )


def _measured(pour: Pour) -> tuple[Part, ...]:
    first = all(pour.number < other for other in pour.shares_clear_with)
    return pour.parts + (pour.clear_parts if first else ())


def _coats(parts: Sequence[ViewContext]) -> Rows:
    coats: dict[str, list[Coats]] = {}
    for each in parts:
        made = each.build
        for coat in coats_of(made.job, made.faces, made.plan, made.replay.poured):
            coats.setdefault(coat.name, []).append(coat)
    return tuple(
        (
            clean(name),
            filled_up(sum(each.volume_cm3 for each in same)),
            f"{counted(same[0].coats, 'coat')}, {coverage(same[0].covers_m2_l)}",
        )
        for name, same in coats.items()
    )


def _bench(parts: Sequence[ViewContext]) -> Rows:
    context = parts[0]
    stages = [stage for each in parts for stage in each.build.plan.stages]
    kinds = {stage.kind for stage in stages}
    rounds = sum(stage.kind is StageKind.SAND for stage in stages)
    mixed = [pour for pour in context.build.all_pours if not pour.out_of]
    cups = sum(pour.cups for pour in mixed)
    tools = dict.fromkeys(
        clean(part.tool.name)
        for pour in mixed
        for part in (*pour.clear_parts, *pour.parts)
        if part.tool is not None
    )
    tools |= dict.fromkeys(
        clean(part.spoon.name) for pour in mixed for part in pour.parts if part.spoon is not None
    )
    seals = sum(stage.kind is StageKind.SEAL for stage in stages)
    rows: list[tuple[str, str, str]] = []
    if rounds:
        rows.append(("paper 120, 180, 240", f"{rounds} of each", ""))
    if context.build.job.finish is not None:
        rows.append(("paper 320", "1", ""))
    if mixed:
        rows += [
            ("mixing cups", str(cups), f"no heavier than {grams(context.build.job.shop.cup_g)}"),
            ("stirrers", str(len(mixed)), ""),
            ("to measure with", raised(joined([*tools])) or "none", ""),
        ]
    if mixed or seals:
        rows.append(("nitrile gloves", f"{len(mixed) + seals} pairs", ""))
    tools_by_hand = dict.fromkeys(
        tool
        for kind, card in CARDS.items()
        if kind in kinds
        for tool in card.lay_out.split(", ")
        if tool
    )
    if tools_by_hand:
        rows.append(("to work with", ", ".join(tools_by_hand), ""))
    if kinds:
        rows.append(("respirator, glasses, ear muffs", "", ""))
    return tuple(rows)
