"""Text as outlines: lines of words centred under each other, each glyph a region."""

from __future__ import annotations

import itertools
import unicodedata
from pathlib import Path

from shapely import MultiPolygon
from shapely.affinity import affine_transform

from flushwork.findings import Source
from flushwork.geometry.affine import Affine, scaling
from flushwork.geometry.faults import Faults, refusal
from flushwork.geometry.fonts import OpenFont, open_font
from flushwork.geometry.glyphs import SetGlyph, SetLine, glyph_contours, shape_line
from flushwork.geometry.line_letters import LINE_FONTS, draw_line_letters
from flushwork.geometry.regions import DUST_MM2, filled, united
from flushwork.geometry.shapes import Shapes
from flushwork.job.records import TextArt


def draw_text(art: TextArt, folder: Path, source: Source, tolerance_mm: float) -> Shapes:
    """Return words as a region, the baseline of the first line at y 0, centred about x 0.

    A single-line font gives lines.
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
        letters = [
            (glyph, _set(outlines[glyph.number], glyph, each, index * opened.line, scale))
            for glyph in each.glyphs
        ]
        placed += [region for _, region in letters]
        if art.spacing < 0.0:
            _note_tight(letters, faults, source)
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


def _set(
    outline: MultiPolygon, glyph: SetGlyph, line: SetLine, down: float, scale: float
) -> MultiPolygon:
    move = Affine(
        e=(glyph.x - line.advance / 2.0) * scale,
        f=(glyph.y - down) * scale,
    )
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
    letters: list[tuple[SetGlyph, MultiPolygon]], faults: Faults, source: Source
) -> None:
    for (first, left), (second, right) in itertools.pairwise(letters):
        if left.intersection(right).area > DUST_MM2:
            faults.add(
                source,
                "letters-run-together",
                f"the letters '{first.text}' and '{second.text}' overlap at this spacing",
                "give `spacing` nearer to 0, or smaller words",
            )
