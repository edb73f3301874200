"""The box of a build: what its walls have to be around the board that the replay leaves."""

from __future__ import annotations

from flushwork.built import Build
from flushwork.checks.expected_board import finished_thickness_mm, year_of_build
from flushwork.colour.spaces import format_hex
from flushwork.job.keys.edges import ALONG_TRIM
from flushwork.job.records import BoxPiece, EdgeShape, HeldHow, Job
from flushwork.shelf.items import Wood
from flushwork.wood.box_sizes import BoxBoard, MadeBox
from flushwork.wood.dyeing import dye_recipes, dyed_splines
from flushwork.wood.movement import MovingBoard, year_of


def box_of_build(build: Build) -> MadeBox | None:
    """Return the box of a build with the board it is made around, None where it has none."""
    box = build.job.box
    if box is None:
        return None
    board = board_of_build(build) if box.board is not None else None
    lid = next((part.of_box for part in build.job.parts if _is_lid(part)), None)
    return MadeBox(
        box,
        board,
        _grows(build, box.wood) if box.bottom is not None else 0.0,
        _grows(build, lid.wood or box.wood) if lid is not None else 0.0,
        _dyed(build),
    )


def _dyed(build: Build) -> str:
    """Return the colour that the splines are dyed to, empty where they are bare."""
    if not dyed_splines(build.job):
        return ""
    return format_hex(dye_recipes(build.job, build.palette)[-1][2].rgb)


def _is_lid(part: Job) -> bool:
    return part.of_box is not None and part.of_box.piece is BoxPiece.LID


def _grows(build: Build, wood: Wood) -> float:
    """Return by which share a flat-sawn panel of a wood widens until the dampest month."""
    panel = MovingBoard(wood, 1.0, build.job.blank.moisture, flat_sawn=True, ring_radius_mm=1e3)
    return max(0.0, year_of(panel, build.job.rooms).dampest.strain)


def board_of_build(build: Build) -> BoxBoard:
    """Return the finished board as it goes into a box."""
    blank = build.job.blank
    size = (0.0, 0.0, blank.length_mm, blank.width_mm)
    west, south, east, north = next((face.trim.bounds for face in build.faces), size)
    year = year_of_build(build)
    thick_mm = finished_thickness_mm(build)
    held = build.job.box.board if build.job.box else None
    wanted_mm = held.depth_mm + held.reveal_mm if held and held.how is HeldHow.GROOVE else 0.0
    rebates = [
        edge
        for face in build.faces
        for edge in face.edges
        if edge.along == ALONG_TRIM and edge.shape is EdgeShape.REBATE
    ]
    wide = [each for each in rebates if each.size_mm >= wanted_mm - 1e-6]
    grows = (0.0, max(0.0, year.dampest.growth_mm))
    shrinks = (0.0, max(0.0, -year.driest.growth_mm))
    if not blank.grain_along_x:
        grows, shrinks = grows[::-1], shrinks[::-1]
    return BoxBoard(
        size_mm=(east - west, north - south),
        thick_mm=thick_mm,
        edge_mm=thick_mm - sum(each.depth_mm for each in wide),
        rebate_mm=max((each.size_mm for each in rebates), default=0.0),
        grows_mm=grows,
        shrinks_mm=shrinks,
    )
