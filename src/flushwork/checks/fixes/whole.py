"""Fixes of the whole job: its blank, its trim line, its days, how many and in which order."""

from __future__ import annotations

import math
from collections.abc import Iterator

from flushwork.checks.fixes.fix import Edit, Fix, Idea, Question, fix, path_to, short_mm, up
from flushwork.job.records import MeasuredFrom

LARGER_MM = (2.0, 5.0, 10.0, 20.0, 40.0)


def flipped(asked: Question) -> Iterator[Fix]:
    """Yield the other line to turn the blank over about."""
    other = "side to side" if asked.job.blank.turn_about_x else "top to bottom"
    yield fix(("blank", "flipped"), other)


def depths_said(asked: Question) -> Iterator[Fix]:
    """Yield all depths measured from the finished face, then from the face as it stands."""
    for told in MeasuredFrom:
        edits = tuple(
            Edit(path_to(asked.job, inlay, "measured from"), told.value)
            for inlay in asked.job.inlays
        )
        if edits:
            yield Fix(edits)


def a_finish(asked: Question) -> Iterator[Fix]:
    """Yield a finish that the shop has."""
    for finish in asked.job.shop.finishes[:2]:
        yield fix(("finish",), finish.name)


def tabs(asked: Question) -> Iterator[Fix]:
    """Yield four tabs, then six."""
    del asked
    for count in (4, 6):
        yield fix(("trim line", "tabs"), str(count))


def larger_blank(asked: Question) -> Iterator[Fix]:
    """Yield a blank larger by what is lacking on each side, then by more."""
    blank = asked.job.blank
    short = short_mm(asked.finding)
    for more in sorted({2.0 * short, *LARGER_MM}):
        if more > 0.0:
            yield Fix(
                (
                    Edit(("blank", "length"), up(blank.length_mm + more)),
                    Edit(("blank", "width"), up(blank.width_mm + more)),
                ),
                3,
            )


def longer_step(asked: Question) -> Iterator[Fix]:
    """Yield a longer step from piece to piece on the bed."""
    bed, more = asked.job.bed, short_mm(asked.finding)
    along = max((abs(bed.step_x_mm), "x"), (abs(bed.step_y_mm), "y"))[1]
    steps = {"x": bed.step_x_mm, "y": bed.step_y_mm}
    steps[along] += math.copysign(more, steps[along])
    told = ", ".join(f"{math.ceil(steps[axis] * 100.0) / 100.0:.2f} mm" for axis in ("x", "y"))
    yield fix(("on the bed", "step"), f"[{told}]")


def longer_wait(asked: Question) -> Iterator[Fix]:
    """Yield longer waits for the cure."""
    measure = asked.finding.measure
    hours = max(1.0, measure.value if measure is not None else 24.0)
    for factor in (1.5, 2.0, 3.0, 5.0, 8.0):
        yield fix(("cure wait",), f"{math.ceil(hours * factor):d} h", 2)
    yield fix(("cure wait",), None, 2)


def more_groups(asked: Question) -> Iterator[Fix]:
    """Yield the run poured in more groups."""
    groups = asked.job.groups or 1
    for more in (1, 2, 3):
        if groups + more <= asked.job.pieces + asked.job.test_pieces:
            yield fix(("groups",), str(groups + more), 2)


def quarter_sawn(asked: Question) -> Iterator[Fix]:
    """Yield wood sawn the other way."""
    if asked.job.blank.flat_sawn:
        yield fix(("blank", "sawn"), "quarter", 3)


def wider_border(asked: Question) -> Iterator[Fix]:
    """Yield a hidden border that covers the gap, then wood sawn the other way."""
    if asked.finding.measure is not None:
        yield fix(("trim line", "hidden border"), up(asked.finding.measure.value + 0.05))
    yield from quarter_sawn(asked)


def no_marks(asked: Question) -> Iterator[Fix]:
    """Yield a larger blank, then no registration marks."""
    yield from larger_blank(asked)
    yield fix(("cut registration marks",), None, 1)


IDEAS: dict[str, Idea] = {
    "flipped-off-its-pins": flipped,
    "depth-face-unsaid": depths_said,
    "trim-without-tabs": tabs,
    "trim-line-outside-blank": larger_blank,
    "no-room-to-hold": larger_blank,
    "no-room-to-locate": larger_blank,
    "no-room-for-marks": no_marks,
    "bed-pieces-overlap": longer_step,
    "cure-cut-short": longer_wait,
    "cut-before-cure": longer_wait,
    "pot-life-over": more_groups,
    "rigid-inlay-moves": quarter_sawn,
    "one-face-sealed": a_finish,
    "frame-shows-edge": wider_border,
}
