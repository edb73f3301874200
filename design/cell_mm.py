"""The replay's error against the side of its cells: ``python design/cell_mm.py``.

Each line holds the worst error of a volume against its closed form over a fixed set of shifts and
turns of the cut on the lattice of cells, in percent, and the cells across the narrowest width.  It
stands behind ``tolerances.CELL_MM``, ``tolerances.FINE_CELL_MM`` and
``strata.replay.CELLS_ACROSS``.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.replay import replay
from flushwork.strata.steps import BoardSpec, CutStep, ReplayStep
from flushwork.toolpaths.moves import Move, MoveKind, Program

Point = tuple[float, float, float]
CELLS_MM = (0.2, 0.15, 0.1, 0.07, 0.05, 0.033)
PLACES = ((0.0, 0.0, 0.0), (0.013, 0.041, 0.3), (0.05, 0.05, 0.0), (0.027, 0.071, math.pi / 4))
DEPTH_MM = 1.0


def removed_mm3(bit: Bit, path: list[Point], cell_mm: float) -> list[float]:
    """Return the volume a path removes, at each of the places."""
    volumes = []
    for dx, dy, turn in PLACES:
        cos, sin = math.cos(turn), math.sin(turn)
        points = [(20 + dx + x * cos - y * sin, 20 + dy + x * sin + y * cos, z) for x, y, z in path]
        moves = [Move(MoveKind.RAPID, *points[0][:2], 5.0)]
        moves += [Move(MoveKind.FEED, *point) for point in points]
        cut = CutStep("front", "cut", Program((0.0, 0.0, 5.0), tuple(moves)), bit, (0.0, 0.0), 0.0)
        spec = BoardSpec(40.0, 40.0, 10.0, True, cell_mm)
        volumes.append(float(replay(spec, [ReplayStep(1, (cut,))]).cuts[0].removed_mm3.sum()))
    return volumes


def slot(width_mm: float) -> Callable[[float], tuple[list[float], float]]:
    """Return the volumes of a slot 20 mm long by the cell, and the closed form."""
    bit = Bit("flat", BitKind.FLAT, width_mm, 1)
    truth = DEPTH_MM * (20.0 * width_mm + math.pi * width_mm**2 / 4.0)
    path = [(-10.0, 0.0, -DEPTH_MM), (10.0, 0.0, -DEPTH_MM)]
    return lambda cell_mm: (removed_mm3(bit, path, cell_mm), truth)


def hole(width_mm: float) -> Callable[[float], tuple[list[float], float]]:
    """Return the volumes of a flat-bottom hole by the cell, and the closed form."""
    bit = Bit("flat", BitKind.FLAT, width_mm, 1)
    truth = DEPTH_MM * math.pi * width_mm**2 / 4.0
    return lambda cell_mm: (removed_mm3(bit, [(0.0, 0.0, -DEPTH_MM)], cell_mm), truth)


def pocket(width_mm: float) -> Callable[[float], tuple[list[float], float]]:
    """Return the volumes of a pocket two bits wide by the cell, and the closed form."""
    bit = Bit("flat", BitKind.FLAT, width_mm, 1)
    half = width_mm / 2.0
    ring = [(-8.0, -half), (8.0, -half), (8.0, half), (-8.0, half), (-8.0, -half)]
    path = [(x, y, -DEPTH_MM) for x, y in ring]
    truth = DEPTH_MM * ((16.0 + width_mm) * 2.0 * width_mm - (4.0 - math.pi) * half**2)
    return lambda cell_mm: (removed_mm3(bit, path, cell_mm), truth)


def groove(angle_deg: float) -> Callable[[float], tuple[list[float], float]]:
    """Return the volumes of a V groove 20 mm long by the cell, and the closed form."""
    angle = math.radians(angle_deg)
    bit = Bit("V-bit", BitKind.V_BIT, 6.0, 1, angle_rad=angle)
    tangent = math.tan(angle / 2.0)
    truth = 20.0 * DEPTH_MM**2 * tangent + math.pi / 3.0 * DEPTH_MM**3 * tangent**2
    path = [(-10.0, 0.0, -DEPTH_MM), (10.0, 0.0, -DEPTH_MM)]
    return lambda cell_mm: (removed_mm3(bit, path, cell_mm), truth)


CASES = (
    ("slot 0.3 mm", 0.3, slot(0.3)),
    ("slot 0.5 mm", 0.5, slot(0.5)),
    ("slot 0.794 mm", 0.794, slot(0.794)),
    ("slot 3.175 mm", 3.175, slot(3.175)),
    ("pocket, 3.175 mm bit", 3.175, pocket(3.175)),
    ("hole 0.794 mm", 0.794, hole(0.794)),
    ("hole 3.175 mm", 3.175, hole(3.175)),
    ("V groove, 30 degrees", 2.0 * math.tan(math.radians(15.0)), groove(30.0)),
    ("V groove, 90 degrees", 2.0, groove(90.0)),
)


def main() -> None:
    """Print the table."""
    print("worst error of the volume in percent (cells across)")
    print(f"{'cell, mm':26s}" + "".join(f"{cell:>16g}" for cell in CELLS_MM))
    for name, width_mm, volumes_at in CASES:
        row = ""
        for cell_mm in CELLS_MM:
            volumes, truth = volumes_at(cell_mm)
            worst = max(abs(volume / truth - 1.0) for volume in volumes)
            row += f"{100.0 * worst:9.3f} ({width_mm / cell_mm:4.1f})"
        print(f"{name:26s}{row}")


if __name__ == "__main__":
    main()
