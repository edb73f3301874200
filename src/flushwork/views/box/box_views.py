"""The box in words: sizes, the saw cuts in order with stops and angles, how it is glued."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.job.keys.box.fittings import BoxHinges
from flushwork.job.records import EDGES, BoxPiece, HeldHow
from flushwork.views.book_records import BoxView, Fact, TableView
from flushwork.views.box.box_drawings import corner_drawing, front_drawing, plan_drawing
from flushwork.views.box.box_together import together_drawing
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.figures import Lengths, clean, joined, number
from flushwork.views.warning_lines import BOX_SAW, SAW, bites
from flushwork.wood.box_dividers import divided_mm, divider_middles_mm, dividers_mm
from flushwork.wood.box_pieces import recesses
from flushwork.wood.box_sizes import CUT_OFF_DEG, SPARE_MM, MadeBox
from flushwork.wood.box_stock import box_parts, spline_stock

ALIKE_MM: Final = 0.1
"""Opposite walls differ by no more (common practice, no source)."""
PICTURE_MM: Final = 56.0
"""Each of the three drawings, which stand beside each other, is so wide."""
TOGETHER: Final = Space(86.0, 62.0)
"""Room for each picture of box and board together."""
BACK, FRONT = "A", "C"
LETTERS: Final = ("A and C", "B and D")
"""Walls along the blank's length, and those across it."""


def box_view(
    made: Build, lengths: Lengths, arts: Mapping[str, FaceArt] | None = None
) -> BoxView | None:
    """Return the chapter on the box of a build, None where its job has none.

    With the ``arts`` of its faces box and board are drawn together, once for each worked face.
    """
    boxed = box_of_build(made)
    if boxed is None:
        return None
    wood = made.job.box.wood.colour if made.job.box else ""
    return BoxView(
        facts=tuple(_facts(boxed, lengths)),
        drawings=(
            plan_drawing(boxed, wood, PICTURE_MM, lengths),
            front_drawing(boxed, wood, PICTURE_MM, lengths),
            corner_drawing(boxed, wood, PICTURE_MM, lengths),
        ),
        together=tuple(
            picture
            for face in made.faces
            if face.worked and arts
            for picture in (together_drawing(boxed, arts[face.name], wood, TOGETHER),)
            if picture is not None
        ),
        parts=_parts(made, boxed, lengths),
        cuts=tuple(_cuts(boxed, lengths, _on_machine(made))),
        gluing=tuple(_gluing(boxed)),
        corners=_corners(boxed, lengths),
        bites=bites((SAW, BOX_SAW)),
    )


def degrees(angle_rad: float, places: int = 1) -> str:
    """Return an angle in degrees."""
    return f"{number(math.degrees(angle_rad), places)}\N{DEGREE SIGN}"


def _size(lengths: Lengths, *sizes_mm: float) -> str:
    return " \N{MULTIPLICATION SIGN} ".join(lengths.cell(each, 1) for each in sizes_mm)


def _facts(made: MadeBox, lengths: Lengths) -> Iterator[Fact]:
    box, board = made.box, made.board
    at_base = ", at the base" if box.lean_rad else ""
    yield Fact("Outside", f"{_size(lengths, *made.outside_mm)} {lengths.head}{at_base}")
    yield Fact("Clear inside", f"{_size(lengths, *made.inside_mm)} {lengths.head}{at_base}")
    yield Fact("Height", lengths.say(made.finished_height_mm, 1))
    if made.lid_mm is not None and box.lid_panel is not None:
        yield Fact(f"Lid, {box.lid_panel.how}", f"{_size(lengths, *made.lid_mm)} {lengths.head}")
    if box.dividers is not None:
        rooms = (box.dividers.across + 1) * (box.dividers.along + 1)
        size = f"{_size(lengths, *divided_mm(made))} {lengths.head}"
        yield Fact("Between the dividers", f"{rooms} rooms of {size}")
    if board is not None and box.board is not None:
        free = f"{_size(lengths, *made.free_mm)} {lengths.head}"
        yield Fact(f"Board, {box.board.how}", f"{free} free at each end as made")
    if made.bottom_mm is not None:
        yield Fact("Bottom", f"{_size(lengths, *made.bottom_free_mm)} {lengths.head} free")
    if box.splines is not None:
        spare = made.breaks_at_mm - box.splines.depth_mm
        yield Fact("A slot shows", f"{lengths.say(made.shows_mm, 1)} on both faces")
        yield Fact(
            "It would break through",
            f"at {lengths.say(made.breaks_at_mm, 1)}; {lengths.say(spare, 1)} spare",
        )
    off = degrees(math.radians(CUT_OFF_DEG))
    yield Fact(
        "Saw set wrong",
        f"by {off}: the last corner gapes {lengths.say(made.opens_mm, 1)}",
    )


def _parts(made: Build, boxed: MadeBox, lengths: Lengths) -> TableView:
    head = ("part", "number", f"sawn, {lengths.head}", f"finished, {lengths.head}", "wood", "grain")
    splines = spline_stock(made.job, boxed)
    grain = "along it" if not boxed.box.around else "along it, running on around the corners"
    rows = tuple(
        (
            clean(wanted.part.name),
            str(wanted.part.count),
            _size(lengths, wanted.part.along_mm, wanted.part.across_mm, wanted.thick_mm),
            _size(lengths, *wanted.finished_mm),
            clean(wanted.wood),
            grain
            if wanted.part.name.startswith("box wall")
            else "along it, across the joint"
            if wanted is splines
            else "along it",
        )
        for wanted in (*box_parts(made.job, boxed), *((splines,) if splines else ()))
    )
    return TableView(head, rows, wide=(0, 4, 5))


# ---- The saw cuts, in order


OnMachine = Mapping[BoxPiece, str]
"""The pieces of the box that are cut on the machine, each with its part of the job."""


def _on_machine(made: Build) -> OnMachine:
    return {part.of_box.piece: part.part for part in made.job.parts if part.of_box is not None}


def _cuts(made: MadeBox, lengths: Lengths, machine: OnMachine) -> Iterator[str]:
    box = made.box
    say = lengths.say
    gauge, tilt = made.angles_rad
    edges = f", both edges at {degrees(box.lean_rad)}" if box.lean_rad else ""
    yield (
        f"Plane the walls to {say(box.wall_mm, 1)}, rip them to {say(made.slant_mm, 1)}{edges}. "
        "Mark the outer face and the base."
    )
    grooves = [
        f"{say(depth, 1)} deep and {say(high - low, 1)} wide, from {say(low, 1)} above the base"
        for low, high, depth in _grooves(made)
    ]
    if grooves:
        whole = "the whole length" if box.around else "every wall"
        yield f"Inside, cut in {whole}: {'; '.join(grooves)}."
    pairs = list(zip(LETTERS, made.longest_mm, strict=True))
    rough = joined([f"{names} {say(each + SPARE_MM, 1)}" for names, each in pairs])
    if box.around:
        yield (
            f"Crosscut square in the order A, B, C, D, with letters on the outer face: {rough}. "
            "The grain runs on around three corners; the fourth joins the two ends."
        )
    else:
        yield f"Crosscut square, with letters on the outer face: {rough}."
    turned = (
        f"gauge {degrees(gauge, 2)} off square, blade" if box.lean_rad else "gauge square, blade"
    )
    tilted = degrees(tilt, 2 if box.lean_rad else 1)
    yield f"Set {turned} tilted {tilted}: mitre one end of each wall, outer face up."
    stops = joined([f"{say(each, 1)} for {names}" for names, each in pairs])
    yield (
        f"Set a stop, long point to long point, at {stops}; mitre the other ends. Each pair alike "
        f"within {say(ALIKE_MM, 1)}."
    )
    if box.dividers is not None:
        yield from _divider_cuts(made, lengths)
    yield from _machined(made, machine)
    yield from _after_gluing(made, lengths, machine)


def _machined(made: MadeBox, machine: OnMachine) -> Iterator[str]:
    """Tell which walls go to the machine before they are glued, and how each lies there."""
    cut = {piece: part for piece, part in machine.items() if list(recesses(made, piece))}
    lies = []
    for edge, how in (
        (False, "lies outer face up, base near"),
        (True, "stands in a fence or vice, its lower edge up, the outer face near"),
    ):
        told = [
            f"{piece} (part {clean(part)})"
            for piece, part in cut.items()
            if (piece in EDGES) == edge
        ]
        lies += [f"{each} {how}" for each in told]
    if lies:
        yield (
            f"On the machine, before gluing: {'; '.join(lies)}. X0 Y0 is at the long point of the "
            "left mitre. Chisel the corners of hinge and catch recesses square."
        )


def _divider_cuts(made: MadeBox, lengths: Lengths) -> Iterator[str]:
    """Tell the grooves that dividers stand in, their lengths, and where they are halved."""
    dividers, say = made.box.dividers, lengths.say
    if dividers is None:
        return
    thick, (inside_x, inside_y) = dividers.thickness_mm, made.inside_mm
    runs = {
        "along": ("B and D", divider_middles_mm(inside_y, dividers.along, thick)),
        "across": ("A and C", divider_middles_mm(inside_x, dividers.across, thick)),
    }
    for way, long, count in dividers_mm(made):
        walls, middles = runs[way]
        if not count:
            continue
        places = joined([lengths.cell(each, 1) for each in middles])
        size = _size(lengths, long, dividers.height_mm, thick)
        yield (
            f"Dividers {way}: {count} of {size} {lengths.head}, grain along them, their middles "
            f"{places} {lengths.head} from the inner corner."
        )
        if dividers.groove_mm:
            yield (
                f"Grooves for them in {walls}, before gluing: {say(dividers.groove_mm, 1)} deep, "
                f"{say(thick, 1)} wide, stopped {say(dividers.height_mm, 1)} above the bottom."
            )
    if dividers.along and dividers.across:
        off = dividers.groove_mm - dividers.play_mm
        ends = {
            way: joined([lengths.cell(each + off, 1) for each in runs[other][1]])
            for way, other in (("along", "across"), ("across", "along"))
        }
        yield (
            f"Halve them together: slots {say(thick, 1)} wide and {say(dividers.height_mm / 2, 1)} "
            f"deep, from above in those along, their middles {ends['along']} {lengths.head} from "
            f"the end, from below in those across, {ends['across']} {lengths.head} from the end."
        )


def _grooves(made: MadeBox) -> Iterator[tuple[float, float, float]]:
    box, held = made.box, made.box.board
    if box.bottom is not None:
        low = box.bottom.from_base_mm
        yield low, low + box.bottom.width_mm, box.bottom.depth_mm
    if held is not None and held.how is HeldHow.GROOVE:
        yield held.from_base_mm, held.from_base_mm + held.width_mm, held.depth_mm
    elif held is not None and held.how is HeldHow.REBATE:
        yield held.from_base_mm, box.height_mm, held.depth_mm


def _after_gluing(made: MadeBox, lengths: Lengths, machine: OnMachine) -> Iterator[str]:
    box, say = made.box, lengths.say
    if box.splines is not None:
        heights = joined([lengths.cell(each, 1) for each in sorted(box.splines.heights_mm)])
        yield (
            f"Glued and dry: the box in a carrier at 45\N{DEGREE SIGN}, the blade "
            f"{say(box.splines.depth_mm, 1)} above its corner, slots "
            f"{say(box.splines.thickness_mm, 1)} wide, their middles {heights} {lengths.head} "
            f"above the base. Glue in splines of {clean(box.splines.wood.name)}"
            + (f", dyed to {clean(box.splines.match.name)}" if box.splines.match else "")
            + ", grain across the joint; plane them flush."
        )
    if box.trim_mm:
        yield f"Plane {say(box.trim_mm, 1)} off the upper and off the lower edges."
    if box.lid is not None:
        low = box.lid.from_base_mm - box.lid.kerf_mm / 2.0
        yield (
            f"Lid: a kerf from {say(low, 1)} to {say(low + box.lid.kerf_mm, 1)} above the base as "
            f"glued, blade just through the wall. Cut two opposite walls, tape spacers of "
            f"{say(box.lid.kerf_mm, 1)} into the kerf, then the others; clean "
            f"{say(box.lid.clean_up_mm, 1)} off each edge."
        )
    for what, each, piece in (
        (f"Hinges on {BACK}", box.hinges, BoxPiece.WALL_A),
        (f"Catch on {FRONT}", box.catch, BoxPiece.WALL_C),
    ):
        if each is not None and piece in machine:
            yield f"{what}: the recesses are there, cut as part {clean(machine[piece])}."
        elif each is not None:
            place = (
                f"{say(each.from_corner_mm, 1)} from each corner"
                if isinstance(each, BoxHinges)
                else "in the middle"
            )
            yield (
                f"{what}: recess {say(each.recess_mm, 1)} into both edges, "
                f"{_size(lengths, each.length_mm, each.leaf_mm)} {lengths.head}, {place}."
            )
    by_hand = [each for each in EDGES if each not in machine]
    if box.feet is not None and by_hand:
        yield (
            f"Feet under {joined([each.value[-1] for each in by_hand])}: holes "
            f"{say(box.feet.diameter_mm, 1)} wide and "
            f"{say(box.feet.recess_mm, 1)} deep in the middle of the edge, "
            f"{say(box.feet.from_corner_mm, 1)} from each corner."
        )


# ---- Gluing, and what is left at the corners


def _gluing(made: MadeBox) -> Iterator[str]:
    box = made.box
    inner = [
        name
        for name, there in (
            ("the board", box.board is not None and box.board.how is HeldHow.GROOVE),
            ("the bottom", box.bottom is not None),
        )
        if there
    ]
    yield "Finish the inner faces first, mitres and grooves kept bare. Fit it dry."
    if inner:
        yield (
            f"Lay the walls outer face up, tape across the joints, turn them over. Glue the mitres "
            f"only; {joined(inner)} {'goes' if len(inner) == 1 else 'go'} in dry, or with a dab in "
            "the middle of each end, never glued all round."
        )
    else:
        yield (
            "Lay the walls outer face up, tape across the joints, turn them over and glue the "
            "mitres."
        )
    yield (
        "Fold it shut, pull the last corner together, strap it with a block at each corner. "
        "Measure both diagonals again; leave it as long as the glue's label says."
    )


def _corners(made: MadeBox, lengths: Lengths) -> TableView:
    """Return what is left above and below each spline."""
    box = made.box
    if box.splines is None:
        return TableView((), ())
    half = box.splines.thickness_mm / 2.0
    head = (f"spline at, {lengths.head}", f"below it, {lengths.head}", f"above it, {lengths.head}")
    rows = []
    for at in sorted(box.splines.heights_mm):
        cells = [lengths.cell(at, 1)]
        for way in (-1, 1):
            gaps = [
                (gap, thing.name)
                for thing in made.at_corners()
                if thing.reach_mm < made.shows_mm
                for gap in ((at - half - thing.high_mm) if way < 0 else (thing.low_mm - at - half),)
                if gap >= 0.0
            ]
            gap, name = min(gaps, default=(0.0, ""))
            cells.append(f"{lengths.cell(gap, 1)} to {clean(name)}" if name else "")
        rows.append(tuple(cells))
    return TableView(head, tuple(rows), wide=(1, 2))
