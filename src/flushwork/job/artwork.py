"""Artwork and its place, as the job states them: what is drawn, before it is drawn."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.findings import Source

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Placement:
    """Where artwork goes: its anchor point lands at ``anchor of the trim line + offset``.

    ``anchor`` is one of ``centre``, ``lower left``, ``lower right``, ``upper left``,
    ``upper right``, ``left``, ``right``, ``top``, ``bottom``; the artwork's own bounding box is
    taken by the same anchor.  ``as_drawn`` keeps the artwork's own origin instead: its (0, 0)
    lands on the trim line's anchor plus offset.  ``mirror`` (``""``, ``left-right``,
    ``top-bottom``) comes first, then ``scale``, then ``turn_rad``
    (counter-clockwise), then the move; ``repeat`` copies follow on a grid.
    """

    anchor: str = "centre"
    x_mm: float = 0.0
    y_mm: float = 0.0
    turn_rad: float = 0.0
    mirror: str = ""
    scale: float = 1.0
    as_drawn: bool = False
    columns: int = 1
    rows: int = 1
    pitch_x_mm: float = 0.0
    pitch_y_mm: float = 0.0
    around: int = 1


@dataclass(frozen=True, slots=True)
class SvgArt:
    """Shapes of an SVG file; ``layers`` are ids or layer names, empty for all.

    ``colours`` (``#rrggbb``) are the paints taken, empty for all but the white of the paper.

    ``width_mm`` scales the picked shapes to that width; without it the file's own physical size
    holds.
    """

    file: str
    layers: tuple[str, ...]
    width_mm: float | None
    colours: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TextArt:
    """Words set in an outline font (``font`` is a file or the name of a packaged font).

    ``size_mm`` is the em height; ``spacing`` is extra space between letters as a share of it.  A
    single-line font (``job.single_line``) gives lines ``width_mm`` wide, bare strokes for 0.
    """

    words: str
    font: str
    size_mm: float
    spacing: float
    width_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class StrokeArt:
    """Open (or closed) lines of one width.

    ``lines`` are polylines; with ``smooth`` a curve runs through their points.  ``width_mm`` 0
    leaves them bare strokes, cut by one pass of the cutter's own width.
    """

    lines: tuple[tuple[Point, ...], ...]
    width_mm: float
    smooth: bool
    closed: bool
    ends: str


@dataclass(frozen=True, slots=True)
class CircleArt:
    """A disc, or a ring where ``hole_mm`` (inner diameter) is not 0."""

    diameter_mm: float
    hole_mm: float


@dataclass(frozen=True, slots=True)
class PolygonArt:
    """A regular polygon, or a star with ``inner_mm``, or the polygon through ``points``."""

    sides: int
    diameter_mm: float
    inner_mm: float
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class RectangleArt:
    """A rectangle with corner radius ``round_mm``; ``line_mm`` leaves only a frame that wide."""

    length_mm: float
    width_mm: float
    round_mm: float
    line_mm: float


Art = SvgArt | TextArt | StrokeArt | CircleArt | PolygonArt | RectangleArt


@dataclass(frozen=True, slots=True)
class Artwork:
    """One piece of artwork and where it goes."""

    art: Art
    placement: Placement
    source: Source
