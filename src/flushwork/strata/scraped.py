"""How a fill that was scraped flush comes to lie once its thinner has left and it has cured.

The liquid of a pocket is one body until it gels, so the pressure under its surface is the same
everywhere: where the edge lets go the surface drops flat, where it stays pinned it hangs from the
walls by the linear equation of Young and Laplace.  In a straight slot much narrower than the
capillary length that is the parabola 1.5 m (1 - (2x/w)^2); in a wide pocket the middle is flat.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.kernels.hanging import hang, neighbours_of, number_cells, pockets_of
from flushwork.memory import remembered
from flushwork.strata.board import Heights
from flushwork.strata.steps import Recess

STILL: Final = 1e-4
"""The surface is taken as found once no cell moves by more than this share of its sag."""

_MOST_SWEEPS: Final = 2000
_SPREADS: Final = 24


def share_cut(liquid: Heights) -> NDArray[np.float32]:
    """Return how much of each cell is cut, (rows, columns), from the liquid that stands in it.

    A cell at a wall holds as much less liquid than its fullest neighbour as the wall takes of it.
    """
    fullest = np.array(liquid, np.float32)
    for axis in (0, 1):
        before = fullest.copy()
        inner, outer = [slice(None)] * 2, [slice(None)] * 2
        inner[axis], outer[axis] = slice(1, None), slice(None, -1)
        np.maximum(fullest[tuple(inner)], before[tuple(outer)], out=fullest[tuple(inner)])
        np.maximum(fullest[tuple(outer)], before[tuple(inner)], out=fullest[tuple(outer)])
    return (liquid / np.maximum(fullest, np.float32(1e-9))).astype(np.float32)


@remembered
def wetted(top: Heights, liquid: Heights, cell_mm: float) -> NDArray[np.float32]:
    """Return the area of floor and wall that each wet cell's liquid touches, over the cell's area.

    ``top`` (rows + 2, columns + 2) is the surface under ``liquid`` (rows, columns) with a cell
    more all around.  A step to a dry cell counts in full, one between two wet cells to each half.
    """
    wet = liquid > 0.0
    framed = np.pad(wet, 1)
    slope = np.zeros((2, *liquid.shape), np.float32)
    middle = top[1:-1, 1:-1]
    for axis in (0, 1):
        for step in (0, 2):
            part = [slice(1, -1), slice(1, -1)]
            part[axis] = slice(step, step + liquid.shape[axis])
            apart = np.abs(top[tuple(part)] - middle) / np.float32(cell_mm)
            slope[axis] += np.where(framed[tuple(part)], np.float32(0.5), np.float32(1.0)) * apart
    floor = share_cut(liquid)
    area: NDArray[np.float32] = np.sqrt(floor**2 + slope[0] ** 2 + slope[1] ** 2)
    return np.where(wet, area, np.float32(0.0))


def settled(
    liquid: Heights,
    keeps: float,
    drunk_mm: Heights,
    recess: Recess,
    cell_mm: float,
) -> Heights:
    """Return the cured thickness of a scraped fill, (rows, columns), from its liquid thickness.

    ``keeps`` is the share of the liquid left, ``drunk_mm`` what the bare wood of each cell drinks,
    as a thickness.  Each pocket keeps exactly what is left of its own liquid.
    """
    wet = liquid > 0.0
    count = int(np.count_nonzero(wet))
    if count == 0:
        return liquid
    held = liquid[wet].astype(np.float64)
    lost = (1.0 - keeps) * held + drunk_mm[wet]
    share = share_cut(liquid)[wet].astype(np.float64)
    neighbours = neighbours_of(number_cells(wet), count)
    pockets = pockets_of(neighbours)
    sunk = np.zeros(count)
    if recess.pinning < 1.0:
        sunk += (1.0 - recess.pinning) * _spread(share, lost, held, pockets)
    if recess.pinning > 0.0:
        sag = hang(neighbours, share, (cell_mm / recess.capillary_mm) ** 2, STILL, _MOST_SWEEPS)
        # a pocket too fine for any cell to hang in drops flat
        alone = np.bincount(pockets, sag)[pockets] <= 0.0
        sunk += recess.pinning * _spread(share * np.where(alone, 1.0, sag), lost, held, pockets)
    cured = np.zeros_like(liquid)
    cured[wet] = np.maximum(held - sunk, 0.0)
    return cured


def _spread(
    shape: NDArray[np.float64],
    lost: NDArray[np.float64],
    held: NDArray[np.float64],
    pockets: NDArray[np.int32],
) -> NDArray[np.float64]:
    """Return a sinking of a shape that takes from each pocket what it lost, no cell below empty."""
    left = np.bincount(pockets, lost)
    sunk = np.zeros_like(held)
    for _ in range(_SPREADS):
        free = np.where(sunk < held, shape, 0.0)
        whole = np.bincount(pockets, free)
        scale = np.divide(left, whole, out=np.zeros_like(left), where=whole > 0.0)
        taken = np.minimum(free * scale[pockets], held - sunk)
        sunk += taken
        left = left - np.bincount(pockets, taken)
        if not (left > 1e-9 * np.maximum(whole, 1e-12)).any():
            break
    return sunk
