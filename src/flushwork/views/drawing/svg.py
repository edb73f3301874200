"""Regions and lines as small SVG: whole hundredths of a millimetre, relative steps, no ids.

A drawing's user unit is one millimetre on paper; artwork sits in a group whose matrix brings the
face's hundredths of a millimetre onto it.  Nothing here carries an ``id``, so that many drawings
can stand in one HTML page.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.views.figures import clean

GRID_PER_MM: Final = 100
"""Steps of the path grid: 0.01 mm, a tenth of what an eye resolves."""

SIMPLIFY_MM: Final = 0.02
"""How far a printed outline may deviate from the region: a fifth of what an eye resolves."""

MEASURED: Final = "#9c1f1f"
"""The colour of what is measured."""

ARROWS_MM: Final = 5.0
"""A dimension shorter than this on paper has its arrows outside."""

WORD_MM: Final = 2.9
"""Words of a picture in the appendix: a little over 8 point."""

FONT: Final = "Lato, 'Helvetica Neue', Arial, sans-serif"


def _steps(points: NDArray[np.float64], closed: bool) -> str:
    """Return path data for one ring or line; (n, 2) in mm."""
    grid = np.rint(points * GRID_PER_MM).astype(np.int64)
    if closed:
        grid = grid[:-1]
    moves = np.diff(grid, axis=0)
    moves = moves[np.any(moves != 0, axis=1)]
    if not len(moves):
        return ""
    body = " ".join(map(str, moves.ravel().tolist())).replace(" -", "-")
    return f"M{grid[0, 0]} {grid[0, 1]}l{body}{'z' if closed else ''}"


@lru_cache(maxsize=256)
def region_path(region: BaseGeometry) -> str:
    """Return SVG path data (even-odd) of polygons with holes, in hundredths of a mm."""
    slim = shapely.simplify(region, SIMPLIFY_MM, preserve_topology=True)
    rings: list[str] = []
    for part in shapely.get_parts(slim).tolist():
        if isinstance(part, Polygon) and not part.is_empty:
            rings += [_steps(shapely.get_coordinates(ring), True) for ring in _rings(part)]
    return "".join(rings)


def _rings(part: Polygon) -> list[LineString]:
    return [part.exterior, *part.interiors]


def line_path(lines: BaseGeometry) -> str:
    """Return SVG path data of open lines, in hundredths of a mm."""
    slim = shapely.simplify(lines, SIMPLIFY_MM, preserve_topology=False)
    return "".join(
        _steps(shapely.get_coordinates(part), False)
        for part in shapely.get_parts(slim).tolist()
        if isinstance(part, LineString) and not part.is_empty
    )


def edges(region: MultiPolygon) -> MultiLineString:
    """Return every ring of a region as a line."""
    rings = [ring for part in region.geoms for ring in _rings(part)]
    return MultiLineString([LineString(ring.coords) for ring in rings])


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a face lies on a drawing.

    ``scale`` is mm on paper per mm of wood; ``left_mm`` and ``top_mm`` the place of the blank's
    corner on paper.  ``flip_x`` and ``flip_y`` mirror what is seen, about the blank's middle.
    """

    length_mm: float
    width_mm: float
    scale: float
    left_mm: float
    top_mm: float
    flip_x: bool = False
    flip_y: bool = False

    def place(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Return the place on paper of a point of the face."""
        across = self.length_mm - x_mm if self.flip_x else x_mm
        up = self.width_mm - y_mm if self.flip_y else y_mm
        return (
            self.left_mm + across * self.scale,
            self.top_mm + (self.width_mm - up) * self.scale,
        )

    @property
    def matrix(self) -> str:
        """The transform of a group that holds paths in hundredths of a mm of the face."""
        origin_x, origin_y = self.place(0.0, 0.0)
        step = self.scale / GRID_PER_MM
        across = -step if self.flip_x else step
        up = step if self.flip_y else -step
        return f"matrix({across:.6g} 0 0 {up:.6g} {origin_x:.3f} {origin_y:.3f})"

    def line(self, paper_mm: float) -> str:
        """Return the stroke width, inside that group, of a line so wide on paper."""
        return f"{paper_mm * GRID_PER_MM / self.scale:.4g}"


def path(data: str, **attributes: str) -> str:
    """Return a path element; an underscore in a name stands for a hyphen."""
    return f'<path d="{data}"{_spell(attributes)}/>' if data else ""


def shape(name: str, **attributes: str | float) -> str:
    """Return an element without content; floats are rounded to a hundredth."""
    return f"<{name}{_spell(attributes)}/>"


def _spell(attributes: Mapping[str, str | float]) -> str:
    return "".join(
        f" {name.rstrip('_').replace('_', '-')}="
        + f'"{escape(value) if isinstance(value, str) else format(round(value, 2), "g")}"'
        for name, value in attributes.items()
    )


def words(
    text: str,
    x_mm: float,
    y_mm: float,
    size_mm: float,
    *,
    anchor: str = "start",
    fill: str = "#2b2622",
    bold: bool = False,
) -> str:
    """Return a text element, escaped."""
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{x_mm:.2f}" y="{y_mm:.2f}" font-size="{size_mm:.2f}" '
        f'text-anchor="{anchor}" fill="{fill}"{weight}>{escape(clean(text))}</text>'
    )


def dimension(begin: tuple[float, float], end: tuple[float, float], figure: str) -> str:
    """Return a dimension between two points on paper: ticks, arrows, its figure on white beside it.

    Arrows stand inside where there is room for them, else outside.
    """
    (x0, y0), (x1, y1) = begin, end
    long = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-6)
    ux, uy = (x1 - x0) / long, (y1 - y0) / long
    inside = long >= ARROWS_MM
    parts: list[str] = []
    for (x, y), way in (((x0, y0), 1.0), ((x1, y1), -1.0)):
        turn = way if inside else -way
        parts.append(
            f"M{x - 1.3 * uy:.2f} {y + 1.3 * ux:.2f}L{x + 1.3 * uy:.2f} {y - 1.3 * ux:.2f}"
            f"M{x + turn * (1.5 * ux) - 0.6 * uy:.2f} {y + turn * (1.5 * uy) + 0.6 * ux:.2f}"
            f"L{x:.2f} {y:.2f}"
            f"L{x + turn * (1.5 * ux) + 0.6 * uy:.2f} {y + turn * (1.5 * uy) - 0.6 * ux:.2f}"
        )
    out = 0.0 if inside else 4.0
    line = (
        f"M{x0 - out * ux:.2f} {y0 - out * uy:.2f}L{x1 + out * ux:.2f} {y1 + out * uy:.2f}"
        + "".join(parts)
    )
    middle_x, middle_y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    beside = abs(uy) > abs(ux)
    wide = 1.5 * len(figure)
    x = middle_x + (1.6 + abs(uy)) if beside else middle_x - wide / 2.0
    y = middle_y + 0.95 if beside else middle_y - 2.0
    return (
        path(line, fill="none", stroke="#ffffff", stroke_width="0.9", stroke_opacity="0.85")
        + path(line, fill="none", stroke=MEASURED, stroke_width="0.3")
        + shape(
            "rect",
            x=x - 0.5,
            y=y - 2.4,
            width=wide + 1.0,
            height=3.2,
            rx=0.5,
            fill="#ffffff",
            fill_opacity="0.9",
        )
        + words(figure, x, y, WORD_MM, fill=MEASURED, bold=True)
    )


def group(parts: Iterable[str], **attributes: str) -> str:
    """Return a group element."""
    return f"<g{_spell(attributes)}>{''.join(parts)}</g>"


def drawing(parts: Iterable[str], width_mm: float, height_mm: float, alt: str) -> str:
    """Return a whole drawing whose user unit is a millimetre on paper."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.2f}mm" '
        f'height="{height_mm:.2f}mm" viewBox="0 0 {width_mm:.2f} {height_mm:.2f}" role="img" '
        f'aria-label="{escape(clean(alt))}" font-family="{FONT}">{"".join(parts)}</svg>'
    )
