"""How far the decimals of a G-code file move an arc, and how often they split one.

Run from the checkout: ``python design/gcode_file_decimals.py``.  The choices are
``LEAST_INCH_DECIMALS`` in ``flushwork.toolpaths.arcs_on_grid`` and ``RADII_APART_MM`` in
``flushwork.toolpaths.arcs_on_grid``; the bound of 0.002 mm is NISTIR 6556, section 3.5.3.2.
"""

from __future__ import annotations

import math
import random

from flushwork.toolpaths.arcs_on_grid import Grid, HelicalArc, rounded


def main() -> None:
    """Print unit, decimals, greatest error of an end in mm, share of arcs in one piece."""
    for unit, unit_mm, choices in (("mm", 1.0, (2, 3, 4)), ("inch", 25.4, (3, 4, 5, 6))):
        for decimals in choices:
            dice = random.Random(1)  # noqa: S311 - arcs drawn for a table, no secret
            grid, worst, whole = Grid(unit_mm, decimals), 0.0, 0
            for _ in range(2000):
                radius, begin = dice.uniform(0.5, 80.0), dice.uniform(0.0, 6.28)
                start = (radius * math.cos(begin), radius * math.sin(begin), 0.0)
                arc = HelicalArc(start, 0.0, (0.0, 0.0), dice.uniform(0.2, 6.0))
                pieces = list(rounded(arc, grid, arcs=True))
                end = grid.mm(pieces[-1].end[0]), grid.mm(pieces[-1].end[1])
                worst = max(worst, math.dist(end, arc.at(1.0)[:2]))
                whole += len(pieces) == 1 and pieces[0].offset is not None
            print(f"{unit:5} {decimals} decimals  end {worst:.5f} mm  whole {whole / 20.0:5.1f} %")


if __name__ == "__main__":
    main()
