"""A part of the job that is a piece of its box: its blank, its trim line, its recesses.

A hinge or the catch is let into both edges of the lid cut at once: one pocket over the cut, in the
outer face of the wall before it is glued, as deep as the leaf is wide.  What the saw leaves of it
is the recess in each edge.  A foot's recess is sunk into the lower edge of a wall set on edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from flushwork.core.findings import Source
from flushwork.job.records import (
    EDGES,
    Artwork,
    BoxPiece,
    CircleArt,
    Face,
    Job,
    OfBox,
    Outline,
    Placement,
    Pocket,
    RectangleArt,
    told_at,
)
from flushwork.wood.box_sizes import MadeBox

TABS, TAB_MM, TAB_HEIGHT_MM = 4, 4.0, 1.2
"""The usual tabs of a trim line."""
ACROSS_X: Final = (BoxPiece.WALL_B, BoxPiece.WALL_D)


@dataclass(frozen=True, slots=True)
class LetIn:
    """A recess in a piece of the box: its middle from the piece's lower left corner, its size.

    Those of one name are one pocket; a round one has no width.  ``key`` is where the
    job says how deep it is.
    """

    name: str
    key: str
    x_mm: float
    y_mm: float
    long_mm: float
    wide_mm: float
    depth_mm: float

    @property
    def art(self) -> CircleArt | RectangleArt:
        """What is cut out."""
        if self.wide_mm == 0.0:
            return CircleArt(self.long_mm, 0.0)
        return RectangleArt(self.long_mm, self.wide_mm)


def piece_mm(made: MadeBox, piece: BoxPiece) -> tuple[float, float, float]:
    """Return the finished size of a piece along x and y, and its thickness (0 of a lid)."""
    box = made.box
    if piece in EDGES:
        return made.longest_mm[0], box.wall_mm, made.slant_mm
    if piece is BoxPiece.BOTTOM:
        along, across = made.bottom_mm or (0.0, 0.0)
        return along, across, box.bottom.width_mm if box.bottom else 0.0
    if piece is BoxPiece.LID:
        along, across = made.lid_mm or (0.0, 0.0)
        return along, across, 0.0
    return made.longest_mm[1 if piece in ACROSS_X else 0], made.slant_mm, box.wall_mm


def recesses(made: MadeBox, piece: BoxPiece) -> Iterator[LetIn]:
    """Yield the recesses of a piece."""
    box, long = made.box, made.longest_mm[0]
    lid, hinges, catch, feet = box.lid, box.hinges, box.catch, box.feet
    if piece is BoxPiece.WALL_A and hinges is not None and lid is not None:
        high = lid.lost_mm + 2.0 * hinges.recess_mm
        near = hinges.from_corner_mm + hinges.length_mm / 2.0
        for x in (near, long - near):
            size = (hinges.length_mm, high, hinges.leaf_mm)
            yield LetIn("hinges", "box.hinges", x, lid.from_base_mm, *size)
    if piece is BoxPiece.WALL_C and catch is not None and lid is not None:
        high = lid.lost_mm + 2.0 * catch.recess_mm
        size = (catch.length_mm, high, catch.leaf_mm)
        yield LetIn("catch", "box.catch", long / 2.0, lid.from_base_mm, *size)
    if piece in EDGES and feet is not None:
        size = (feet.diameter_mm, 0.0, box.trim_mm + feet.recess_mm)
        for x in (feet.from_corner_mm, long - feet.from_corner_mm):
            yield LetIn("feet", "box.feet", x, box.wall_mm / 2.0, *size)


def piece_of_box(part: Job, of_box: OfBox, made: MadeBox, job: Job) -> Job:
    """Return a part with the size and the recesses that its box gives it.

    ``job`` is the first part, which says how the box is.  A lid keeps its own thickness, as sawn;
    of any other piece the blank is as thick as the finished piece.
    """
    along, across, thick = piece_mm(made, of_box.piece)
    more = 2.0 * of_box.waste_mm
    lid = of_box.piece is BoxPiece.LID
    flat = of_box.piece in (BoxPiece.LID, BoxPiece.BOTTOM)
    blank = replace(
        part.blank,
        wood=of_box.wood or made.box.wood,
        length_mm=along + more,
        width_mm=across + more,
        thickness_mm=of_box.thickness_mm or thick,
        grain_along_x=made.grain_along_x if flat else True,
        moisture=job.blank.moisture,
    )
    outline = part.outline
    if of_box.waste_mm > 0.0:
        art = Artwork(RectangleArt(along, across), Placement(), of_box.source)
        outline = Outline(art, 0.0, TABS, TAB_MM, TAB_HEIGHT_MM, None, of_box.source)
    sunk: dict[str, list[LetIn]] = {}
    for each in recesses(made, of_box.piece):
        sunk.setdefault(each.name, []).append(each)
    pockets = tuple(
        _pocket(each, (along, across), told_at(job, each[0].key)) for each in sunk.values()
    )
    front = part.face("front")
    front = replace(front, pockets=(*front.pockets, *pockets))
    faces: tuple[Face, ...] = tuple(each for each in (front, part.face("back")) if each.worked)
    sized = replace(part, blank=blank, outline=outline, faces=faces)
    if lid:
        return sized
    # walls and bottom get their finish with the box
    sized = replace(sized, finish=None)
    if not sized.planed:
        return sized
    return replace(sized, allowances=replace(part.allowances, surface_mm=0.0, sand_bare=False))


def _pocket(sunk: list[LetIn], size_mm: tuple[float, float], source: Source) -> Pocket:
    middle_x, middle_y = (each / 2.0 for each in size_mm)
    return Pocket(
        name=sunk[0].name,
        face="front",
        artwork=tuple(
            Artwork(each.art, Placement(each.x_mm - middle_x, each.y_mm - middle_y), source)
            for each in sunk
        ),
        depth_mm=sunk[0].depth_mm,
        v_bit=False,
        into=(),
        bits=(),
        source=source,
        depth_source=source,
    )


def as_sawn(sized: Job, of_box: OfBox, taken_mm: float) -> Job:
    """Return a piece of the box as thick as it is sawn: what its work takes comes on top."""
    if of_box.piece is BoxPiece.LID:
        return sized
    thick_mm = sized.blank.thickness_mm + taken_mm
    return replace(sized, blank=replace(sized.blank, thickness_mm=thick_mm))
