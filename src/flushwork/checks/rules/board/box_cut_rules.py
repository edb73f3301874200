"""Do the splines, the lid cut and what is planed off a box leave each other, and the art, alone?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from flushwork.core.findings import Finding, Measure, Severity, Subject
from flushwork.job.keys.box.walls import LEAST_WALL_MM
from flushwork.job.records import CornerSplines, LidCut, SideArt
from flushwork.wood.box_sizes import ROOT_2, AtCorner, Kind, MadeBox, steps_mm

BOX: Final = Subject("key", "box")
CLEAR_MM: Final = 1.0
"""Wood left between a slot or cut and what it must not meet (assumed, 0.5 to 2 mm)."""
NEAR_CUT_MM: Final = 3.0
"""A spline nearer to the cleaned lid cut is weak there (assumed, 2 to 5 mm)."""
NEAR_EDGE_MM: Final = 5.0
"""A spline nearer to an edge breaks out (common practice, no source: 10 to 15 mm is usual)."""
ART_OFF_EDGE_MM: Final = 1.5
"""Art nearer to an edge that is planed may be met by an uneven cut (assumed, 1 to 2 mm)."""
STEP_MM: Final = 0.1
"""Figures of a remedy are told to this; half of it is no fault."""
SLACK_MM: Final = 0.5 * STEP_MM * ROOT_2 + 1e-6
"""What a depth of a slot told to a tenth may be off along the face."""
MARGINS: Final[dict[Kind, float]] = {
    "inlay": CLEAR_MM, "groove": CLEAR_MM, "cut": NEAR_CUT_MM, "hinge": CLEAR_MM, "foot": CLEAR_MM,
    "edge": NEAR_EDGE_MM,
}  # fmt: skip


def cut_findings(made: MadeBox) -> Iterator[Finding]:
    """Yield what the cuts of a box do to each other and to the art on its walls."""
    yield from _splines(made)
    yield from _lid(made)
    for art in made.box.art:
        yield from _art_at_edges(made, art)


def rounded_down(value: float) -> float:
    """Return a length as a remedy tells it, no larger."""
    return round(math.floor(value / STEP_MM + 1e-6) * STEP_MM, 1)


def rounded_up(value: float) -> float:
    """Return a length as a remedy tells it, no smaller."""
    return round(math.ceil(value / STEP_MM - 1e-6) * STEP_MM, 1)


# ---- The splines


def _gap_mm(made: MadeBox, at_mm: float, thing: AtCorner) -> float:
    """Return what is left in height between a spline and something at the corner."""
    half = made.box.splines.thickness_mm / 2.0 if made.box.splines else 0.0
    return max(thing.low_mm - at_mm - half, at_mm - half - thing.high_mm)


def _splines(made: MadeBox) -> Iterator[Finding]:
    box, splines = made.box, made.box.splines
    if splines is None:
        return
    spare = made.breaks_at_mm - splines.depth_mm
    if spare < 0.0:
        yield Finding(
            code="box-spline-breaks-through",
            severity=Severity.MUST_FIX,
            message=f"A slot {splines.depth_mm:g} mm deep comes out inside: a wall of "
            f"{box.wall_mm:g} mm breaks through at {made.breaks_at_mm:.1f} mm.",
            remedy=f"Write `depth: {rounded_down(made.breaks_at_mm - CLEAR_MM):g} mm` for the "
            "splines at most.",
            subjects=(BOX,),
            source=box.source,
            measure=Measure("slot", splines.depth_mm, made.breaks_at_mm, "mm"),
        )
    for art in box.art:
        yield from _spline_and_art(made, splines, art)
    for at_mm in splines.heights_mm:
        found = [
            (max(_gap_mm(made, at_mm, thing), thing.reach_mm - made.shows_mm), thing)
            for thing in made.at_corners()
            if thing.kind != "inlay"
        ]
        worst = min(found, key=lambda each: (each[0] >= 0.0, each[0] - MARGINS[each[1].kind]))
        if worst[0] < MARGINS[worst[1].kind] - SLACK_MM:
            yield _spline_near(made, splines, at_mm, *worst)


def _spline_and_art(made: MadeBox, splines: CornerSplines, art: SideArt) -> Iterator[Finding]:
    thing = AtCorner("inlay", art.name, art.from_base_mm, art.to_mm, art.from_corner_mm)
    gap = min(_gap_mm(made, each, thing) for each in splines.heights_mm)
    into = made.shows_mm - art.from_corner_mm
    clear = max(gap, -into)
    if clear >= CLEAR_MM - SLACK_MM:
        return
    cuts = clear < 0.0
    deepest = round((art.from_corner_mm - CLEAR_MM) / ROOT_2, 1)
    least = rounded_up(made.shows_mm + CLEAR_MM)
    ways = [f"begin it `from corner: {least:g} mm`"]
    if deepest >= splines.thickness_mm:
        ways.insert(0, f"write `depth: {deepest:g} mm` for the splines at most")
    told = " or ".join(ways)
    yield Finding(
        code="box-spline-in-inlay" if cuts else "box-spline-near-inlay",
        severity=Severity.MUST_FIX if cuts else Severity.WARNING,
        message=f"A slot {splines.depth_mm:g} mm deep on the diagonal shows to "
        f"{made.shows_mm:.1f} mm on both outer faces, and {art.name} begins "
        f"{art.from_corner_mm:g} mm from the corner: "
        + (
            f"it cuts {into:.1f} mm into the inlay."
            if cuts
            else f"{clear:.1f} mm of wood are left."
        ),
        remedy=f"{told[0].upper()}{told[1:]}.",
        subjects=(Subject("name", art.name),),
        source=art.source,
        measure=Measure("clear of the slot", clear, CLEAR_MM, "mm"),
    )


def _spline_near(
    made: MadeBox, splines: CornerSplines, at_mm: float, clear: float, thing: AtCorner
) -> Finding:
    cuts = clear < 0.0
    lid = made.box.lid
    if thing.kind == "cut" and lid is not None and not cuts:
        said = (
            f"leaves {clear + lid.clean_up_mm:.1f} mm to the kerf of the lid cut, {clear:.1f} mm "
            "after clean-up"
        )
    elif cuts:
        said = f"runs into {thing.name}"
    else:
        said = f"leaves {clear:.1f} mm to {thing.name}"
    other = _free_height(made, splines, at_mm)
    return Finding(
        code="box-spline-in-cut" if cuts else "box-spline-near-cut",
        severity=Severity.MUST_FIX if cuts else Severity.WARNING,
        message=f"The {splines.thickness_mm:g} mm spline at {at_mm:g} mm {said}.",
        remedy=f"Write it among their heights as `heights: {other:g} mm`."
        if other is not None
        else f"Leave the spline at {at_mm:g} mm out: no other height of this box is clear.",
        subjects=(Subject("name", f"spline at {at_mm:g} mm"),),
        source=made.box.source,
        measure=Measure(f"clear of {thing.name}", clear, MARGINS[thing.kind], "mm"),
    )


def _free_height(made: MadeBox, splines: CornerSplines, at_mm: float) -> float | None:
    """Return the nearest height at which a spline is clear of everything."""
    half = splines.thickness_mm / 2.0
    shut = [
        (thing.low_mm - half - margin, thing.high_mm + half + margin)
        for thing in made.at_corners()
        for margin in (MARGINS[thing.kind],)
        if thing.reach_mm - made.shows_mm < margin
        and not (thing.kind == "inlay" and _gap_mm(made, at_mm, thing) < 0.0)
    ]
    apart = splines.thickness_mm + LEAST_WALL_MM
    shut += [(each - apart, each + apart) for each in splines.heights_mm if each != at_mm]
    return _nearest(at_mm, shut, made.box.height_mm)


def _nearest(at_mm: float, shut: list[tuple[float, float]], height_mm: float) -> float | None:
    """Return the tenth nearest to a height that lies in no shut stretch."""
    ends = [end for low, high in shut for end in (rounded_down(low), rounded_up(high))]
    free = [
        end
        for end in ends
        if 0.0 < end < height_mm and not any(low + 1e-6 < end < high - 1e-6 for low, high in shut)
    ]
    return min(free, key=lambda end: (abs(end - at_mm), end), default=None)


# ---- The lid cut


def _lid(made: MadeBox) -> Iterator[Finding]:
    lid = made.box.lid
    if lid is None:
        return
    for groove in made.grooves():
        gap = max(groove.low_mm - lid.high_mm, lid.low_mm - groove.high_mm)
        if gap < CLEAR_MM - 1e-6:
            yield Finding(
                code="box-lid-cut-in-groove",
                severity=Severity.MUST_FIX,
                message=f"The lid cut takes {lid.low_mm:g} to {lid.high_mm:g} mm of the walls, and "
                f"{groove.name} {groove.low_mm:g} to {groove.high_mm:g} mm: "
                + (f"{gap:.1f} mm are left between them." if gap > 0.0 else "they meet."),
                remedy=other_cut(made, lid),
                subjects=(BOX,),
                source=made.box.source,
                measure=Measure("between them", gap, CLEAR_MM, "mm"),
            )
    for art in made.box.art:
        low, high = max(lid.low_mm, art.from_base_mm), min(lid.high_mm, art.to_mm)
        if high > low and not is_gone(made, art):
            yield from _through_art(made, lid, art, high - low)


def _through_art(made: MadeBox, lid: LidCut, art: SideArt, lost: float) -> Iterator[Finding]:
    if abs(art.opened_mm - lost) <= STEP_MM:
        return
    left = abs(lost - art.opened_mm)
    step = steps_mm(left, art.leans_rad)
    lean = math.degrees(art.leans_rad)
    other = other_cut(made, lid, besides_art=True)
    yield Finding(
        code="box-lid-cut-through-art",
        severity=Severity.WARNING,
        message=f"The lid cut takes {lost:.1f} mm of {art.name}: {lid.kerf_mm:g} mm of kerf and "
        f"{lid.clean_up_mm:g} mm of clean-up on both edges. When the lid is shut, lines that cross "
        f"it square still meet; lines that lean {lean:.0f} degrees step sideways by {step:.1f} mm, "
        "flatter ones by more.",
        remedy=f"Pull the drawing apart at the cut and write `opened: {round(lost, 1):g} mm` "
        f"there. {other}",
        subjects=(Subject("name", art.name),),
        source=art.source,
        measure=Measure("lost", left, 0.0, "mm"),
    )


def other_cut(made: MadeBox, lid: LidCut, *, besides_art: bool = False) -> str:
    """Return where else the lid may be cut: clear of all, of what must be, or nowhere."""
    box = made.box
    half = lid.lost_mm / 2.0
    leaves = [each for each in (box.hinges, box.catch) if each is not None]
    must = [
        (each.low_mm - off, each.high_mm + off)
        for each in made.grooves()
        for off in (half + CLEAR_MM + max((leaf.recess_mm for leaf in leaves), default=0.0),)
    ]
    must += [
        (-1.0, box.trim_mm + NEAR_EDGE_MM + half),
        (box.height_mm - box.trim_mm - NEAR_EDGE_MM - half, box.height_mm + 1.0),
    ]
    if box.splines is not None:
        off = half + box.splines.thickness_mm / 2.0 + NEAR_CUT_MM
        hinges = box.hinges
        if hinges is not None and hinges.from_corner_mm - made.shows_mm < CLEAR_MM:
            off += max(hinges.recess_mm, hinges.screws_mm)
        must += [(each - off, each + off) for each in box.splines.heights_mm]
    arts = [(each.from_base_mm - half, each.to_mm + half) for each in box.art]
    at_mm = _nearest(lid.from_base_mm, must + arts, box.height_mm)
    if at_mm is None and not besides_art:
        at_mm = _nearest(lid.from_base_mm, must, box.height_mm)
    if at_mm is None:
        return "No other height of these walls is clear for the lid cut."
    other = "Or cut" if besides_art else "Cut"
    return f"{other} the lid at `from base: {at_mm:g} mm`, where it is clear."


def is_gone(made: MadeBox, art: SideArt) -> bool:
    """Whether the lid cut takes all of it."""
    lid = made.box.lid
    return lid is not None and lid.low_mm <= art.from_base_mm and art.to_mm <= lid.high_mm


def _art_at_edges(made: MadeBox, art: SideArt) -> Iterator[Finding]:
    box = made.box
    subject = (Subject("name", art.name),)
    if is_gone(made, art):
        yield Finding(
            code="box-art-erased",
            severity=Severity.MUST_FIX,
            message=f"The lid cut takes all of {art.name}.",
            remedy=f"Leave {art.name} out, or place it beside the cut.",
            subjects=subject,
            source=art.source,
        )
        return
    low, high = art.from_base_mm, box.height_mm - art.to_mm
    near = min(low, high) - box.trim_mm
    if box.trim_mm == 0.0 or near >= ART_OFF_EDGE_MM - 1e-6:
        return
    least = rounded_up(box.trim_mm + ART_OFF_EDGE_MM)
    begin = max(low, least)
    end = min(art.to_mm, rounded_down(box.height_mm - least))
    ways = []
    if begin > low:
        ways.append(f"`from base: {begin:g} mm`")
    if end < art.to_mm:
        ways.append(f"`to: {end:g} mm`")
    edge = "lower" if low <= high else "upper"
    yield Finding(
        code="box-art-erased" if near < 0.0 else "box-art-near-edge",
        severity=Severity.MUST_FIX if near < 0.0 else Severity.WARNING,
        message=f"{art.name} comes to {min(low, high):g} mm from the {edge} edge, of which "
        f"{box.trim_mm:g} mm are planed off: "
        + (
            f"{min(-near, art.to_mm - low):.1f} mm of it are erased."
            if near < 0.0
            else f"{near:.1f} mm are left, and an uneven cut shows."
        ),
        remedy=f"Write {' and '.join(ways)}, so that {ART_OFF_EDGE_MM:g} mm are left beyond it."
        if begin < end
        else f"Leave {art.name} out, or place it at least {least:g} mm from the edge.",
        subjects=subject,
        source=art.source,
        measure=Measure("from the edge", min(low, high), box.trim_mm + ART_OFF_EDGE_MM, "mm"),
    )
