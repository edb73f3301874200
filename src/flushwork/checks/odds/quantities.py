"""All the quantities a piece stands or falls by, those that dull a bright line among them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import isfinite

import numpy as np
import shapely

from flushwork.built import Build
from flushwork.checks.expected_board import last_sanding, sanded_at, sanded_off_mm
from flushwork.checks.odds import variation
from flushwork.checks.odds.heights import upright
from flushwork.checks.odds.sideways import sideways
from flushwork.checks.odds.variation import (
    Critical,
    CriticalQuantity,
    Floats,
    single,
    variation_out,
)
from flushwork.checks.rules.board.look_rules import mean_width_mm
from flushwork.checks.rules.work.order_rules import has_flakes
from flushwork.core.findings import Subject
from flushwork.job.records import Manner
from flushwork.resin.recess import (
    PINNING,
    keeps_share,
    mean_recess_mm,
    most_sanding_mm,
    recess_at_mm,
)
from flushwork.strata.measure import FaceMap, thickness_map

WANTED = 0.6
"""Share of a line's width that shall stay bright (assumed, 0.5 to 0.8)."""
PLACE_MM = 4.0
"""A cap is looked at in squares of this size."""
FEW = 6
"""A square that holds fewer cells of cap than this lies at its rim."""


def shining(build: Build) -> Iterator[CriticalQuantity]:
    """Yield everything that keeps bright lines bright."""
    yield from caps(build)
    yield from bright_lines(build)


def caps(build: Build) -> Iterator[CriticalQuantity]:
    """Yield the clear that is left over each capped line once its cap is sanded, place by place."""
    for face in build.faces:
        for drawn in face.inlays:
            inlay, cap = drawn.inlay, drawn.inlay.cap
            if cap is None or drawn.region.is_empty:
                continue
            mapped = thickness_map(
                build.replay.final.face(face.name), build.replay.spec, cap.name, drawn.region
            )
            nominal, at_mm = _by_square(mapped)
            if not len(nominal):
                spot = drawn.region.representative_point()
                nominal, at_mm = np.zeros(1), np.array([(spot.x, spot.y)])
            since = sanded_at(build, inlay.name)
            taken, times = sanded_off_mm(build, face.name, since)
            ones = np.ones(len(nominal))
            yield variation_out(
                Critical.CAP,
                (Subject("inlay", inlay.name),),
                face.name,
                at_mm,
                nominal,
                0.0,
                (
                    (
                        variation.sanding(face.name),
                        -variation.sanded_mm(build.job, taken, times) * ones,
                    ),
                    (variation.shrinkage(), inlay.mix.resin.shrinkage * inlay.depth_mm * ones),
                ),
                last_sanding(build, face.name),
            )


def _by_square(mapped: FaceMap) -> tuple[Floats, Floats]:
    """Return the middle thickness of what covers each square of a map, and the square's place."""
    rows, columns = np.nonzero(mapped.values > 0.0)
    if not len(rows):
        return np.zeros(0), np.zeros((0, 2))
    step = max(1, round(PLACE_MM / mapped.cell_mm))
    wide = mapped.values.shape[1] // step + 1
    squares = (rows // step) * wide + columns // step
    order = np.argsort(squares, kind="stable")
    starts = np.flatnonzero(np.diff(squares[order], prepend=-1))
    found: list[tuple[float, float, float]] = []
    for members in np.split(order, starts[1:]):
        if len(members) < FEW:
            continue
        row, column = rows[members], columns[members]
        x_mm, y_mm = mapped.place(int(np.median(row)), int(np.median(column)))
        found.append((float(np.median(mapped.values[row, column])), x_mm, y_mm))
    table = np.array(found, float).reshape(-1, 3)
    return table[:, 0], table[:, 1:]


def bright_lines(build: Build) -> Iterator[CriticalQuantity]:
    """Yield, for scraped lines of flakes without a cap, how far sanding stays off them.

    The line counts as bright while most of its width is (``WANTED``).
    """
    for face in build.faces:
        for drawn in face.inlays:
            inlay = drawn.inlay
            width = inlay.seam.width_mm if inlay.seam is not None else mean_width_mm(drawn)
            if inlay.manner is not Manner.SCRAPED or not has_flakes(inlay.mix) or width <= 0.0:
                continue
            since = sanded_at(build, inlay.name)
            sand, times = sanded_off_mm(build, face.name, since)
            depth = inlay.depth_mm + sand
            recess = mean_recess_mm(width, depth, keeps_share(inlay.mix, depth))
            spot = drawn.region.representative_point()
            yield single(
                Critical.BRIGHT_LINE,
                (Subject("inlay", inlay.name),),
                face.name,
                (spot.x, spot.y),
                most_sanding_mm(recess, WANTED, PINNING) - sand,
                0.0,
                (
                    (variation.sanding(face.name), -variation.sanded_mm(build.job, sand, times)),
                    (
                        variation.shrinkage(),
                        inlay.mix.resin.shrinkage * depth * recess_at_mm(1.0, WANTED, PINNING),
                    ),
                ),
                last_sanding(build, face.name),
            )


def quantities(build: Build) -> tuple[CriticalQuantity, ...]:
    """Return every critical quantity of a job."""
    found = (*sideways(build), *upright(build), *shining(build), *ratios(build))
    parted = build.parted_into
    return tuple(_on_pieces(build, each, parted) for each in found) if parted > 1 else found


def _on_pieces(build: Build, quantity: CriticalQuantity, parted: int) -> CriticalQuantity:
    """Return a quantity with the piece of its blank that each of its places is on.

    What has one place only (a height, a batch) stands for the whole blank.
    """
    piece_of = None
    if len(quantity.nominal) > 1:
        outlines = shapely.STRtree(list(build.face(quantity.face).trim.geoms))
        piece_of = np.asarray(outlines.nearest(shapely.points(quantity.at_mm)), np.intp)
    return replace(quantity, parted=parted, piece_of=piece_of)


def ratios(build: Build) -> Iterator[CriticalQuantity]:
    """Yield how far each batch's ratio stays within its resin's tolerance."""
    for pour in build.pours:
        if not isfinite(pour.ratio_error) or pour.ratio_error <= 0.0:
            continue
        mixing = variation.mixing(pour.number, pour.ratio_error)
        yield CriticalQuantity(
            Critical.RATIO,
            (Subject("mix", pour.mix.name),),
            "front",
            "",
            0.0,
            np.array([pour.mix.resin.tolerance]),
            {mixing.key: np.array([1.0])},
            (mixing,),
            np.zeros((1, 2)),
            both_ways=True,
            stage=pour.stage,
        )
