"""Will the loose parts fit their holes, be enough for the game, and be told apart?"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from flushwork.art.layouts.draw_layout import lay
from flushwork.art.layouts.laid import nearest_mm
from flushwork.built import Build
from flushwork.colour.spaces import Triple, apart, parse_hex
from flushwork.core.findings import Finding, Measure, Severity, Subject
from flushwork.core.words import counted
from flushwork.job.keys.games import men_of
from flushwork.job.records import Holes, LoosePart
from flushwork.wood.dyeing import dye_recipes
from flushwork.wood.loose_stock import (
    LOOSE_MM,
    TIGHT_MM,
    coats_mm,
    finished_hole_mm,
    holes_of,
    tapered_in_mm,
    turned_mm,
)

STANDS_SHARE = 1.0
"""A tapered peg stands once it goes this many of its diameters deep (assumed, 0.7 to 2; a peg in a
finished test strip)."""


def part_fit(build: Build) -> Iterator[Finding]:
    """Yield findings for loose parts that will not stand in their finished holes."""
    for part in build.job.loose_parts:
        holes, across = holes_of(part, build.job), turned_mm(part, build.job)
        if holes is None or across is None:
            continue
        thick = across + coats_mm(part, build.job)
        if part.tip_mm is None:
            yield from _straight(build, part, holes, thick)
        else:
            thin = part.tip_mm + coats_mm(part, build.job)
            yield from _tapered(build, part, holes, thick, thin)
        if part.long_mm is not None and part.long_mm <= holes.depth_mm and not holes.through:
            yield _finding(
                part,
                "peg-sinks",
                f"{part.name} are {part.long_mm:g} mm long and {holes.name} {holes.depth_mm:g} mm "
                "deep: nothing is left to take hold of.",
                f"Make them longer than {holes.depth_mm:g} mm, or drill shallower.",
                Measure("length", part.long_mm, holes.depth_mm, "mm"),
            )


def _straight(build: Build, part: LoosePart, holes: Holes, thick: float) -> Iterator[Finding]:
    room = finished_hole_mm(holes, build.job.finish)
    play = room - thick
    if TIGHT_MM - 1e-9 <= play <= LOOSE_MM:
        return
    tight = play < TIGHT_MM
    yield _finding(
        part,
        "peg-tight" if tight else "peg-loose",
        f"{part.name}, {thick:.2f} mm across, have {play:+.2f} mm of play in the finished holes of "
        f"{holes.name}.",
        f"Turn them {room - TIGHT_MM - coats_mm(part, build.job):.2f} mm across"
        f"{' at most' if tight else ''}, or leave `across` out: it then follows from the holes.",
        Measure("play", play, TIGHT_MM if tight else LOOSE_MM, "mm"),
    )


def _tapered(
    build: Build, part: LoosePart, holes: Holes, thick: float, thin: float
) -> Iterator[Finding]:
    """Hold a tapered peg, that goes in as far as it is thinner than the hole."""
    room = finished_hole_mm(holes, build.job.finish)
    if thick < room - LOOSE_MM:
        yield _finding(
            part,
            "peg-loose",
            f"{part.name} are {thick:.2f} mm across at their thick end, and the finished holes of "
            f"{holes.name} {room:.2f} mm: they drop in and wobble.",
            f"Make them {room:.2f} mm across or more.",
            Measure("play", room - thick, LOOSE_MM, "mm"),
        )
    if thick <= room or part.long_mm is None:
        return
    deep = min(tapered_in_mm(part.long_mm, thick, thin, room), holes.depth_mm)
    need = min(STANDS_SHARE * room, holes.depth_mm)
    if deep < need:
        yield _finding(
            part,
            "peg-tight",
            f"{part.name} taper from {thick:.2f} mm to {thin:.2f} mm and go {max(0.0, deep):.1f} "
            f"mm deep into the finished holes of {holes.name}: too little to stand.",
            "Give them a thinner `tip` or a thinner thick end.",
            Measure("depth", max(0.0, deep), need, "mm"),
        )


def enough_parts(build: Build) -> Iterator[Finding]:
    """Yield a warning for a game that has fewer men than its rules ask for."""
    for layout in build.job.layouts:
        wanted = men_of(layout.by)
        parts = [each for each in build.job.loose_parts if each.plays_on == layout]
        if wanted is None or not parts:
            continue
        men, sides = wanted
        counts: dict[str, int] = {}
        for part in parts:
            side = part.side or (part.name if sides > 1 else "")
            counts[side] = counts.get(side, 0) + part.count
        for side, count in counts.items():
            if count < men:
                yield _finding(
                    next(each for each in parts if side in (each.side, each.name, "")),
                    "loose-parts-too-few",
                    f"{layout.name} asks for {men} loose parts"
                    f"{f' of {side}' if side else ''}, and there are {count}.",
                    f"Write a `count` of {men} in all, and spares beside.",
                    Measure("parts", float(count), float(men), ""),
                )
        if len(counts) < sides:
            yield _finding(
                parts[0],
                "loose-parts-too-few",
                f"{layout.name} is for {sides} sides at least, and there are loose parts for "
                f"{counted(len(counts), 'side')}.",
                "Add loose parts for the others.",
                Measure("sides", float(len(counts)), float(sides), ""),
            )


def parts_told_apart(build: Build) -> Iterator[Finding]:
    """Yield a warning for parts of two sides that have nearly one colour."""
    seen: dict[str, Triple] = {
        part.name: parse_hex(part.wood.colour) for part in build.job.loose_parts
    }
    seen |= {part.name: recipe.rgb for part, _, recipe in dye_recipes(build.job, build.palette)}
    for one, other in itertools.combinations(build.job.loose_parts, 2):
        if not (one.side and other.side and one.side != other.side):
            continue
        widths = [turned_mm(each, build.job) or 3.0 for each in (one, other)]
        found = apart(seen[one.name], seen[other.name], min(widths))
        if not found.seen:
            yield _finding(
                other,
                "loose-parts-alike",
                f"{one.name} of {one.side} and {other.name} of {other.side} differ by only "
                f"{found.lightness:.0f} in lightness and {found.difference:.0f} in colour.",
                "Dye one of them to another mix, or make it of another wood.",
                Measure("lightness difference", found.lightness, found.lightness_wanted, "L*"),
            )


def room_to_play(build: Build) -> Iterator[Finding]:
    """Yield a must fix for parts wider than the places they stand on lie apart."""
    for part in build.job.loose_parts:
        across = turned_mm(part, build.job)
        if part.plays_on is None or across is None:
            continue
        places = lay(part.plays_on.by).places
        near = nearest_mm(places) if len(places) > 1 else across
        thick = across + coats_mm(part, build.job)
        if thick > near:
            yield _finding(
                part,
                "loose-parts-crowd",
                f"{part.name} are {thick:.1f} mm across, and places of {part.plays_on.name} lie "
                f"{near:.1f} mm apart: two cannot stand beside each other.",
                f"Make them less than {near:.1f} mm across, or the layout larger.",
                Measure("across", thick, near, "mm"),
                Severity.MUST_FIX,
            )


def _finding(
    part: LoosePart,
    code: str,
    message: str,
    remedy: str,
    measure: Measure,
    severity: Severity = Severity.WARNING,
) -> Finding:
    return Finding(
        code=code,
        severity=severity,
        message=message,
        remedy=remedy,
        subjects=(Subject("name", part.name),),
        source=part.source,
        measure=measure,
    )


RULES = (part_fit, enough_parts, parts_told_apart, room_to_play)
