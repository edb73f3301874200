"""From the keys of a face to its records: inlays that name mixes, cutters and one another."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.job.art_records import artwork, placement, points_of
from flushwork.job.hole_keys import HoleKeys
from flushwork.job.job_keys import FaceKeys, InlayKeys
from flushwork.job.located import Path_
from flushwork.job.reading import Reading
from flushwork.job.records import (
    ArcHoles,
    Face,
    FaceName,
    GridHoles,
    HolePattern,
    Holes,
    Inlay,
    LineHoles,
    Manner,
    MeasuredFrom,
    Mix,
    PointHoles,
    Seam,
)
from flushwork.shelf.items import Cutter, Sealer, Shop


@dataclass(frozen=True, slots=True)
class Bench:
    """What the inlays of a job draw on."""

    reading: Reading
    shop: Shop
    mixes: tuple[Mix, ...]
    clear: Mix
    sealer: Sealer | None
    overfill_mm: float
    thickness_mm: float

    def mix(self, name: str, path: Path_) -> Mix:
        """Return the mix of that name."""
        mixes = self.mixes
        if name not in {each.name for each in mixes} and name == self.clear.name:
            return self.clear
        return self.reading.find(mixes or (self.clear,), name, "mix", path)

    def cutter(self, name: str, path: Path_) -> Cutter:
        """Return the cutter of that name."""
        return self.reading.find(self.shop.cutters, name, "cutter", path)


def _cap(keys: InlayKeys, bench: Bench, path: Path_) -> Mix | None:
    if keys.how != Manner.CAPPED.value:
        return None
    if keys.cap is not None:
        return bench.mix(keys.cap, (*path, "cap"))
    return bench.clear


def _seam(keys: InlayKeys) -> Seam | None:
    if keys.seam_line is None:
        return None
    return Seam(
        along=tuple(keys.seam_line.along),
        width_mm=keys.seam_line.width,
        shared_only=keys.seam_line.edges == "shared",
    )


def _inlay(keys: InlayKeys, face: FaceName, index: int, bench: Bench) -> Inlay:
    path: Path_ = (face, "inlays", index)
    reading = bench.reading
    if keys.art is not None:
        art = tuple(
            artwork(each, reading, (*path, "art", place)) for place, each in enumerate(keys.art)
        )
    else:
        art = () if keys.seam_line is not None else (artwork(keys, reading, path),)
    cap = _cap(keys, bench, path)
    cap_mm = bench.overfill_mm if keys.cap_height is None else keys.cap_height
    return Inlay(
        name=keys.name or f"{face} inlay {index + 1}",
        face=face,
        artwork=art,
        seam=_seam(keys),
        depth_mm=keys.depth,
        measured_from=MeasuredFrom(keys.measured_from),
        mix=bench.mix(keys.fill, (*path, "fill")),
        manner=Manner(keys.how),
        cap=cap,
        cap_mm=cap_mm if cap else 0.0,
        second_pass_of=tuple(keys.second_pass_of or ()),
        after=tuple(keys.after or ()),
        vee=keys.engrave,
        twice=keys.engrave and keys.twice,
        cutters=tuple(
            bench.cutter(name, (*path, "cutters", place))
            for place, name in enumerate(keys.cutters or ())
        ),
        sealed=bench.sealer is not None if keys.sealed is None else keys.sealed,
        source=reading.source(path),
        depth_source=reading.source((*path, "depth")),
        in_layers=keys.in_layers,
    )


def _pattern(keys: HoleKeys) -> HolePattern:
    if keys.grid is not None:
        return GridHoles(
            columns=keys.grid.columns,
            rows=keys.grid.rows,
            pitch_x_mm=keys.grid.pitch[0],
            pitch_y_mm=keys.grid.pitch[-1],
            skip=tuple((place[0], place[1]) for place in keys.grid.skip),
        )
    if keys.line is not None:
        return LineHoles(
            start=(keys.line.start[0], keys.line.start[1]),
            end=(keys.line.end[0], keys.line.end[1]),
            count=keys.line.count,
            group=keys.line.group,
            gap_mm=keys.line.gap,
        )
    if keys.arc is not None:
        return ArcHoles(
            diameter_mm=keys.arc.diameter,
            count=keys.arc.count,
            start_rad=keys.arc.start,
            sweep_rad=keys.arc.sweep,
        )
    return PointHoles(points=points_of(keys.points or []), file=keys.points_file or "")


def _holes(keys: HoleKeys, face: FaceName, index: int, bench: Bench) -> Holes:
    path: Path_ = (face, "holes", index)
    if keys.grid is not None:
        for place, (column, row) in enumerate(keys.grid.skip):
            if column > keys.grid.columns or row > keys.grid.rows:
                bench.reading.slip(
                    "value-out-of-range",
                    f"skip: there is no hole [{column}, {row}] in this grid",
                    f"columns run from 1 to {keys.grid.columns}, rows from 1 to {keys.grid.rows}",
                    (*path, "grid", "skip", place),
                )
    through = math.isinf(keys.depth)
    cutter = bench.cutter(keys.cutter, (*path, "cutter")) if keys.cutter else None
    return Holes(
        name=keys.name or f"{face} holes {index + 1}",
        face=face,
        pattern=_pattern(keys),
        placement=placement(keys, as_drawn=True),
        diameter_mm=keys.diameter,
        depth_mm=bench.thickness_mm if through else keys.depth,
        through=through,
        flat_bottom=keys.flat_bottom,
        cutter=cutter,
        source=bench.reading.source(path),
        depth_source=bench.reading.source((*path, "depth")),
        peg_mm=keys.peg,
    )


def face(keys: FaceKeys, name: FaceName, bench: Bench) -> Face:
    """Return one face; what its inlays say of one another is checked by ``order``."""
    return Face(
        name=name,
        inlays=tuple(_inlay(each, name, index, bench) for index, each in enumerate(keys.inlays)),
        holes=tuple(_holes(each, name, index, bench) for index, each in enumerate(keys.holes)),
    )
