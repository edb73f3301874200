"""Named tolerances and default resolutions, each with its reason.

A script of the same name under ``design/`` shows the error against the choice.
"""

from __future__ import annotations

from typing import Final

FLATTENING_MM: Final = 0.005
"""Greatest distance of a flattened curve from the curve; a fiftieth of the finest visible step."""

SLOT_WIDTH_MM: Final = 0.02
"""A slot this much narrower than a bit still passes it: the run-out of a good collet."""

VISIBLE_MM: Final = 0.1
"""A step an eye resolves at reading distance (one minute of arc at 300 mm is 0.09 mm)."""

CELL_MM: Final = 0.1
"""Default side of a replay cell."""

FINE_CELL_MM: Final = 0.05
"""Side of a replay cell where a line under 0.6 mm needs it."""

DEPTH_MM: Final = 0.005
"""Heights closer than this are the same height."""
