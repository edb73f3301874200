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
from flushwork.kernels.wetting import share_cut
from flushwork.strata.board import Heights
from flushwork.strata.steps import Recess

STILL: Final = 1e-4
"""The surface is taken as found once no cell moves by more than this share of its sag."""

_MOST_SWEEPS: Final = 2000
_SPREADS: Final = 24


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
