"""The side of a replay cell: how fine the board is looked at, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from flushwork.art.drawn import Drawn, DrawnFace
from flushwork.core.tolerances import CELL_MM, FINE_CELL_MM
from flushwork.job.records import Job
from flushwork.strata.steps import BoardSpec

CELLS_ACROSS: Final = 6.0
"""Cells a width must span so that its volume is within 1 % wherever the lattice falls
(``design/cell_mm.py`` prints the error against the choice)."""

_FINEST_CELL_MM: Final = 0.02


@dataclass(frozen=True, slots=True)
class CellChoice:
    """A cell's side in mm and the reason for it in one sentence."""

    cell_mm: float
    reason: str


def choose_cell_mm(narrowest_mm: float) -> CellChoice:
    """Return the side of a cell for artwork whose narrowest width is ``narrowest_mm``.

    The default serves any width of six cells and more.
    """
    if narrowest_mm < CELLS_ACROSS * FINE_CELL_MM:
        cell_mm = max(_FINEST_CELL_MM, round(narrowest_mm / CELLS_ACROSS, 3))
        return CellChoice(
            cell_mm,
            f"the narrowest line is {narrowest_mm:.2f} mm wide; cells of {cell_mm:g} mm put "
            f"{narrowest_mm / cell_mm:.0f} across it",
        )
    if narrowest_mm < CELLS_ACROSS * CELL_MM:
        return CellChoice(
            FINE_CELL_MM,
            f"the narrowest line is {narrowest_mm:.2f} mm wide; cells of {FINE_CELL_MM} mm put "
            f"{narrowest_mm / FINE_CELL_MM:.0f} across it",
        )
    return CellChoice(CELL_MM, f"nothing is narrower than {CELLS_ACROSS * CELL_MM:.1f} mm")


def board_spec(job: Job, faces: Sequence[DrawnFace]) -> BoardSpec:
    """Return the blank as the replay needs it, with the job's cell or one that fits its artwork.

    A seam is as wide as the job says, a shape as wide as twice its area over its outline (a long
    line's width); nothing is cut narrower than the narrowest bit.
    """
    cell_mm = job.cell_mm
    if cell_mm is None:
        drawn = [item for face in faces for item in face.things]
        widths = [_narrowest_mm(job, item) for item in drawn]
        cell_mm = choose_cell_mm(min(widths, default=CELLS_ACROSS * CELL_MM)).cell_mm
    return BoardSpec(
        length_mm=job.blank.length_mm,
        width_mm=job.blank.width_mm,
        thickness_mm=job.blank.thickness_mm,
        turn_about_x=job.blank.turn_about_x,
        cell_mm=cell_mm,
    )


def _narrowest_mm(job: Job, drawn: Drawn) -> float:
    seam = drawn.thing.seam
    if seam is not None:
        return seam.width_mm
    widths = [2.0 * part.area / part.length for part in drawn.region.geoms if part.length > 0.0]
    bits = drawn.thing.bits or job.shop.bits
    return max(
        min(widths, default=CELLS_ACROSS * CELL_MM),
        min((bit.diameter_mm for bit in bits), default=0.0),
    )
