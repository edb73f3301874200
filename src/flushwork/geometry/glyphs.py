"""Words to shaped glyphs, glyphs to contours: kerning, ligatures and marks by the font's rules."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import uharfbuzz as hb

from flushwork.geometry.curves import Bezier, Contour, Piece, line, point
from flushwork.geometry.fonts import OpenFont
from flushwork.kernels.flatten import Points


@dataclass(frozen=True, slots=True)
class SetGlyph:
    """One glyph of a line of text: its number, the characters it stands for, its place in em units.

    ``x`` and ``y`` count from the start of the line's baseline.
    """

    number: int
    text: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class SetLine:
    """A shaped line and how far it advances, in font units."""

    glyphs: tuple[SetGlyph, ...]
    advance: float


def shape_line(words: str, opened: OpenFont, spacing: float) -> SetLine:
    """Shape one line; ``spacing`` is extra space between letters as a share of the em.

    Extra space parts the letters, so ligatures are left out where it is not 0.
    """
    if not words:
        return SetLine((), 0.0)
    buffer = hb.Buffer()
    buffer.add_str(words)
    buffer.guess_segment_properties()
    ligatures = spacing == 0.0
    hb.shape(opened.font, buffer, {"kern": True, "liga": ligatures, "clig": ligatures})
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    starts = [*sorted({info.cluster for info in infos}), len(words)]
    follows = dict(itertools.pairwise(starts))
    glyphs: list[SetGlyph] = []
    x = 0.0
    cluster = infos[0].cluster if infos else 0
    for info, position in zip(infos, positions, strict=True):
        if info.cluster != cluster:
            x += spacing * opened.em
            cluster = info.cluster
        glyphs.append(
            SetGlyph(
                number=info.codepoint,
                text=words[info.cluster : follows[info.cluster]],
                x=x + position.x_offset,
                y=float(position.y_offset),
            )
        )
        x += position.x_advance
    return SetLine(tuple(glyphs), x)


def glyph_contours(number: int, opened: OpenFont) -> tuple[Contour, ...]:
    """Return the outline of a glyph in font units, y up."""
    pen = _Pen()
    draw: Any = hb.DrawFuncs()
    draw.set_move_to_func(lambda x, y, _: pen.move(x, y))
    draw.set_line_to_func(lambda x, y, _: pen.curve(x, y))
    draw.set_quadratic_to_func(lambda a, b, x, y, _: pen.curve(a, b, x, y))
    draw.set_cubic_to_func(lambda a, b, c, d, x, y, _: pen.curve(a, b, c, d, x, y))
    draw.set_close_path_func(lambda _: pen.close())
    opened.font.draw_glyph(number, draw, None)
    return tuple(pen.contours)


@dataclass
class _Pen:
    """Takes an outline down as the font draws it."""

    start: Points = field(default_factory=lambda: point(0.0, 0.0))
    at: Points = field(default_factory=lambda: point(0.0, 0.0))
    pieces: list[Piece] = field(default_factory=list)
    contours: list[Contour] = field(default_factory=list)

    def move(self, x: float, y: float) -> None:
        self.close()
        self.start = self.at = point(x, y)

    def curve(self, *numbers: float) -> None:
        given = np.array(numbers, dtype=np.float64).reshape(-1, 2)
        straight = len(given) == 1
        self.pieces.append(
            line(self.at, given[0]) if straight else Bezier(np.vstack([self.at, given]))
        )
        self.at = given[-1]

    def close(self) -> None:
        if self.pieces:
            self.contours.append(Contour(self.start, tuple(self.pieces), closed=True))
        self.pieces = []
