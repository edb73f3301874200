"""Print how far flattened curves stray from the curves, against the bound they were given.

The last column is what it costs: corners per curve.  ``FLATTENING_MM`` is the line to look at.
Run it with ``python design/flattening_mm.py``.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import shapely
from shapely import LineString

from flushwork.art.contours import Arc, Bezier
from flushwork.art.fonts import open_font
from flushwork.art.glyph_outlines import glyph_contours, shape_line
from flushwork.art.placement import scaling
from flushwork.core.findings import Source
from flushwork.core.tolerances import FLATTENING_MM, VISIBLE_MM
from flushwork.kernels.outlines import Points

BOUNDS_MM = (0.0005, 0.001, 0.002, FLATTENING_MM, 0.01, 0.02, 0.05, VISIBLE_MM)
PLACES = 2000
"""Places on each curve that are held against its chords."""


def stray_mm(curve: Bezier | Arc, bound_mm: float) -> tuple[float, int]:
    """Return the greatest distance of a curve from its chords, and how many chords there are."""
    corners = np.concatenate([_start(curve)[None, :], curve.points(bound_mm)])
    dense = curve.points(bound_mm * 1e-2)
    seen = shapely.points(dense[:: max(1, len(dense) // PLACES)])
    return float(shapely.distance(seen, LineString(corners)).max()), len(corners) - 1


def _start(curve: Bezier | Arc) -> Points:
    if isinstance(curve, Bezier):
        start: Points = curve.controls[0]
        return start
    return Arc(curve.centre, curve.axes, curve.start_rad, 0.0).end


def curves() -> dict[str, list[Bezier | Arc]]:
    """Return the curves a board is full of."""
    axes = np.eye(2)
    origin = np.zeros(2)
    whole = 2.0 * math.pi
    opened = open_font("serif", Path(), Source("", 0, 0, ""))
    words: list[Bezier | Arc] = [
        piece.mapped(scaling(9.0 / opened.em, 9.0 / opened.em))
        for glyph in shape_line("Halcyon", opened, 0.0).glyphs
        for contour in glyph_contours(glyph.number, opened)
        for piece in contour.pieces
    ]
    bend = np.array([[0.0, 0.0], [20.0, 40.0], [40.0, -40.0], [60.0, 0.0]])
    return {
        "hole, 3.175 mm": [Arc(origin, axes * 3.175 / 2.0, 0.0, whole)],
        "disc, 90 mm": [Arc(origin, axes * 45.0, 0.0, whole)],
        "ellipse, 80 x 20 mm": [Arc(origin, np.diag([40.0, 10.0]), 0.0, whole)],
        "S curve, 60 mm": [Bezier(bend)],
        "a word, 9 mm high": words,
    }


def main() -> None:
    """Print the table."""
    for name, pieces in curves().items():
        print(f"\n{name}\n{'bound mm':>10} {'stray mm':>10} {'of bound':>9} {'chords':>7}")
        for bound_mm in BOUNDS_MM:
            measured = [stray_mm(piece, bound_mm) for piece in pieces]
            worst = max(stray for stray, _ in measured)
            count = sum(chords for _, chords in measured)
            mark = "  <- chosen" if bound_mm == FLATTENING_MM else ""
            print(f"{bound_mm:10.4f} {worst:10.5f} {worst / bound_mm:9.2f} {count:7d}{mark}")


if __name__ == "__main__":
    main()
