"""From the keys of artwork to its records."""

from __future__ import annotations

import math
from typing import Final

from flushwork.job.art_keys import ArtKeys, PlaceKeys, PolygonKeys
from flushwork.job.located import Path_
from flushwork.job.reading import Reading
from flushwork.job.records import (
    Art,
    Artwork,
    CircleArt,
    Placement,
    Point,
    PolygonArt,
    RectangleArt,
    StrokeArt,
    SvgArt,
    TextArt,
)

NOWHERE: Final = CircleArt(diameter_mm=1.0, hole_mm=0.0)
"""Stands in for artwork refused already."""


def points_of(pairs: list[list[float]]) -> tuple[Point, ...]:
    """Return [x, y] lists as points."""
    return tuple((pair[0], pair[1]) for pair in pairs)


def placement(keys: PlaceKeys, as_drawn: bool) -> Placement:
    """Return where artwork goes; ``as_drawn`` is the default of its kind."""
    repeat = keys.repeat
    pitch = (repeat.pitch if repeat else None) or [0.0]
    return Placement(
        anchor=keys.from_,
        x_mm=keys.at[0],
        y_mm=keys.at[1],
        turn_rad=keys.turn,
        mirror=keys.mirror or "",
        scale=keys.scale,
        as_drawn=as_drawn if keys.as_drawn is None else keys.as_drawn,
        columns=repeat.columns if repeat else 1,
        rows=repeat.rows if repeat else 1,
        pitch_x_mm=pitch[0],
        pitch_y_mm=pitch[-1],
        around=repeat.around if repeat else 1,
    )


def _polygon(keys: PolygonKeys, reading: Reading, path: Path_) -> PolygonArt:
    if keys.points is not None:
        return PolygonArt(sides=0, diameter_mm=0.0, inner_mm=0.0, points=points_of(keys.points))
    sides = keys.sides or 3
    diameter = keys.diameter or 0.0
    if keys.across is not None:
        if sides % 2:
            reading.slip(
                "polygon-has-no-flats",
                f"a polygon of {sides} sides has no two flats across from each other",
                "give `diameter` instead of `across`",
                (*path, "polygon", "across"),
            )
        diameter = keys.across / math.cos(math.pi / sides)
    inner = keys.inner or 0.0
    if inner >= diameter > 0:
        reading.slip(
            "value-out-of-range",
            "inner: the inner corners of a star lie inside the outer ones",
            "write less than the diameter",
            (*path, "polygon", "inner"),
        )
    return PolygonArt(sides=sides, diameter_mm=diameter, inner_mm=inner, points=())


def _circle(keys: ArtKeys, reading: Reading, path: Path_) -> CircleArt | None:
    if keys.circle is not None:
        return CircleArt(diameter_mm=keys.circle, hole_mm=0.0)
    if keys.ring is None:
        return None
    if keys.ring.inside >= keys.ring.outside:
        reading.slip(
            "value-out-of-range",
            "inside: the inside of a ring is smaller than its outside",
            "write less than `outside`",
            (*path, "ring", "inside"),
        )
    return CircleArt(diameter_mm=keys.ring.outside, hole_mm=keys.ring.inside)


def _stroke(keys: ArtKeys) -> StrokeArt | None:
    curves = [keys.curve] if keys.curve is not None else []
    lines = keys.lines if keys.lines is not None else curves
    if not lines:
        return None
    return StrokeArt(
        lines=tuple(points_of(line) for line in lines),
        width_mm=keys.width or 0.0,
        smooth=keys.curve is not None,
        closed=keys.closed,
        ends=keys.ends,
    )


def _rectangle(keys: ArtKeys, reading: Reading, path: Path_) -> RectangleArt | None:
    if keys.rectangle is None:
        return None
    length, width = keys.rectangle
    for key, value in (("round", keys.round), ("line", keys.line)):
        if 2 * value > min(length, width):
            reading.slip(
                "value-out-of-range",
                f"{key}: the rectangle is too narrow for it",
                f"write at most half of its narrow side, {min(length, width) / 2:g} mm",
                (*path, key),
            )
    return RectangleArt(length_mm=length, width_mm=width, round_mm=keys.round, line_mm=keys.line)


def _art(keys: ArtKeys, reading: Reading, path: Path_) -> Art:
    if keys.svg is not None:
        return SvgArt(
            file=keys.svg,
            layers=tuple(keys.layers or ()),
            width_mm=keys.width,
            colours=tuple(keys.colours or ()),
        )
    if keys.text is not None:
        return TextArt(
            words=keys.text,
            font=keys.font,
            size_mm=keys.size or 0.0,
            spacing=keys.spacing,
            width_mm=keys.width or 0.0,
        )
    if keys.polygon is not None:
        return _polygon(keys.polygon, reading, path)
    return (
        _circle(keys, reading, path) or _stroke(keys) or _rectangle(keys, reading, path) or NOWHERE
    )


def artwork(keys: ArtKeys, reading: Reading, path: Path_) -> Artwork:
    """Return one piece of artwork and its place."""
    art = _art(keys, reading, path)
    own_zero = isinstance(art, StrokeArt) or (isinstance(art, PolygonArt) and bool(art.points))
    kind = next((kind for kind in keys.kinds if reading.tree.has((*path, kind))), "")
    return Artwork(
        art=art,
        placement=placement(keys, own_zero),
        source=reading.source((*path, kind) if kind else path),
    )
