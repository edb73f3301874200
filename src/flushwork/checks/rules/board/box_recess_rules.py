"""Do the recesses of hinges and catch leave grooves and art alone, and do the dividers fit in?"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Final

from flushwork.checks.rules.board.box_cut_rules import (
    BOX,
    CLEAR_MM,
    STEP_MM,
    is_gone,
    other_cut,
    rounded_down,
    rounded_up,
)
from flushwork.core.findings import Finding, Measure, Subject
from flushwork.job.records import BoxPiece, Job, LidCut, SideArt
from flushwork.wood.box_dividers import divided_mm, headroom_mm, room_mm
from flushwork.wood.box_pieces import LetIn, recesses
from flushwork.wood.box_sizes import AtCorner, MadeBox
from flushwork.wood.loose_stock import turned_mm

LEAST_LEAF_MM: Final = 1.0
"""No leaf is narrower."""
LEAST_ROOM_MM: Final = 15.0
"""No finger gets into a narrower one (common practice, no source)."""


def recess_findings(made: MadeBox) -> Iterator[Finding]:
    """Yield what the recesses in the edges of the lid cut run into."""
    lid = made.box.lid
    if lid is None:
        return
    for piece in (BoxPiece.WALL_A, BoxPiece.WALL_C):
        for recess in itertools.islice(recesses(made, piece), 1):
            yield from _in_groove(made, lid, recess)
            for art in made.box.art:
                yield from _in_art(made, recess, art)


def _band(recess: LetIn) -> tuple[float, float]:
    return recess.y_mm - recess.wide_mm / 2.0, recess.y_mm + recess.wide_mm / 2.0


def _in_groove(made: MadeBox, lid: LidCut, recess: LetIn) -> Iterator[Finding]:
    low, high = _band(recess)
    wall, key = made.box.wall_mm, recess.name

    def into_mm(groove: AtCorner) -> float:
        return wall - groove.reach_mm / 2.0

    met = [
        groove
        for groove in made.grooves()
        if low < groove.high_mm + CLEAR_MM
        and groove.low_mm - CLEAR_MM < high
        # where the cut itself runs into it, that is told
        and not (lid.low_mm < groove.high_mm + CLEAR_MM and groove.low_mm - CLEAR_MM < lid.high_mm)
        and recess.depth_mm + into_mm(groove) > wall - CLEAR_MM + 1e-6
    ]
    if not met:
        return
    groove = max(met, key=into_mm)
    left = wall - into_mm(groove) - recess.depth_mm
    most = rounded_down(wall - into_mm(groove) - CLEAR_MM)
    remedy = (
        f"Write `leaf: {most:g} mm` for the {key} at most."
        if most >= LEAST_LEAF_MM
        else other_cut(made, lid)
    )
    yield Finding.must_fix(
        "box-recess-in-groove",
        message=f"The recess of the {key} goes {recess.depth_mm:g} mm into a wall of {wall:g} mm, "
        f"and {groove.name} {into_mm(groove):g} mm from inside: "
        + (f"{left:.1f} mm are left between them." if left > 0.0 else "they meet."),
        remedy=remedy,
        subjects=(Subject("name", key),),
        source=made.box.source,
        measure=Measure("between them", left, CLEAR_MM, "mm"),
    )


def _in_art(made: MadeBox, recess: LetIn, art: SideArt) -> Iterator[Finding]:
    low, high = _band(recess)
    key = recess.name
    over = min(high, art.to_mm) - max(low, art.from_base_mm)
    beyond = recess.x_mm + recess.long_mm / 2.0 - art.from_corner_mm
    if over <= STEP_MM / 2.0 or beyond <= STEP_MM / 2.0 or is_gone(made, art):
        return
    below, above = rounded_down(low - CLEAR_MM), rounded_up(high + CLEAR_MM)
    kept = {
        f"`to: {below:g} mm`": below - art.from_base_mm,
        f"`from base: {above:g} mm`": art.to_mm - above,
    }
    way = max(kept, key=lambda each: kept[each])
    yield Finding.must_fix(
        "box-recess-in-art",
        message=f"The recess of the {key} takes {low:g} to {high:g} mm of the wall, and "
        f"{art.name} is inlaid from {art.from_base_mm:g} to {art.to_mm:g} mm there.",
        remedy=f"Write {way} for {art.name}, or begin it farther from the corner than the "
        "recess ends."
        if kept[way] > 0.0
        else f"Leave {art.name} out, or begin it farther from the corner than the recess ends.",
        subjects=(Subject("name", art.name),),
        source=art.source,
        measure=Measure("in the inlay", over, 0.0, "mm"),
    )


# ---- Dividers


def divider_findings(made: MadeBox, job: Job) -> Iterator[Finding]:
    """Yield what is wrong with dividers: too high for the box, too close for what lies in them."""
    dividers = made.box.dividers
    if dividers is None:
        return
    head, most = headroom_mm(made), rounded_down(headroom_mm(made))
    if dividers.height_mm > head + 1e-6:
        yield Finding.must_fix(
            "box-dividers-too-high",
            message=f"Dividers {dividers.height_mm:g} mm high stand in a box that has "
            f"{head:.1f} mm of room from its bottom to what lies over it.",
            remedy=f"Write `height: {most:g} mm` for the dividers at most."
            if most >= 3.0
            else "Leave the dividers out, or make the box higher.",
            subjects=(BOX,),
            source=made.box.source,
            measure=Measure("height", dividers.height_mm, head, "mm"),
        )
    yield from _rooms(made, job)


def _rooms(made: MadeBox, job: Job) -> Iterator[Finding]:
    dividers = made.box.dividers
    if dividers is None:
        return
    long, wide, name = LEAST_ROOM_MM, LEAST_ROOM_MM, ""
    for part in job.loose_parts:
        across = turned_mm(part, job) or 0.0
        if max(part.long_mm or 0.0, across) > long:
            long, wide, name = max(part.long_mm or 0.0, across), max(wide, across), part.name
    size = divided_mm(made)
    if max(size) >= long - 1e-6 and min(size) >= wide - 1e-6:
        return
    fits = _fewer(made, dividers.across, dividers.along, (long, wide))
    yield Finding.must_fix(
        "box-rooms-too-small",
        message="The dividers leave no room between them."
        if min(size) <= 0.0
        else f"The rooms between the dividers are {size[0]:.1f} x {size[1]:.1f} mm, and "
        + (f"{name} are {long:g} mm long." if name else "no finger gets into so narrow a one."),
        remedy=f"Write `across: {fits[0]}` and `along: {fits[1]}` for the dividers."
        if fits is not None
        else "Leave the dividers out, or make the box larger.",
        subjects=(BOX,),
        source=made.box.source,
        measure=Measure("room", max(size), long, "mm"),
    )


def _fewer(
    made: MadeBox, across: int, along: int, asked: tuple[float, float]
) -> tuple[int, int] | None:
    """Return the most dividers, no more than there are either way, that leave room enough."""
    dividers = made.box.dividers
    thick = dividers.thickness_mm if dividers is not None else 0.0
    ways = [
        (x, y)
        for x in range(across + 1)
        for y in range(along + 1)
        for size in ((room_mm(made.inside_mm[0], x, thick), room_mm(made.inside_mm[1], y, thick)),)
        if x + y and max(size) >= asked[0] and min(size) >= asked[1]
    ]
    return max(ways, key=lambda each: (each[0] + each[1], each[0]), default=None)
