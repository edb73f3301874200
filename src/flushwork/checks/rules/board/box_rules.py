"""Do the walls of the box hold the board, and are its hinges off the joints?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.checks.rules.board.box_cut_rules import (
    BOX,
    CLEAR_MM,
    STEP_MM,
    cut_findings,
    rounded_down,
    rounded_up,
)
from flushwork.checks.rules.board.box_recess_rules import divider_findings, recess_findings
from flushwork.core.findings import Finding, Measure, Severity
from flushwork.core.words import listed
from flushwork.job.keys.box.walls import LEAST_WALL_MM
from flushwork.job.records import HeldBoard, HeldHow
from flushwork.wood.box_sizes import LEAST_HELD_MM, BoxBoard, MadeBox

PAST_JOINT_MM: Final = 3.0
"""Of a hinge's near end beyond the inside of the mitre (assumed, 2 to 5 mm)."""
APART_MM: Final = 5.0
"""Between the two hinges at least."""


def box_holds_and_keeps(build: Build) -> Iterator[Finding]:
    """Yield what is wrong with the box of a build, if it has one."""
    made = box_of_build(build)
    if made is not None:
        yield from box_findings(made)
        yield from divider_findings(made, build.job)


def box_findings(made: MadeBox) -> Iterator[Finding]:
    """Yield what is wrong with a box and the board in it."""
    yield from _board(made)
    yield from cut_findings(made)
    yield from _hinges(made)
    yield from recess_findings(made)


def _size(size: Iterable[float]) -> str:
    return " x ".join(f"{rounded_up(each):g} mm" for each in size)


# ---- The board


def _board(made: MadeBox) -> Iterator[Finding]:
    held, board, asked = made.box.board, made.board, made.asked_mm
    if held is None or board is None or asked is None:
        return
    source, inside = held.source, made.inside_mm
    short = max(want - have for want, have in zip(asked, inside, strict=True))
    if short > STEP_MM / 2.0:
        into = f" and {made.into_mm:g} mm into each wall" if made.into_mm else ""
        larger = (max(want, have) for want, have in zip(asked, inside, strict=True))
        yield Finding(
            code="box-board-too-large",
            severity=Severity.MUST_FIX,
            message=f"The board of {_size(board.size_mm)} goes into no box that is "
            f"{_size(inside)} inside: with {made.free_mm[0]:.1f} mm by {made.free_mm[1]:.1f} mm "
            f"free at each end{into} it asks for {_size(asked)}.",
            remedy=f"Write `inside: {_size(larger)}`, or leave `inside` out.",
            subjects=(BOX,),
            source=source,
            measure=Measure("too short by", short, 0.0, "mm"),
        )
    if made.into_mm:
        yield from _held(made, held, board, asked)
    if held.how is HeldHow.GROOVE and board.edge_mm > held.width_mm + 1e-3:
        yield _too_thick(made, held, board)


def _held(
    made: MadeBox, held: HeldBoard, board: BoxBoard, asked: tuple[float, float]
) -> Iterator[Finding]:
    """Is the board still held where it is smallest and pushed over to one side?"""
    box = made.box
    gaps = [
        max(inside, want) + 2.0 * made.into_mm - size + shrinks
        for inside, want, size, shrinks in zip(
            made.inside_mm, asked, board.size_mm, board.shrinks_mm, strict=True
        )
    ]
    left = made.into_mm - max(gaps)
    if left >= LEAST_HELD_MM - 1e-6:
        return
    free = max(
        2.0 * free + shrinks for free, shrinks in zip(made.free_mm, board.shrinks_mm, strict=True)
    )
    depth = rounded_up(LEAST_HELD_MM + free + STEP_MM)
    given = box.inside_x_mm is not None
    if held.depth_mm >= depth and given:
        remedy = f"Write `inside: {_size(asked)}`, or leave `inside` out."
    else:
        wall = rounded_up(max(box.wall_mm, depth + LEAST_WALL_MM))
        words = [f"write `depth: {max(depth, held.depth_mm):g} mm` for its `board`"]
        if wall > box.wall_mm:
            words.insert(0, f"write `wall: {wall:g} mm`")
        if given:
            words.append("leave `inside` out")
        if board.rebate_mm:
            words.append(f"make the board's rebate {depth + held.reveal_mm:g} mm wide")
        told = listed(words)
        remedy = f"{told[0].upper()}{told[1:]}; quarter-sawn wood moves half as much."
    yield Finding(
        code="box-board-falls-out",
        severity=Severity.MUST_FIX,
        message=f"In the driest month, pushed to one side, the board has {max(gaps):.1f} mm free "
        f"at the other, and the {'groove' if held.how is HeldHow.GROOVE else 'rebate'} is "
        f"{made.into_mm:g} mm deep: {left:.1f} mm of it are held.",
        remedy=remedy,
        subjects=(BOX,),
        source=held.source,
        measure=Measure("still held", left, LEAST_HELD_MM, "mm"),
    )


def _too_thick(made: MadeBox, held: HeldBoard, board: BoxBoard) -> Finding:
    box = made.box
    off = rounded_up(board.edge_mm - held.width_mm)
    wide = rounded_up(made.rebate_mm)
    remedy = (
        f"Give it a rebate along the trim line: `edges: [{{shape: rebate, size: {wide:g} mm, "
        f"depth: {off:g} mm}}]` on one face"
    )
    width = rounded_up(board.edge_mm)
    top = held.from_base_mm + width
    lid = box.lid
    meets = lid is not None and lid.high_mm > held.from_base_mm and lid.low_mm < top + CLEAR_MM
    if top + LEAST_WALL_MM < box.height_mm - box.trim_mm and not meets:
        remedy += f", or write `width: {width:g} mm` for the groove"
    narrow = (
        f" Its rebate is {board.rebate_mm:g} mm wide, and the groove takes {wide:g} mm."
        if 0.0 < board.rebate_mm < made.rebate_mm - 1e-6
        else ""
    )
    return Finding(
        code="box-board-too-thick",
        severity=Severity.MUST_FIX,
        message=f"The board's edge is {board.edge_mm:.2f} mm thick once it is finished, and its "
        f"groove {held.width_mm:g} mm wide.{narrow}",
        remedy=f"{remedy}.",
        subjects=(BOX,),
        source=held.source,
        measure=Measure("edge", board.edge_mm, held.width_mm, "mm"),
    )


def _hinges(made: MadeBox) -> Iterator[Finding]:
    hinges, box = made.box.hinges, made.box
    if hinges is None:
        return
    least = box.wall_mm + PAST_JOINT_MM
    half = made.outside_mm[0] / 2.0 - APART_MM / 2.0
    over = hinges.from_corner_mm < least - 1e-6
    if not over and hinges.from_corner_mm + hinges.length_mm <= half + 1e-6:
        return
    begin = hinges.from_corner_mm
    if over:
        begin = rounded_up(max(least, made.shows_mm + CLEAR_MM))
    room = rounded_down(min((half, *_free_of_art(made))) - begin)
    ways = [f"`from corner: {begin:g} mm`"] if over else []
    if hinges.length_mm > room:
        ways.append(f"`length: {room:g} mm`")
    yield Finding(
        code="box-hinge-over-joint",
        severity=Severity.MUST_FIX,
        message=f"A hinge begins {hinges.from_corner_mm:g} mm from the corner, and the mitre "
        f"reaches {box.wall_mm:g} mm along the inside: its screws go into the joint."
        if over
        else f"Two hinges {hinges.length_mm:g} mm long, {hinges.from_corner_mm:g} mm from the "
        f"corners, meet in the middle of a wall of {made.outside_mm[0]:.0f} mm.",
        remedy=f"Write {' and '.join(ways)} for the hinges."
        if room >= 3.0
        else "Leave the hinges out: no two of them have room on this wall.",
        subjects=(BOX,),
        source=box.source,
        measure=Measure("from the corner", hinges.from_corner_mm, least, "mm")
        if over
        else Measure("room for each", hinges.length_mm, max(0.0, room), "mm"),
    )


def _free_of_art(made: MadeBox) -> Iterator[float]:
    """Yield where art begins that the hinges as they are leave alone: no remedy leads into it."""
    hinges, lid = made.box.hinges, made.box.lid
    if hinges is None or lid is None:
        return
    low, high = lid.low_mm - hinges.recess_mm, lid.high_mm + hinges.recess_mm
    for art in made.box.art:
        meets = art.from_base_mm < high and low < art.to_mm
        if meets and hinges.from_corner_mm + hinges.length_mm <= art.from_corner_mm + STEP_MM:
            yield art.from_corner_mm


RULES = (box_holds_and_keeps,)
