"""What is sawn for the boxes of a run: walls, bottoms and dividers, the stick of the splines."""

from __future__ import annotations

from flushwork.cutlist.parts import SawPart
from flushwork.job.records import Job
from flushwork.wood.box_dividers import dividers_mm
from flushwork.wood.box_sizes import SPARE_MM, MadeBox
from flushwork.wood.cut_parts import WantedPart
from flushwork.wood.loose_stock import HELD_MM


def spline_stock(job: Job, made: MadeBox) -> WantedPart | None:
    """Return the splines of a run and, as sawn, the one long stick that they are cut from.

    A spline fills a triangle, twice as wide as it is deep: its grain runs along that width, across
    the joint.
    """
    splines = made.box.splines
    if splines is None:
        return None
    count = 4 * len(splines.heights_mm) * (job.pieces + job.test_pieces)
    wide, deep, thick = 2.0 * splines.depth_mm, splines.depth_mm, splines.thickness_mm
    stick = count * (wide + SPARE_MM + made.kerf_mm) + HELD_MM
    return WantedPart(
        SawPart("splines, of one stick", stick, deep + SPARE_MM, count),
        thick,
        (wide, deep, thick),
        splines.wood.name,
    )


def box_parts(job: Job, made: MadeBox | None) -> tuple[WantedPart, ...]:
    """Return what is sawn for the boxes of a run: walls, in one length or each, and bottoms."""
    if made is None:
        return ()
    box, more, runs = made.box, job.rough, job.pieces + job.test_pieces
    wide, thick = made.slant_mm, box.wall_mm
    lengths = (
        [("box walls in one length", made.run_mm, 1)]
        if box.around
        else [("box wall", each + SPARE_MM, 2) for each in made.longest_mm]
    )
    walls = tuple(
        WantedPart(
            SawPart(name, long + more.length_mm, wide + more.width_mm, count * runs),
            thick + more.thickness_mm,
            (long, wide, thick),
            box.wood.name,
        )
        for name, long, count in lengths
    )
    size = made.bottom_mm
    flat = []
    if size is not None and box.bottom is not None:
        flat.append(("box bottom", max(size), min(size), box.bottom.width_mm, 1, box.wood))
    if box.dividers is not None:
        flat += [
            (f"divider {way}", long, box.dividers.height_mm, box.dividers.thickness_mm, count,
             box.dividers.wood)
            for way, long, count in dividers_mm(made) if count
        ]  # fmt: skip
    return (
        *walls,
        *(
            WantedPart(
                SawPart(name, long + more.length_mm, wide + more.width_mm, count * runs),
                thin + more.thickness_mm,
                (long, wide, thin),
                wood.name,
            )
            for name, long, wide, thin, count, wood in flat
        ),
    )
