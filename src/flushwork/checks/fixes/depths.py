"""Fixes by depth: wood under and between pockets, what fills them, what sanding leaves."""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.checks.fixes.fix import Edit, Fix, Idea, Question, down, fix, path_to, short_mm, up
from flushwork.job.records import Inlay, Manner, MeasuredFrom
from flushwork.process.rounds import fill_levels_mm, planes_of
from flushwork.shelf.items import BitKind

LEAST_MM = 0.2
"""Nothing shallower than this is proposed."""
DEEPER_MM = (0.25, 0.5, 1.0, 2.0)


def _less_deep(asked: Question, inlay: Inlay, less_mm: float) -> Iterator[Fix]:
    depth_mm = inlay.depth_mm - less_mm
    if depth_mm >= LEAST_MM:
        yield fix(path_to(asked.job, inlay, "depth"), down(depth_mm))


def shallower(asked: Question) -> Iterator[Fix]:
    """Yield the inlay's depth, less what it misses its limit by."""
    if asked.inlay is not None:
        yield from _less_deep(asked, asked.inlay, short_mm(asked.finding))


def _within_a_pour(asked: Question, inlay: Inlay, less_mm: float) -> Iterator[Fix]:
    """Yield a depth that its resin may be poured at once, then the lesser change in layers.

    What cuts through is not filled, so that nothing has told yet how deep its pour would be.
    """
    planes = planes_of(asked.job.allowances, asked.faces)
    own = next(each for each in planes if each.face == inlay.face)
    poured_mm = fill_levels_mm(inlay, asked.job.allowances, own)[-1] - own.floor_mm(inlay)
    over_mm = poured_mm - inlay.mix.resin.layer_mm
    if inlay.in_layers or over_mm <= less_mm:
        return
    yield from _less_deep(asked, inlay, over_mm)
    if inlay.depth_mm - less_mm >= LEAST_MM:
        less = Edit(path_to(asked.job, inlay, "depth"), down(inlay.depth_mm - less_mm))
        yield Fix((less, Edit(path_to(asked.job, inlay, "in layers"), "yes")), 1)


def wood_between(asked: Question) -> Iterator[Fix]:
    """Yield each of the two a little shallower, both by half, a thicker blank."""
    short = short_mm(asked.finding)
    for inlay in asked.inlays:
        yield from _less_deep(asked, inlay, short)
        yield from _within_a_pour(asked, inlay, short)
    for holes in asked.holes:
        if not holes.through and holes.depth_mm - short >= LEAST_MM:
            yield fix(path_to(asked.job, holes, "depth"), down(holes.depth_mm - short))
    for pocket in asked.pockets:
        if pocket.depth_mm - short >= LEAST_MM:
            yield fix(path_to(asked.job, pocket, "depth"), down(pocket.depth_mm - short))
    if len(asked.inlays) > 1:
        both = [
            Edit(path_to(asked.job, inlay, "depth"), down(inlay.depth_mm - short / 2.0))
            for inlay in asked.inlays
            if inlay.depth_mm - short / 2.0 >= LEAST_MM
        ]
        if len(both) == len(asked.inlays):
            yield Fix(tuple(both))
    yield fix(("blank", "thickness"), up(asked.job.blank.thickness_mm + short), 3)


def second_pass(asked: Question) -> Iterator[Fix]:
    """Yield a shallower second pass, then a deeper first colour."""
    yield from shallower(asked)
    for inlay in asked.inlays[1:]:
        deeper = up(inlay.depth_mm + short_mm(asked.finding))
        yield fix(path_to(asked.job, inlay, "depth"), deeper, 1)


def in_layers(asked: Question) -> Iterator[Fix]:
    """Yield layers, less depth, a resin that may be poured deeper."""
    inlay = asked.inlay
    if inlay is None:
        return
    yield from shallower(asked)
    yield fix(path_to(asked.job, inlay, "in layers"), "yes", 1)
    wanted = asked.finding.measure.value if asked.finding.measure else inlay.depth_mm
    for resin in asked.job.shop.resins:
        if resin.layer_mm >= wanted:
            yield fix(("mixes", inlay.mix.name, "resin"), resin.name, 2)


def deeper(asked: Question) -> Iterator[Fix]:
    """Yield more depth, in steps, then more pigment within what is advised."""
    inlay = asked.inlay
    if inlay is None:
        return
    measure = asked.finding.measure
    short = [short_mm(asked.finding)] if measure is not None and measure.unit == "mm" else []
    for step in dict.fromkeys((*short, *DEEPER_MM)):
        if step > 0.0:
            yield fix(path_to(asked.job, inlay, "depth"), up(inlay.depth_mm + step))


def sanded(asked: Question) -> Iterator[Fix]:
    """Yield depths that count from the finished face, narrower V bits, less sanding, more depth."""
    inlay = asked.inlay
    if inlay is None:
        return
    if inlay.measured_from is not MeasuredFrom.FINISHED:
        yield fix(path_to(asked.job, inlay, "measured from"), MeasuredFrom.FINISHED.value)
    yield from sharper(asked)
    yield from deeper(asked)
    yield fix(("allowances", "sand"), down(asked.job.allowances.sand_mm / 2.0), 1)


def sharper(asked: Question) -> Iterator[Fix]:
    """Yield the V bits of the shop, the sharpest first."""
    inlay = asked.inlay
    if inlay is None or not inlay.v_bit:
        return
    v_bits = [item for item in asked.job.shop.bits if item.kind is BitKind.V_BIT]
    for bit in sorted(v_bits, key=lambda item: item.angle_rad):
        yield fix(path_to(asked.job, inlay, "bits"), f"[{bit.name}]")


def slipped_point(asked: Question) -> Iterator[Fix]:
    """Yield the depth with its decimal point one place on, then through holes."""
    for inlay in asked.inlays[:1]:
        yield fix(path_to(asked.job, inlay, "depth"), down(inlay.depth_mm / 10.0))
    for holes in asked.holes[:1]:
        yield fix(path_to(asked.job, holes, "depth"), down(holes.depth_mm / 10.0))
        yield fix(path_to(asked.job, holes, "depth"), "through", 1)


def much_left_proud(asked: Question) -> Iterator[Fix]:
    """Yield scraping, for every overfilled inlay at once, then less left proud."""
    overfilled = [inlay for inlay in asked.job.inlays if inlay.manner is Manner.OVERFILLED]
    if overfilled:
        yield Fix(
            tuple(
                Edit(path_to(asked.job, inlay, "how"), Manner.SCRAPED.value) for inlay in overfilled
            ),
            1,
        )
    yield fix(("allowances", "left proud"), down(asked.job.allowances.left_proud_mm / 2.0))


IDEAS: dict[str, Idea] = {
    "wood-between-too-thin": wood_between,
    "wood-between-gone": wood_between,
    "hole-meets-inlay": wood_between,
    "floor-through": wood_between,
    "second-pass-through": second_pass,
    "second-pass-floor-thin": second_pass,
    "pour-too-deep": in_layers,
    "fill-does-not-hide": deeper,
    "odds-poor": deeper,
    "thinned-by-sanding": sanded,
    "sanded-away": sanded,
    "engraving-shallow": sharper,
    "deeper-than-blank": slipped_point,
    "holder-touches": shallower,
    "flutes-too-short": shallower,
    "proud-resin-left": much_left_proud,
    "sanded-before-flush": much_left_proud,
    "flakes-settle": shallower,
}
