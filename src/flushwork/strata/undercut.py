"""Where a keyhole bit is seen: its head takes wood beneath wood that stays, which no height tells.

A face is a stack of heights, and over an undercut there are two: the lip above and the floor below.
The replay holds what is seen from above: the entry, as wide as the head, and the slot of the neck.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.shelf.items import Bit

LEVEL_MM: Final = 1e-6
"""Heights closer than this are one."""

Floats = NDArray[np.float64]


def is_wide(moves: Floats, bit: Bit, plane_mm: float) -> NDArray[np.bool_]:
    """Return of each segment (n, 6) whether the head cuts right up to the face.

    It does so straight up and down, and wherever it stands out of the wood.
    """
    along = np.hypot(moves[:, 3] - moves[:, 0], moves[:, 4] - moves[:, 1]) > LEVEL_MM
    under = np.maximum(moves[:, 2], moves[:, 5]) + bit.head_mm < plane_mm - LEVEL_MM
    return ~(along & under)
