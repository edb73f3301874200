"""A section or a single column of the replayed board, as plain data for a page to draw."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import FaceName
from flushwork.pipeline import Build
from flushwork.strata.board import BoardState
from flushwork.strata.section import Section, section

MOST_COLUMNS: Final = 700
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
    """Return the heights to which this face was or will be taken, as the ledger knows them."""
    return [
        {"why": entry.why, "mm": round(entry.face_mm, 4), "done": entry.stage <= stage}
        for entry in made.replay.ledger
        if entry.face == face
    ]


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
