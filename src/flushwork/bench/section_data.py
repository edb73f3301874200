"""A section or a single column of the replayed board, as plain data for a page to draw."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from flushwork.job.records import FaceName
from flushwork.pipeline import Build
from flushwork.proof import spreads
from flushwork.strata.board import BoardState
from flushwork.strata.section import Section, section

MOST_COLUMNS: Final = 700
SANDED: Final = "sanded"
"""How the ledger calls a sanding."""
ABSENT_MM: Final = 0.001
"""A layer thinner than this is not named."""


def section_data(
    made: Build,
    stage: int,
    face: FaceName,
    start: tuple[float, float],
    end: tuple[float, float],
) -> dict[str, Any]:
    """Return the column stacks along a line, in mm; columns no closer than the cell."""
    spec = made.replay.spec
    length_mm = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    step_mm = max(spec.cell_mm, length_mm / MOST_COLUMNS)
    cut = section(made.replay.after(stage), spec, face, start, end, step_mm=step_mm)
    return {
        "face": face,
        "length_mm": length_mm,
        "positions": _rounded(cut.positions_mm),
        "near": _layers(made, cut.near),
        "far": _layers(made, cut.far),
        "hole": np.flatnonzero(cut.hole).tolist(),
        "coats_mm": list(cut.coats_mm),
        "wood": made.palette.timber.hex,
        "timber": made.job.blank.timber.name,
        "planes": _planes(made, stage, face),
        "least_web_mm": _least_web(cut),
        "seams": _seams(made, face, start, end),
    }


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
        return made.palette.timber.hex
    return colour.hex if colour is not None and not colour.clear else ""


def _planes(made: Build, stage: int, face: FaceName) -> list[dict[str, Any]]:
    """Return the heights to which this face was or will be taken, as the ledger knows them.

    ``spread_mm`` is how far up or down all sandings up to then come to lie, in 19 of 20 pieces.
    """
    planes: list[dict[str, Any]] = []
    before_mm, taken_mm, times = 0.0, 0.0, 0
    for entry in made.replay.ledger:
        if entry.face != face:
            continue
        if entry.why == SANDED:
            taken_mm, times = taken_mm + before_mm - entry.face_mm, times + 1
        before_mm = entry.face_mm
        sd_mm = spreads.sanding(face).sd * spreads.sanded_mm(made.job, taken_mm, times)
        planes.append(
            {
                "why": entry.why,
                "mm": round(entry.face_mm, 4),
                "done": entry.stage <= stage,
                "spread_mm": round(2.0 * sd_mm, 4) if entry.why == SANDED else 0.0,
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
            at_mm = line.project(part.centroid)
            found.append({"at": round(at_mm, 3), "name": inlay.inlay.name, "mm": seam.width_mm})
    return sorted(found, key=lambda each: each["at"])


def _least_web(cut: Section) -> dict[str, float] | None:
    web = np.where(cut.hole, np.inf, cut.near[0][1] - cut.far[0][1])
    least = int(np.argmin(web))
    if not np.isfinite(web[least]):
        return None
    return {"mm": round(float(web[least]), 3), "at": round(float(cut.positions_mm[least]), 3)}


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
