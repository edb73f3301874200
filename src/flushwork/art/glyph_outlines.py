"""Text as outlines: lines of words centred under each other, each glyph a region.

Words to shaped glyphs, glyphs to contours: kerning, ligatures and marks by the font's rules.
"""

from __future__ import annotations

import itertools
import unicodedata
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import uharfbuzz as hb
from shapely import MultiPolygon
from shapely.affinity import affine_transform

from flushwork.art.baselines import Baseline
from flushwork.art.contours import Bezier, Contour, Piece, line, point
from flushwork.art.drawn import Shapes
from flushwork.art.faults import Faults, refusal
from flushwork.art.fonts import LINE_FONTS, OpenFont, draw_line_letters, open_font
from flushwork.art.placement import scaling
from flushwork.art.regions import DUST_MM2, filled, united
from flushwork.core.findings import Source
from flushwork.job.records import TextArt
from flushwork.kernels.outlines import Points


@dataclass(frozen=True, slots=True)
class SetGlyph:
    """One glyph of a line of text: its number, the characters it stands for, its place in em units.

    ``x`` and ``y`` count from the start of the line's baseline; ``middle`` is the middle of what
    its letter advances, marks and all.
    """

    number: int
    text: str
    x: float
    y: float
    middle: float


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
    found: list[tuple[Any, float, Any]] = []
    reach: dict[int, tuple[float, float]] = {}
    x = 0.0
    cluster = infos[0].cluster if infos else 0
    for info, position in zip(infos, positions, strict=True):
        if info.cluster != cluster:
            x += spacing * opened.em
            cluster = info.cluster
        found.append((info, x, position))
        begin = reach.get(cluster, (x, x))[0]
        x += position.x_advance
        reach[cluster] = (begin, x)
    glyphs = tuple(
        SetGlyph(
            number=info.codepoint,
            text=words[info.cluster : follows[info.cluster]],
            x=at + position.x_offset,
            y=float(position.y_offset),
            middle=sum(reach[info.cluster]) / 2.0,
        )
        for info, at, position in found
    )
    return SetLine(glyphs, x)


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


def draw_text(art: TextArt, folder: Path, source: Source, tolerance_mm: float) -> Shapes:
    """Return words as a region, the baseline of the first line at y 0, centred about x 0.

    On an arc or a line they lie about its zero.  A single-line font gives lines.
    Contours of a glyph that overlap are united (nonzero rule), and so are letters that the font
    itself joins.  Raises JobRefusedError for a font that is absent or broken, characters it lacks,
    and letters that run together because the job sets them too tight.
    """
    if not art.words.strip():
        raise refusal(
            source, "text-empty", "there are no words to set", "write the words after `text:`"
        )
    if not art.size_mm > 0.0:
        raise refusal(
            source,
            "text-without-size",
            f"the letters are {art.size_mm:g} mm high, which is no size",
            "give the size of the letters, such as `size: 9 mm`",
        )
    if art.font in LINE_FONTS:
        return draw_line_letters(art, source, tolerance_mm)
    opened = open_font(art.font, folder, source)
    scale = art.size_mm / opened.em
    lines = [shape_line(words, opened, art.spacing) for words in art.words.split("\n")]
    glyphs = {glyph.number: glyph for each in lines for glyph in each.glyphs}
    _refuse_missing(lines, opened, source)
    outlines = {
        number: filled(
            [
                contour.mapped(scaling(scale, scale)).points(tolerance_mm)
                for contour in glyph_contours(number, opened)
            ]
        )
        for number in glyphs
    }
    faults = Faults()
    placed: list[MultiPolygon] = []
    for index, each in enumerate(lines):
        down = index * opened.line * art.line_spacing
        baseline = Baseline(art, scale, each.advance, down)
        baseline.check(source)
        letters = [(glyph, _set(outlines[glyph.number], glyph, baseline)) for glyph in each.glyphs]
        placed += [region for _, region in letters]
        if art.spacing < 0.0 or art.on_arc is not None:
            straight = Baseline(replace(art, on_arc=None), scale, each.advance, down)
            before = [_set(outlines[glyph.number], glyph, straight) for glyph in each.glyphs]
            _note_tight(letters, before if art.spacing >= 0.0 else [], faults, source)
    faults.refuse()
    region = united(placed)
    if region.is_empty:
        raise refusal(
            source,
            "text-without-outline",
            f"the font {opened.name} has no outlines for '{art.words.strip()[:40]}'",
            "use a font of outlines; fonts made of pictures cannot be cut",
        )
    return Shapes(region=region)


def _set(outline: MultiPolygon, glyph: SetGlyph, baseline: Baseline) -> MultiPolygon:
    move = baseline.letter(glyph.x, glyph.y, glyph.middle)
    moved: MultiPolygon = affine_transform(outline, move.numbers)
    return moved


def _refuse_missing(lines: list[SetLine], opened: OpenFont, source: Source) -> None:
    missing = dict.fromkeys(
        glyph.text for line in lines for glyph in line.glyphs if glyph.number == 0
    )
    faults = Faults()
    for text in missing:
        named = ", ".join(
            unicodedata.name(character, f"character {ord(character):X}").lower()
            for character in text
        )
        faults.add(
            source,
            "glyph-missing",
            f"the font {opened.name} has no letter for '{text}' ({named})",
            "use another character, or a font file that has it",
        )
    faults.refuse()


def _note_tight(
    letters: list[tuple[SetGlyph, MultiPolygon]],
    before: list[MultiPolygon],
    faults: Faults,
    source: Source,
) -> None:
    """Note neighbours that overlap, but for those that the font joins itself on a straight line."""
    joined = [one.intersection(other).area for one, other in itertools.pairwise(before)]
    for at, ((first, left), (second, right)) in enumerate(itertools.pairwise(letters)):
        own = joined[at] if before else 0.0
        if first.middle != second.middle and left.intersection(right).area > own + DUST_MM2:
            where = "on this arc" if before else "at this spacing"
            faults.add(
                source,
                "letters-run-together",
                f"the letters '{first.text}' and '{second.text}' overlap {where}",
                "give more `spacing`, a larger circle or smaller words"
                if before
                else "give `spacing` nearer to 0, or smaller words",
            )
