"""A sheet of every layout as the program draws it: ``python design/layout_sheet.py FILE.svg``.

It makes the picture in ``docs/job-file.md``: areas dark and light, lines, holes, and the places of
numbers, each layout with the measures that its keys give as examples.
"""

from __future__ import annotations

import sys
from pathlib import Path

import shapely
from shapely import MultiPolygon

from flushwork.art.layouts.draw_layout import lay
from flushwork.art.layouts.laid import Laid
from flushwork.job.records import (
    BorderRun,
    CompassRose,
    CornerFans,
    Laying,
    MancalaRows,
    MarkedScale,
    Morris,
    PegTrack,
    PointedBoard,
    Solitaire,
    Squares,
    StarHalma,
)

SHEET: tuple[tuple[str, Laying], ...] = (
    ("squares", Squares(square_mm=(50.0,))),
    ("pointed board", PointedBoard(point_mm=(40.0, 200.0), bar_mm=40.0, between_mm=60.0)),
    ("morris", Morris(men=9, size_mm=180.0)),
    ("solitaire", Solitaire(pitch_mm=12.0)),
    ("mancala", MancalaRows(pit_mm=48.0, pitch_mm=56.0, store_mm=48.0)),
    ("star halma", StarHalma(pitch_mm=20.0)),
    ("peg track", PegTrack(streets=5, turn_streets=2, pitch_mm=6.0, gap_mm=3.0, lane_mm=8.0)),
    ("compass rose", CompassRose(points=16, diameter_mm=90.0)),
    ("border run", BorderRun(around_mm=(140.0, 100.0), size_mm=(8.0, 4.0), gap_mm=2.0)),
    (
        "corner fans",
        CornerFans(corners_of_mm=(140.0, 100.0), rays=7, radius_mm=40.0, inside_mm=6.0),
    ),
    ("scale: dial", MarkedScale(diameter_mm=120.0, steps=60, long_every=5, mark_mm=3.0)),
    ("scale: ruler", MarkedScale(length_mm=100.0, steps=50, long_every=10, mark_mm=3.0)),
)
ACROSS, CELL, MARGIN = 4, 200.0, 14.0
FILLS = {"dark": "#5b3a29", "light": "#d9b98a", "middle": "#efe3cf"}
OTHER = "#2f6f78"


def outline(region: MultiPolygon, scale: float) -> str:
    """Return a region as the data of a path, y down."""
    rings = [ring for part in region.geoms for ring in (part.exterior, *part.interiors)]
    return "".join(
        "M" + "L".join(f"{x * scale:.1f},{-y * scale:.1f}" for x, y in ring.coords[:-1]) + "Z"
        for ring in rings
    )


def drawn(laid: Laid) -> str:
    """Return a layout about the middle of its cell."""
    points = [place for lines in laid.lines.values() for line in lines for place in line]
    points += [*laid.places, *(each.at for part in laid.words.values() for each in part)]
    points += [tuple(each) for each in shapely.get_coordinates(list(laid.areas.values()))]
    reach_x = max(abs(x) for x, _ in points)
    reach_y = max(abs(y) for _, y in points)
    scale = min((CELL / 2 - MARGIN) / reach_x, (CELL / 2 - MARGIN - 8.0) / reach_y)
    parts = [
        f'<path d="{outline(area, scale)}" fill="{FILLS.get(name, OTHER)}" fill-rule="evenodd"/>'
        for name, area in laid.areas.items()
    ]
    for lines in laid.lines.values():
        steps = (" ".join(f"{x * scale:.1f},{-y * scale:.1f}" for x, y in line) for line in lines)
        parts += [f'<polyline points="{each}"/>' for each in steps]
    holes = laid.places if not laid.areas or len(laid.places) > 100 else ()
    parts += [
        f'<circle cx="{x * scale:.1f}" cy="{-y * scale:.1f}" r="1.6" fill="#1d1d1d"/>'
        for x, y in holes
    ]
    for each in (label for part in laid.words.values() for label in part):
        x, y = (at * scale + 4.0 * away for at, away in zip(each.at, each.away, strict=True))
        parts.append(f'<text x="{x:.1f}" y="{2.0 - y:.1f}" font-size="6">{each.words}</text>')
    return "".join(parts)


def sheet() -> str:
    """Return the whole sheet as SVG."""
    high = -(-len(SHEET) // ACROSS) * CELL
    cells = "".join(
        f'<g transform="translate({(at % ACROSS + 0.5) * CELL:g} {(at // ACROSS + 0.5) * CELL:g})">'
        f'{drawn(lay(of, 0.2))}<text y="{CELL / 2 - 4:g}" font-size="10">{name}</text></g>'
        for at, (name, of) in enumerate(SHEET)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {ACROSS * CELL:g} {high:g}" '
        'font-family="sans-serif" text-anchor="middle" stroke-width="0.8">'
        f'<rect width="100%" height="100%" fill="#ffffff"/>'
        f'<g fill="#1d1d1d"><g fill-opacity="1">{cells}</g></g></svg>\n'
    ).replace("<polyline ", '<polyline fill="none" stroke="#2f6f78" ')


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(sheet(), "utf-8")
