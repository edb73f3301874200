"""A section or a single column of the replayed board, as plain data for a page to draw."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon

from flushwork.built import Build
from flushwork.job.records import FaceName
from flushwork.strata.section import BoardSection, section
from flushwork.strata.surfaces import BoardState
from flushwork.usecases.odds import sanded_sd_mm

MOST_COLUMNS: Final = 350
"""Columns told where all runs straight; where a surface bends, all that were looked at are."""
WALL_CELLS: Final = 2
"""So many cells beside a hole may be cut in part."""
MOST_LOOKED_AT: Final = 2_000
BEND_MM: Final = 0.001
"""A surface bends where it leaves the straight between its neighbours by more than this."""
SANDED: Final = "sanded"
"""How the thickness table calls a sanding."""
ABSENT_MM: Final = 0.001
"""A layer thinner than this is not named."""


def section_data(
    made: Build,
    stage: int,
    face: FaceName,
    start: tuple[float, float],
    end: tuple[float, float],
) -> dict[str, Any]:
    """Return the column stacks along a line, in mm; columns no closer than the cell.

    They stand close where a surface bends and far apart where all run straight, so that a wall is
    no broader than the cell however long the line is.
    """
    spec = made.replay.spec
    length_mm = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    step_mm = max(spec.cell_mm, length_mm / MOST_LOOKED_AT)
    whole = section(made.replay.after(stage), spec, face, start, end, step_mm=step_mm)
    wood_between = _least_wood_between_faces(whole, _trim(made, face))
    cut = _told(whole)
    return {
        "face": face,
        "length_mm": length_mm,
        "positions": _rounded(cut.positions_mm),
        "near": _layers(made, cut.near),
        "far": _layers(made, cut.far),
        "hole": np.flatnonzero(cut.hole).tolist(),
        "coats_mm": list(cut.coats_mm),
        "wood": made.palette.wood.hex,
        "species": made.job.blank.wood.name,
        "planes": _planes(made, stage, face),
        "least_wood_between_mm": wood_between,
        "seams": _seams(made, face, start, end),
    }


def _told(cut: BoardSection) -> BoardSection:
    """Return a section without most of the columns between which all surfaces run straight."""
    count = len(cut.positions_mm)
    told = np.zeros(count, np.bool_)
    told[:: max(1, math.ceil(count / MOST_COLUMNS))] = True
    told[[0, -1]] = True
    bends = np.zeros(count, np.bool_)
    bends[1:] = cut.hole[1:] != cut.hole[:-1]
    for _, heights in (*cut.near, *cut.far):
        bends[1:-1] |= np.abs(heights[:-2] - 2.0 * heights[1:-1] + heights[2:]) > BEND_MM
    # what bends, and the columns on both sides of it
    told |= bends
    told[1:] |= bends[:-1]
    told[:-1] |= bends[1:]
    return replace(
        cut,
        positions_mm=cut.positions_mm[told],
        places_mm=cut.places_mm[told],
        near=tuple((material, heights[told]) for material, heights in cut.near),
        far=tuple((material, heights[told]) for material, heights in cut.far),
        hole=cut.hole[told],
    )


def _trim(made: Build, face: FaceName) -> MultiPolygon | None:
    """Return what lies inside the trim line of a face, None where nothing is trimmed away."""
    drawn = next((each for each in made.faces if each.name == face), None)
    return None if drawn is None or drawn.trim.is_empty else drawn.trim


def _rounded(values: NDArray[np.floating]) -> list[float]:
    result: list[float] = np.round(values.astype(np.float64), 4).tolist()
    return result


def _layers(
    made: Build, profiles: tuple[tuple[str, NDArray[np.float32]], ...]
) -> list[dict[str, Any]]:
    return [
        {"material": material, "colour": _colour(made, material), "top": _rounded(heights)}
        for material, heights in profiles
    ]


def _colour(made: Build, material: str) -> str:
    colour = made.palette.mixes.get(material)
    if material == "wood":
        return made.palette.wood.hex
    return colour.hex if colour is not None and not colour.clear else ""


def _planes(made: Build, stage: int, face: FaceName) -> list[dict[str, Any]]:
    """Return the heights this face is taken to, as the thickness table knows them.

    ``variation_mm`` is how far up or down all sandings up to then come to lie, in 19 of 20 pieces.
    """
    planes: list[dict[str, Any]] = []
    before_mm, taken_mm, times = 0.0, 0.0, 0
    for entry in made.replay.thickness_table:
        if entry.face != face:
            continue
        if entry.why == SANDED:
            taken_mm, times = taken_mm + before_mm - entry.face_mm, times + 1
        before_mm = entry.face_mm
        sd_mm = sanded_sd_mm(made, face, taken_mm, times)
        planes.append(
            {
                "why": entry.why,
                "mm": round(entry.face_mm, 4),
                "done": entry.stage <= stage,
                "variation_mm": round(2.0 * sd_mm, 4) if entry.why == SANDED else 0.0,
            }
        )
    return planes


def _seams(
    made: Build, face: FaceName, start: tuple[float, float], end: tuple[float, float]
) -> list[dict[str, Any]]:
    """Return where the line crosses the edges that a seam line hides, from its start."""
    drawn = next((each for each in made.faces if each.name == face), None)
    line = LineString([start, end])
    found: list[dict[str, Any]] = []
    for inlay in drawn.inlays if drawn is not None and line.length > 0.0 else ():
        seam = inlay.inlay.seam
        if seam is None:
            continue
        for part in shapely.get_parts(inlay.strokes.intersection(line)):
            if part.is_empty:
                # a line that misses it still has one part: an empty one, which lies nowhere
                continue
            at_mm = line.project(part.centroid)
            found.append({"at": round(at_mm, 3), "name": inlay.inlay.name, "mm": seam.width_mm})
    return sorted(found, key=lambda each: each["at"])


def _least_wood_between_faces(
    cut: BoardSection, trim: MultiPolygon | None
) -> dict[str, float] | None:
    """Return the least wood between the faces, in the piece: the waste around it is thin anyway."""
    away = cut.hole.copy()
    for off in range(1, WALL_CELLS + 1):
        # the wall of a hole is no wood between the faces
        away[off:] |= cut.hole[:-off]
        away[:-off] |= cut.hole[off:]
    if trim is not None:
        shapely.prepare(trim)
        away |= ~shapely.contains_xy(trim, cut.places_mm[:, 0], cut.places_mm[:, 1])
    wood_between = np.where(away, np.inf, cut.near[0][1] - cut.far[0][1])
    least = int(np.argmin(wood_between))
    if not np.isfinite(wood_between[least]):
        return None
    return {
        "mm": round(float(wood_between[least]), 3),
        "at": round(float(cut.positions_mm[least]), 3),
    }


def column_data(
    made: Build, stage: int, face: FaceName, x_mm: float, y_mm: float
) -> dict[str, Any]:
    """Return what lies at one place, the uppermost first, and the heights there."""
    state: BoardState = made.replay.after(stage)
    spec = made.replay.spec
    cut = section(state, spec, face, (x_mm, y_mm), (x_mm, y_mm))
    tops = [(material, float(heights[0])) for material, heights in cut.near]
    layers = [
        {"material": material, "mm": round(top - below, 3)}
        for (material, top), (_, below) in zip(tops[1:], tops[:-1], strict=True)
        if top - below > ABSENT_MM
    ]
    return {
        "x_mm": x_mm,
        "y_mm": y_mm,
        "hole": bool(cut.hole[0]),
        "top_mm": round(tops[-1][1], 3),
        "plane_mm": round(state.face(face).plane_mm, 3),
        "layers": layers[::-1],
        "wood_mm": round(float(cut.near[0][1][0] - cut.far[0][1][0]), 3),
    }
