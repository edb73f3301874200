"""Fixes of the box: the keys that a remedy names, written with the values it gives them.

They are read out of the remedy, so that what is told and what is tried cannot differ.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from flushwork.checks.fixes.fix import Edit, Fix, Idea, Path, Question, fix
from flushwork.core.findings import Finding

KEYS: Final = re.compile(r"`([a-z ]+): ([\d.]+ mm(?: x [\d.]+ mm)?)`")
COUNTED: Final = re.compile(r"`(along|across): (\d+)`")
BOX: Final = "box"
SPLINES, LID, HINGES = (BOX, "splines"), (BOX, "lid"), (BOX, "hinges")
DEPTH: Final = "depth"


def told(finding: Finding) -> dict[str, str]:
    """Return the keys that a remedy writes out, with their values."""
    return dict(KEYS.findall(finding.remedy))


def _together(path: Path, keys: dict[str, str]) -> Iterator[Fix]:
    if keys:
        yield Fix(tuple(Edit((*path, key), value) for key, value in keys.items()), 1)


def holding_board(asked: Question) -> Iterator[Fix]:
    """Yield walls, groove and clear size by which the board goes in and stays."""
    keys = told(asked.finding)
    if "inside" in keys:
        yield fix((BOX, "inside"), None)
        yield fix((BOX, "inside"), keys["inside"])
        return
    places = {"wall": (BOX, "wall"), DEPTH: (BOX, "board", DEPTH), "width": (BOX, "board", "width")}
    edits = [Edit(places[key], value) for key, value in keys.items() if key in places]
    if "leave `inside` out" in asked.finding.remedy:
        edits.append(Edit((BOX, "inside"), None))
    if edits:
        yield Fix(tuple(edits), 1)


def shallower_slots(asked: Question) -> Iterator[Fix]:
    """Yield shallower slots, then inlay that begins farther from the corner."""
    keys = told(asked.finding)
    if DEPTH in keys:
        yield fix((*SPLINES, DEPTH), keys[DEPTH], 1)
    if "from corner" in keys:
        path = (BOX, "art outside", asked.finding.subject, "from corner")
        yield fix(path, keys["from corner"], 2)


def other_height(asked: Question) -> Iterator[Fix]:
    """Yield the heights of the splines with that of the one at fault changed, or without it."""
    box, place = asked.job.box, told(asked.finding).get("heights")
    at = re.search(r"[\d.]+", asked.finding.subject)
    if box is None or box.splines is None or at is None:
        return
    others = [f"{each:g} mm" for each in box.splines.heights_mm if f"{each:g}" != at.group()]
    heights = [*others, *([place] if place else [])]
    if heights:
        yield fix((*SPLINES, "heights"), f"[{', '.join(heights)}]", 1)


def other_cut(asked: Question) -> Iterator[Fix]:
    """Yield a lid cut at another height."""
    keys = told(asked.finding)
    yield from _together(LID, {key: keys[key] for key in ("from base",) if key in keys})


def narrower_band(asked: Question) -> Iterator[Fix]:
    """Yield a band of inlay that keeps off the edges."""
    yield from _together((BOX, "art outside", asked.finding.subject), told(asked.finding))


def shallower_recess(asked: Question) -> Iterator[Fix]:
    """Yield a narrower leaf for what is let in, or a lid cut at another height."""
    keys = told(asked.finding)
    if "leaf" in keys:
        yield fix((BOX, asked.finding.subject, "leaf"), keys["leaf"], 1)
    yield from other_cut(asked)


def other_dividers(asked: Question) -> Iterator[Fix]:
    """Yield lower dividers, or fewer of them."""
    keys = dict(COUNTED.findall(asked.finding.remedy)) | told(asked.finding)
    yield from _together((BOX, "dividers"), keys)


def moved_hinges(asked: Question) -> Iterator[Fix]:
    """Yield hinges farther from the corners, or shorter ones."""
    yield from _together(HINGES, told(asked.finding))


IDEAS: dict[str, Idea] = {
    "box-board-too-large": holding_board,
    "box-board-falls-out": holding_board,
    "box-board-too-thick": holding_board,
    "box-spline-in-inlay": shallower_slots,
    "box-spline-near-inlay": shallower_slots,
    "box-spline-breaks-through": shallower_slots,
    "box-spline-in-cut": other_height,
    "box-spline-near-cut": other_height,
    "box-lid-cut-in-groove": other_cut,
    "box-lid-cut-through-art": other_cut,
    "box-art-erased": narrower_band,
    "box-art-near-edge": narrower_band,
    "box-hinge-over-joint": moved_hinges,
    "box-recess-in-groove": shallower_recess,
    "box-recess-in-art": narrower_band,
    "box-dividers-too-high": other_dividers,
    "box-rooms-too-small": other_dividers,
}
