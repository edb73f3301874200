"""Fixes of a glue-up: strips whose joints stand in the open, rings that bend against each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from flushwork.checks.fixes.fix import Edit, Fix, Idea, Question, fix
from flushwork.checks.rules.board.joint_rules import CLEAR_MM, fine_parts

STEP_MM: Final = 0.5
LEAST_STRIP_MM: Final = 15.0
"""No narrower strip is proposed: it is hard to joint (common practice, no source)."""


def other_strips(asked: Question) -> Iterator[Fix]:
    """Yield strips in which every joint stands at the nearest place that is clear on both faces."""
    blank = asked.job.blank
    if blank.glue_up is None:
        return
    wide = sum(blank.glue_up.strips_mm)
    mirrored = blank.turn_about_x == blank.grain_along_x
    taken: list[tuple[float, float]] = []
    for face in asked.faces:
        for drawn in face.inlays:
            for part in fine_parts(drawn).geoms:
                west, south, east, north = part.bounds
                low, high = (south, north) if blank.grain_along_x else (west, east)
                if face.name == "back" and mirrored:
                    low, high = wide - high, wide - low
                taken.append((low - CLEAR_MM, high + CLEAR_MM))
    joints: list[float] = []
    for joint in blank.glue_up.joints_mm:
        low = (joints[-1] if joints else 0.0) + LEAST_STRIP_MM
        places = [joint + STEP_MM * each * way for each in range(int(wide)) for way in (1.0, -1.0)]
        clear = next(
            (
                at
                for at in places
                if low <= at <= wide - LEAST_STRIP_MM
                and not any(begin < at < end for begin, end in taken)
            ),
            None,
        )
        if clear is None:
            return
        joints.append(clear)
    edges = [0.0, *joints, wide]
    told = ", ".join(f"{end - begin:g} mm" for begin, end in pairwise(edges))
    yield fix(("blank", "glue up", "strips"), f"[{told}]", 1)


def bent_against_each_other(asked: Question) -> Iterator[Fix]:
    """Yield rings that curve up and down in turn, then wood sawn the other way."""
    blank = asked.job.blank
    if blank.glue_up is not None and not blank.glue_up.alternating:
        yield Fix((Edit(("blank", "glue up", "rings"), "alternating"),), 0)
    if blank.flat_sawn:
        yield fix(("blank", "sawn"), "quarter", 3)


IDEAS: dict[str, Idea] = {
    "joint-in-fine-inlay": other_strips,
    "board-cups": bent_against_each_other,
}
