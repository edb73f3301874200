"""Is there enough on the shelf, and does it come out right on most pieces, not only as drawn?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import accumulate
from math import ceil
from typing import Final

from flushwork.built import Build
from flushwork.checks.odds.heights import fills, floors_left, left_to_sand
from flushwork.checks.odds.odds import told_of
from flushwork.checks.odds.sideways import beside_holes, beside_trim, edges_of_first_passes, walls
from flushwork.checks.odds.variation import Critical, CriticalQuantity
from flushwork.checks.rules.board.sliver_rules import ALONG_MM
from flushwork.checks.rules.machine.feed_rules import cutting_h, life_h
from flushwork.core.findings import BLANK, Finding, Measure, Place, Subject
from flushwork.core.words import plural
from flushwork.process.coats import coats_of
from flushwork.resin.composition import HARDENER, PIGMENT, RESIN, THINNER
from flushwork.resin.pours import Part, Pour
from flushwork.shelf.working import CM3, GRAMS, OnHand, StockKind

LEAST_G: Final = 0.005
"""What no scale in a small shop shows (common practice, no source) is not missed."""

_KINDS: Final = {
    RESIN: StockKind.RESIN,
    HARDENER: StockKind.HARDENER,
    PIGMENT: StockKind.PIGMENT,
    THINNER: StockKind.THINNER,
}
Thing = tuple[StockKind, str]
_MEASURES: Final = {StockKind.BIT: "bits", StockKind.WOOD: "blanks"}
LEAST_ODDS: Final = 0.98
"""Fewer good pieces than this at one quantity is told (assumed, 0.95 to 0.995)."""


@dataclass(frozen=True, slots=True)
class Need:
    """What a run takes of one thing: a number, or a weight and a volume pour by pour.

    ``worn`` is how much of a bit's life it takes: 0.03 wears 3 % of one.
    """

    kind: StockKind
    name: str
    number: int = 0
    pours: tuple[tuple[int, float, float], ...] = ()
    worn: float = 0.0

    def and_of(self, other: Need) -> Need:
        """Return what a run takes of it for two parts of a job."""
        worn = self.worn + other.worn
        number = max(1, ceil(worn)) if worn else self.number + other.number
        return replace(self, number=number, pours=(*self.pours, *other.pours), worn=worn)

    def amount(self, unit: str) -> float:
        """Return the whole of it in g, cm3 or pieces."""
        if unit == GRAMS:
            return sum(mass_g for _, mass_g, _ in self.pours)
        if unit == CM3:
            return sum(volume_cm3 for _, _, volume_cm3 in self.pours)
        return float(self.number)

    def short_at(self, on_hand: OnHand) -> int:
        """Return the number of the first pour for which too little is left; 0 for none."""
        place = 1 if on_hand.unit == GRAMS else 2
        taken = accumulate(float(each[place]) for each in self.pours)
        return next(
            (
                each[0]
                for each, so_far in zip(self.pours, taken, strict=True)
                if so_far > on_hand.amount + LEAST_G
            ),
            0,
        )


def needs(build: Build) -> dict[Thing, Need]:
    """Return what a run takes of the things whose amount follows from its pours, cuts, coats.

    Of a bit it takes as many as are dull in turn.  All parts of a job are made out of one stock.
    """
    found: dict[Thing, Need] = {}
    for part in build.each:
        for thing, need in _needs(part).items():
            known = found.get(thing)
            found[thing] = need if known is None else known.and_of(need)
    return found


def _needs(build: Build) -> dict[Thing, Need]:
    job = build.job
    found: dict[Thing, Need] = {}
    poured: dict[Thing, list[tuple[int, float, float]]] = {}
    for pour in build.pours:
        for part in _own_parts(pour):
            kind = _KINDS.get(part.kind)
            if kind is None:
                continue
            of_resin = kind in (StockKind.RESIN, StockKind.HARDENER)
            name = pour.mix.resin.name if of_resin else part.name
            poured.setdefault((kind, name), []).append((pour.number, part.mass_g, part.volume_cm3))
    for (kind, name), taken in poured.items():
        found[kind, name] = Need(kind, name, pours=tuple(taken))
    for each in coats_of(job, build.faces, build.plan, build.replay.poured):
        brushed = ((0, each.mass_g, each.volume_cm3),)
        found[each.kind, each.name] = Need(each.kind, each.name, pours=brushed)
    for bit, hours in cutting_h(job, build.gcode_files).values():
        worn = hours / life_h(job, bit)
        found[StockKind.BIT, bit.name] = Need(
            StockKind.BIT, bit.name, max(1, ceil(worn)), worn=worn
        )
    wood = job.blank.wood.name
    found[StockKind.WOOD, wood] = Need(StockKind.WOOD, wood, number=job.pieces + job.test_pieces)
    return found


def _own_parts(pour: Pour) -> tuple[Part, ...]:
    """Return what is measured for a pour; a common clear batch counts with the first of its."""
    first = all(pour.number < other for other in pour.shares_clear_with)
    return pour.parts + (pour.clear_parts if first else ())


def not_enough_on_hand(build: Build) -> Iterator[Finding]:
    """Yield a warning for each thing of which the run takes more than the shop file tells of."""
    if not build.job.shop.on_hand or not build.first:
        return
    wanted = needs(build)
    for each in build.job.shop.on_hand:
        need = wanted.get((each.kind, each.name))
        if need is None:
            continue
        takes = need.amount(each.unit)
        if takes <= each.amount + (LEAST_G if each.unit else 0.0):
            continue
        at = need.short_at(each)
        what = named(each)
        of = "" if each.kind is StockKind.WOOD else "of "
        yield Finding.warning(
            "not-enough-on-hand",
            message=f"The run takes {told(takes, each.unit, up=True)} {of}{what}, and "
            f"{told(each.amount, each.unit)} {plural(each.amount, 'is', 'are')} on hand"
            + (f": pour {at} is the first that comes short." if at else "."),
            remedy=f"Get {told(takes - each.amount, each.unit, up=True)} more {of}{what} before "
            "the first cut, make fewer pieces, or weigh again and write what is left into the "
            "shop file.",
            subjects=(_subject(each),),
            source=each.source,
            measure=Measure(_MEASURES.get(each.kind, "needed"), takes, each.amount, each.unit),
        )


def _subject(on_hand: OnHand) -> Subject:
    if on_hand.kind is StockKind.WOOD:
        return BLANK
    return Subject("bit" if on_hand.kind is StockKind.BIT else "material", on_hand.name)


def named(on_hand: OnHand) -> str:
    """Return what is meant in words: a hardener is told from its resin."""
    if on_hand.kind is StockKind.HARDENER:
        return f"the hardener of {on_hand.name}"
    if on_hand.kind is StockKind.RESIN:
        return f"{on_hand.name} (without hardener)"
    if on_hand.kind is StockKind.BIT:
        return f"the {on_hand.name}"
    return f"{on_hand.name} blanks" if on_hand.kind is StockKind.WOOD else on_hand.name


def told(amount: float, unit: str, *, up: bool = False) -> str:
    """Return an amount with its unit; ``up`` rounds what is missing to the safe side."""
    if not unit:
        return f"{amount:.0f}"
    places = 1 if amount >= 1.0 else 2
    scale = 10.0**places
    shown = ceil(amount * scale - 1e-9) / scale if up else amount
    text = f"{shown:.{places}f}".removesuffix(".0")
    return f"{text} {'ml' if unit == CM3 else unit}"


def poor_odds(build: Build) -> Iterator[Finding]:
    """Yield one warning for each kind of quantity that fails too often, with what to tighten."""
    kinds: dict[str, list[Finding]] = {}
    for quantity in _untold(build):
        odds = told_of(quantity)
        if odds.odds >= LEAST_ODDS:
            continue
        kinds.setdefault(quantity.name, []).append(
            Finding.warning(
                "odds-poor",
                message=f"{quantity.name.capitalize()} of {quantity.subject} is "
                f"{odds.nominal:.2f} mm "
                f"and {quantity.limit:.2f} mm is needed: it holds on {100 * odds.odds:.0f} pieces "
                f"in 100, and most of what varies is {odds.dominant} ({100 * odds.share:.0f} %).",
                remedy=f"{odds.tighten.capitalize()}: halved, {100 * odds.halved:.1f} in 100 hold.",
                subjects=quantity.subjects,
                source=build.source_of(quantity.subjects[0]),
                place=Place(quantity.face, *odds.at_mm),
                measure=Measure("odds", 100 * odds.odds, 100 * LEAST_ODDS, "%"),
            )
        )
    for found in kinds.values():
        yield min(found, key=lambda item: item.measure.value if item.measure else 0.0)


def _untold(build: Build) -> Iterator[CriticalQuantity]:
    """Yield what no other rule looks at: what fails by its very size is told by its own."""
    for quantity in (
        *fills(build),
        *floors_left(build),
        *left_to_sand(build),
        *edges_of_first_passes(build),
        *walls(build),
        *beside_holes(build),
        *beside_trim(build),
    ):
        nominal = float(quantity.nominal.min())
        sliver = quantity.name == Critical.WOOD_BETWEEN and nominal < ALONG_MM
        if nominal > quantity.limit and not sliver:
            yield quantity


RULES = (not_enough_on_hand, poor_odds)
