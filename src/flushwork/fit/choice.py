"""Which bits to use for an inlay, and why.

Which V-bit engraves an inlay.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import tan
from typing import Final

import shapely

from flushwork.art.drawn import Drawn
from flushwork.core.tolerances import DEPTH_MM, SLOT_WIDTH_MM, VISIBLE_MM
from flushwork.fit.bit_sets import BitSet, Choice
from flushwork.fit.discs import MedialAxis, axis_of, polygons, shrink
from flushwork.fit.feeds import propose
from flushwork.fit.pocket_time import CutTerms, rest_between, rest_s, whole_s
from flushwork.fit.reach import Fit, Reach, gap, reach
from flushwork.job.records import StrokeArt
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Bit, BitKind

SAME_MM2: Final = 0.02
"""Losing this much more is losing no more."""


def engraved_depth(bit: Bit, half_width_mm: float) -> float:
    """Return how deep a V-bit's tip goes where its flanks meet walls ``half_width_mm`` away.

    Width = tip + 2 depth tan(angle / 2), the cross-section of the bit.
    """
    return max(0.0, half_width_mm - bit.tip_mm / 2.0) / tan(bit.angle_rad / 2.0)


def engraved_half_width(bit: Bit, depth_mm: float) -> float:
    """Return half the width a V-bit cuts at the face with its tip ``depth_mm`` below it."""
    return bit.tip_mm / 2.0 + depth_mm * tan(bit.angle_rad / 2.0)


def fit_engraving(drawn: Drawn, bits: Sequence[Bit]) -> Fit:
    """Choose the V-bit for an engraved inlay from those the job names, or all owned.

    Among the bits whose tip loses least, the sharpest whose walls meet above the greatest
    depth: it needs no flat floor and stands deepest in its fill.  Where all would go too deep, the
    bluntest, which leaves the least floor to clear.  A bit must be long and wide enough in its
    flutes for the depth it goes to.
    """
    inlay = drawn.thing
    offered = inlay.bits or tuple(bits)
    v_bits = [bit for bit in offered if bit.kind is BitKind.V_BIT and bit.angle_rad > 0]
    if drawn.region.is_empty or not v_bits:
        words = "There is nothing to engrave." if v_bits else "There is no V-bit."
        return Fit(drawn, (), None, (), words)
    axis = axis_of(drawn.region)
    widest = float(axis.points[:, 2].max()) if len(axis.points) else 0.0
    reaches = tuple(reach(drawn.region, bit, axis) for bit in v_bits)
    able = [item for item in reaches if _able(item, widest, inlay.depth_mm)]
    if not able:
        reason = f"No V-bit has flutes for a line {2.0 * widest:.2f} mm wide."
        return Fit(drawn, (), None, reaches, reason)
    least = min(item.lost_mm2 for item in able)
    fine = sorted(
        (item.bit for item in able if item.lost_mm2 <= least + SAME_MM2),
        key=lambda bit: (bit.angle_rad, bit.tip_mm, bit.name),
    )
    meeting = [bit for bit in fine if engraved_depth(bit, widest) <= inlay.depth_mm + DEPTH_MM]
    chosen = meeting[0] if meeting else fine[-1]
    return Fit(drawn, (chosen,), chosen, reaches, _reason(chosen, widest, inlay.depth_mm))


def _able(item: Reach, widest_mm: float, depth_mm: float) -> bool:
    bit = item.bit
    deepest = min(depth_mm, engraved_depth(bit, widest_mm))
    wide_enough = 2.0 * engraved_half_width(bit, deepest) <= bit.diameter_mm + DEPTH_MM
    return not item.centres.is_empty and bit.flute_mm >= deepest and wide_enough


def _reason(bit: Bit, widest_mm: float, depth_mm: float) -> str:
    deep = engraved_depth(bit, widest_mm)
    if deep <= depth_mm + DEPTH_MM:
        return (
            f"The {bit.name} is the sharpest whose walls meet above {depth_mm:.2f} mm: it goes "
            f"{deep:.2f} mm deep where the artwork is {2.0 * widest_mm:.2f} mm wide."
        )
    return (
        f"The {bit.name} would go {deep:.2f} mm deep where the artwork is "
        f"{2.0 * widest_mm:.2f} mm wide; a flat floor is left at {depth_mm:.2f} mm."
    )


ABOVE_MM: Final = 0.3
"""Flutes must outreach an inlay's depth by this much where nobody says how far above the finished
face it is cut: what is still to be sanded off (0.2 to 0.5 mm in a job with default allowances)."""

"""Losing this much more is losing no more."""

SURELY_UNSEEN_MM: Final = VISIBLE_MM / 2.0
"""Who loses no corner deeper than this loses none that shows: what the finest bit reaches beyond
it is part of what it loses, but for hairs that count as lost nowhere."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """An inlay with a choice of bits: ``choice`` for ``choose_set``, and what reasons need."""

    drawn: Drawn
    reaches: tuple[Reach, ...]
    finest: Reach
    needed: Reach
    enough: Reach
    choice: Choice


@memoized
def weigh(drawn: Drawn, bits: Sequence[Bit], above_mm: float = ABOVE_MM) -> Fit | Weighed:
    """Return the fit of an inlay that leaves no choice, or what there is to choose from.

    ``above_mm`` is how far deeper it is cut than its depth says: the face it is cut from stands
    that much above the one its depth counts from.
    """
    inlay = drawn.thing
    if inlay.v_bit:
        return fit_engraving(drawn, bits)
    named = sorted(inlay.bits, key=lambda bit: -bit.diameter_mm)
    deep_mm = inlay.depth_mm + above_mm
    flats = [bit for bit in bits if bit.kind is BitKind.FLAT and bit.plunges]
    owned = sorted(
        (bit for bit in flats if bit.flute_mm >= deep_mm),
        key=lambda bit: (bit.diameter_mm, -bit.flute_mm, bit.name),
    )
    if drawn.region.is_empty:
        return _bare_strokes(drawn, named or owned)
    axis = axis_of(drawn.region)
    if named:
        tried = tuple(reach(drawn.region, bit, axis) for bit in reversed(named))
        return _as_named(drawn, named, tried)
    if not owned:
        return Fit(drawn, (), None, (), _none_deep_enough(flats, deep_mm))
    return _free(drawn, owned, axis)


def _free(drawn: Drawn, owned: Sequence[Bit], axis: MedialAxis) -> Fit | Weighed:
    reaches = tuple(reach(drawn.region, bit, axis) for bit in owned)
    passing = [item for item in reaches if item.passes]
    if not passing:
        return _blocked(drawn, reaches)
    finest = passing[0]
    needed = max((item for item in passing if _as_good(item, finest)), key=_width)
    widest_first = sorted(passing, key=_width, reverse=True)
    enough = next(item for item in widest_first if _unseen(item, finest))
    line = _as_wide_as_the_line(drawn, passing)
    if line is not None:
        reason = f"The line is as wide as the {line.bit.name}, which cuts it in one way."
        return Fit(drawn, (line.bit,), needed.bit, reaches, reason)
    finishers = tuple(item for item in passing if _width(item) <= _width(enough))
    choice = Choice(drawn.thing.name, drawn.thing.depth_mm, reaches, finishers)
    return Weighed(drawn, reaches, finest, needed, enough, choice)


@memoized
def chosen(item: Weighed, chain: tuple[Bit, ...], found: BitSet, terms: CutTerms) -> Fit:
    """Return the fit of an inlay for which ``chain`` was chosen, with the reason."""
    return Fit(
        item.drawn,
        chain,
        item.needed.bit,
        item.reaches,
        _choice_reason(item, chain, found, terms),
    )


def _width(item: Reach) -> float:
    return item.bit.diameter_mm


def _as_good(item: Reach, finest: Reach) -> bool:
    """Whether a bit reproduces all that the finest does."""
    area = item.lost_mm2 <= finest.lost_mm2 + SAME_MM2
    return area and item.deepest_mm <= finest.deepest_mm + DEPTH_MM


def _unseen(item: Reach, finest: Reach) -> bool:
    """Whether an eye would miss nothing of what the finest bit reaches beyond this one."""
    if item is finest or item.deepest_mm < SURELY_UNSEEN_MM:
        return True
    extra = polygons(shapely.difference(finest.reached, item.reached), 1e-4)
    return gap(extra, item.reached)[0] < VISIBLE_MM


def _as_wide_as_the_line(drawn: Drawn, passing: Sequence[Reach]) -> Reach | None:
    """Return the bit as wide as the one line width of the inlay, if there is such."""
    if drawn.strokes.is_empty:
        return None
    inlay = drawn.thing
    widths = {piece.art.width_mm for piece in inlay.artwork if isinstance(piece.art, StrokeArt)}
    others = any(not isinstance(piece.art, StrokeArt) for piece in inlay.artwork)
    if inlay.seam is not None:
        widths = {inlay.seam.width_mm}
    if len(widths) != 1 or (others and inlay.seam is None):
        return None
    width = widths.pop()
    return next((item for item in passing if abs(_width(item) - width) <= SLOT_WIDTH_MM), None)


def _choice_reason(item: Weighed, chain: tuple[Bit, ...], found: BitSet, terms: CutTerms) -> str:
    by_bit = {each.bit: each for each in item.reaches}
    last = by_bit[chain[-1]]
    name = last.bit.name
    if len(chain) > 1:
        before = by_bit[chain[-2]]
        rest = rest_between(last, before)
        deep = item.drawn.thing.depth_mm
        alone_s = whole_s(last, deep, terms)
        cleared_s = whole_s(by_bit[chain[0]], deep, terms)
        for wide, fine in pairwise(chain):
            left = rest_between(by_bit[fine], by_bit[wide])
            cleared_s += rest_s(fine, left, deep, terms)
        first = " and the ".join(bit.name for bit in chain[:-1])
        clears = "clears" if len(chain) == 2 else "clear"
        return (
            f"The {first} {clears} all but {rest.area:.1f} mm2, which the {name} takes: about "
            f"{(alone_s - cleared_s) / 60.0:.1f} minutes less at the bit than the {name} alone."
        )
    if last is not item.enough and len(found.subjects) > 1:
        return (
            f"The {name}: others of this round need it, and changing to the "
            f"{item.enough.bit.name}, which would do here, costs more than it saves."
        )
    if last is not item.enough:
        return f"The {name} does it sooner than the {item.enough.bit.name}, which would do."
    return _why_no_wider(item, last)


def _why_no_wider(item: Weighed, last: Reach) -> str:
    name = last.bit.name
    wider = [each for each in item.reaches if _width(each) > _width(last)]
    if not wider:
        return f"The {name} is the widest that is deep enough, and it loses nothing visible."
    after = wider[0]
    if not after.passes:
        if not after.necks:
            return f"The {name}: the {after.bit.name} fits nowhere in it."
        neck = min(after.necks, key=lambda neck: neck.width_mm)
        return (
            f"The {name}: the {after.bit.name} cannot pass where it is {neck.width_mm:.2f} mm "
            f"wide, at x {neck.x_mm:.1f}, y {neck.y_mm:.1f}."
        )
    extra = polygons(shapely.difference(item.finest.reached, after.reached), 1e-4)
    away, place = gap(extra, after.reached)
    where = f" at x {place[0]:.1f}, y {place[1]:.1f}" if place else ""
    return (
        f"The {name}: the {after.bit.name} would leave {away:.2f} mm in a corner{where} that "
        f"the {item.finest.bit.name} reaches."
    )


def _blocked(drawn: Drawn, reaches: tuple[Reach, ...]) -> Fit:
    """Let the narrowest cut what it can, and say where even it cannot pass."""
    cutting = [item for item in reaches if not item.centres.is_empty]
    narrow = reaches[0]
    width = min((neck.width_mm for neck in narrow.necks), default=0.0)
    reason = (
        f"Even the {narrow.bit.name} cannot pass at {len(narrow.necks)} place(s); the narrowest "
        f"is {width:.2f} mm wide."
    )
    if not cutting:
        return Fit(drawn, (), None, reaches, reason)
    return Fit(drawn, (cutting[0].bit,), cutting[0].bit, reaches, reason)


def _as_named(drawn: Drawn, named: Sequence[Bit], tried: tuple[Reach, ...]) -> Fit:
    """Use the job's own bits, those left out that would find no room."""
    room = {item.bit for item in tried if not item.centres.is_empty}
    used = tuple(bit for bit in named if bit in room)
    passing = [item.bit for item in tried if item.passes]
    names = " and the ".join(bit.name for bit in used)
    reason = (
        f"The job asks for the {names}."
        if used
        else f"The job asks for the {named[-1].name}, which fits nowhere in it."
    )
    return Fit(
        drawn,
        used,
        passing[0] if passing else None,
        tried,
        reason,
    )


def _bare_strokes(drawn: Drawn, bits: Sequence[Bit]) -> Fit:
    """Lines without a width take the narrowest bit's own."""
    if drawn.strokes.is_empty or not bits:
        words = "There is nothing to cut." if bits else "No flat bit is deep enough for it."
        return Fit(drawn, (), None, (), words)
    narrow = min(bits, key=lambda bit: bit.diameter_mm)
    reason = f"Lines without a width are cut by the narrowest bit's own, the {narrow.name}."
    return Fit(drawn, (narrow,), narrow, (), reason)


def _none_deep_enough(flats: Sequence[Bit], deep_mm: float) -> str:
    if not flats:
        return "There is no flat bit that plunges."
    longest = max(flats, key=lambda bit: bit.flute_mm)
    return (
        f"No flat bit has flutes of {deep_mm:.2f} mm; the longest, of the {longest.name}, are "
        f"{longest.flute_mm:.2f} mm."
    )


# ---- The flat floor of an engraving, cleared by a flat bit before the V-bit where that pays


SCALLOP_MM: Final = 0.05
"""Height of the ridges between lines of a V-bit on its floor, under the fill and never seen.

Assumed (0.02 to 0.1 mm); a test strip filled with the palest mix would replace it.
"""


def v_bit_step_mm(v_bit: Bit) -> float:
    """Return from line to line of a V-bit on its floor: tip + 2 x ridge x tan(angle / 2)."""
    return v_bit.tip_mm + 2.0 * SCALLOP_MM * tan(v_bit.angle_rad / 2.0)


def with_floor(
    fit: Fit,
    there: Collection[Bit],
    owned: Sequence[Bit],
    terms: CutTerms,
    above_mm: float = ABOVE_MM,
) -> Fit:
    """Return an engraving's fit with the flat bit that clears its floor first, if any pays.

    ``there`` are in the machine in the same round anyway; others pay for their change.
    """
    inlay = fit.drawn.thing
    if not inlay.v_bit or inlay.bits or len(fit.bits) != 1:
        return fit
    v_bit = fit.bits[0]
    floor = shrink(fit.drawn.region, engraved_half_width(v_bit, inlay.depth_mm))
    if floor.is_empty:
        return fit
    feed_mm_s = propose(v_bit, terms.machine, terms.wood).feed_mm_min / 60.0
    per_mm2_s = 1.0 / (v_bit_step_mm(v_bit) * feed_mm_s)
    best: tuple[float, Reach] | None = None
    for bit in owned:
        able = bit.kind is BitKind.FLAT and bit.plunges
        if not able or bit.flute_mm < inlay.depth_mm + above_mm:
            continue
        change_s = 0.0 if bit in there else terms.change_s
        if floor.area * per_mm2_s <= change_s:
            continue
        item = reach(floor, bit)
        if item.centres.is_empty:
            continue
        saved_s = item.reached.area * per_mm2_s - whole_s(item, inlay.depth_mm, terms) - change_s
        if saved_s > 0.0 and (best is None or saved_s > best[0]):
            best = (saved_s, item)
    if best is None:
        return fit
    saved_s, item = best
    return replace(
        fit,
        floor=item,
        reason=f"{fit.reason} The {item.bit.name} clears {item.reached.area:.0f} mm2 of it "
        f"first: about {saved_s / 60.0:.1f} minutes less.",
    )
