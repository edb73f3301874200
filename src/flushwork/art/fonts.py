"""Fonts: packaged outlines by plain names, a file beside the job, letters of single lines.

Lato and Source Serif Pro are under the SIL Open Font License 1.1.
"""

from __future__ import annotations

import struct
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import font_lato
import font_source_serif_pro
import numpy as np
import uharfbuzz as hb
from HersheyFonts import HersheyFonts
from shapely import LineString, MultiLineString

from flushwork.art.baselines import Baseline
from flushwork.art.drawn import Shapes
from flushwork.art.faults import Faults, listed, refusal
from flushwork.art.strokes import draw_strokes
from flushwork.core.findings import Source
from flushwork.job.records import Point, StrokeArt, TextArt

_SANS: Final = {
    "sans": "Lato-Regular.ttf",
    "sans italic": "Lato-Italic.ttf",
    "sans bold": "Lato-Bold.ttf",
    "sans bold italic": "Lato-BoldItalic.ttf",
    "sans light": "Lato-Light.ttf",
    "sans light italic": "Lato-LightItalic.ttf",
    "sans black": "Lato-Black.ttf",
    "sans black italic": "Lato-BlackItalic.ttf",
}
_SERIF: Final = {
    "serif": "SourceSerifPro-Regular.otf",
    "serif italic": "SourceSerifPro-It.otf",
    "serif semibold": "SourceSerifPro-Semibold.otf",
    "serif semibold italic": "SourceSerifPro-SemiboldIt.otf",
    "serif bold": "SourceSerifPro-Bold.otf",
    "serif bold italic": "SourceSerifPro-BoldIt.otf",
    "serif light": "SourceSerifPro-Light.otf",
    "serif light italic": "SourceSerifPro-LightIt.otf",
    "serif black": "SourceSerifPro-Black.otf",
    "serif black italic": "SourceSerifPro-BlackIt.otf",
}
PACKAGED: Final = (*_SANS, *_SERIF)
"""The plain names a job may use."""

_MAGIC: Final = (b"\x00\x01\x00\x00", b"OTTO", b"true")
_LARGEST_EM: Final = 16384


@dataclass(frozen=True, slots=True)
class OpenFont:
    """A font made ready for shaping; ``em`` is its units in an em, ``line`` in a line of text."""

    name: str
    font: Any
    em: int
    line: int


def open_font(name: str, folder: Path, source: Source) -> OpenFont:
    """Return a packaged font by its plain name, or a font file of the job's folder.

    Raises JobRefusedError where it is not there or not whole.
    """
    plain = " ".join(name.lower().replace("regular", "").split())
    if plain in PACKAGED:
        return _packaged(plain)
    path = folder / name
    try:
        data = path.read_bytes()
    except OSError:
        raise refusal(
            source,
            "font-not-found",
            f"there is no font called '{name}', neither in the program nor as a file in {folder}",
            f"use one of {listed(PACKAGED, len(PACKAGED))}, or put a font file beside the job",
        ) from None
    fault = font_fault(data)
    if fault:
        raise refusal(
            source,
            "font-broken",
            f"the font {path.name} cannot be used: {fault}",
            "give a whole TrueType or OpenType file (.ttf or .otf)",
        )
    return _opened(path.name, data)


@lru_cache(maxsize=len(PACKAGED))
def _packaged(name: str) -> OpenFont:
    if name in _SANS:
        path = Path(str(font_lato.font_directory)) / _SANS[name]
    else:
        path = Path(str(font_source_serif_pro.font_directory)) / _SERIF[name]
    return _opened(name, path.read_bytes())


def _opened(name: str, data: bytes) -> OpenFont:
    face = hb.Face(data)
    font = hb.Font(face)
    extents = font.get_font_extents("ltr")
    line = extents.ascender - extents.descender + extents.line_gap
    return OpenFont(name, font, face.upem, line)


def font_fault(data: bytes) -> str:
    """Return what is wrong with a font file, empty if it is whole.

    The check follows the table directory (OpenType specification 1.9, "Organization of an OpenType
    Font"): every table must lie inside the file.
    """
    at = 0
    if data[:4] == b"ttcf" and len(data) >= 16:
        at = int(struct.unpack_from(">I", data, 12)[0])
    if data[:4] in (b"wOFF", b"wOF2"):
        return "it is packed for web pages"
    if data[at : at + 4] not in _MAGIC or len(data) < at + 12:
        return "it is not a font file"
    count = struct.unpack_from(">H", data, at + 4)[0]
    directory = data[at + 12 : at + 12 + 16 * count]
    entries = list(struct.iter_unpack(">4sIII", directory)) if len(directory) == 16 * count else []
    if not entries or any(offset + length > len(data) for _, _, offset, length in entries):
        return "it is cut short"
    tables = {tag for tag, *_ in entries}
    wanted = {b"cmap", b"head", b"hhea", b"hmtx", b"maxp"} - tables
    if wanted or not {b"glyf", b"CFF ", b"CFF2"} & tables:
        return "parts of it are missing, among them the outlines or the table of characters"
    face = hb.Face(data)
    if face.glyph_count == 0 or not 16 <= face.upem <= _LARGEST_EM:
        return "it holds no usable letters"
    return ""


# ---- Words in single lines, for a bit that writes: the Hershey fonts
#
# The letters were drawn by A. V. Hershey (U.S. National Bureau of Standards, 1967) and may be used
# freely with that acknowledgement; the dependency ``Hershey-Fonts`` packages them.


_FILES: Final = {
    "single line": "rowmans",
    "single line plain": "futural",
    "single line script": "scripts",
}

LINE_FONTS: Final = frozenset(_FILES)

EM: Final = 28.0
"""Units from the line of the capitals to the lowest descender, taken as the em: capitals, 21 units
high, are then three quarters of the size, about as in the outline fonts."""

LINE: Final = 34.0
"""Units from one baseline to the next."""


@cache
def _letters(font: str) -> dict[str, Any]:
    loaded = HersheyFonts()
    loaded.load_default_font(_FILES[font])
    return dict(loaded.all_glyphs)


def draw_line_letters(art: TextArt, source: Source, tolerance_mm: float) -> Shapes:
    """Return words as lines (and their region, where a width is given), centred about x 0.

    The baseline of the first line lies at y 0.  Raises JobRefusedError for characters that the
    font lacks.
    """
    glyphs = _letters(art.font)
    _refuse_missing(art, glyphs, source)
    scale = art.size_mm / EM
    strokes: list[tuple[Point, ...]] = []
    for number, words in enumerate(art.words.split("\n")):
        letters = [glyphs[letter] for letter in words]
        widths = [float(each.char_width) + art.spacing * EM for each in letters]
        baseline = Baseline(art, scale, sum(widths), number * LINE * art.line_spacing)
        baseline.check(source)
        _refuse_meeting(baseline, words, letters, widths, source)
        x = 0.0
        for glyph, width in zip(letters, widths, strict=True):
            own = baseline.letter(x - glyph.left_offset, glyph.base_line, x + width / 2.0)
            for stroke in glyph.strokes:
                points = np.array(stroke, float).reshape(-1, 2)
                moved = own.apply(points * [scale, -scale])
                if len(moved) > 1 and np.ptp(moved, axis=0).max() > 0.0:
                    strokes.append(tuple((float(u), float(v)) for u, v in moved))
            x += width
    lines = StrokeArt(tuple(strokes), art.width_mm, smooth=False, closed=False, ends="round")
    return draw_strokes(lines, source, tolerance_mm)


def _refuse_meeting(
    baseline: Baseline, words: str, letters: list[Any], widths: list[float], source: Source
) -> None:
    """Refuse neighbours whose widened lines meet on an arc, but not on a straight line."""
    art = baseline.art
    if art.on_arc is None or not art.width_mm:
        return
    straight = replace(baseline, art=replace(art, on_arc=None))
    apart: list[list[float]] = []
    for way in (straight, baseline):
        drawn, x = list[MultiLineString](), 0.0
        for glyph, width in zip(letters, widths, strict=True):
            own = way.letter(x - glyph.left_offset, glyph.base_line, x + width / 2.0)
            lines = [np.array(each, float).reshape(-1, 2) for each in glyph.strokes]
            moved = [own.apply(each * [way.scale, -way.scale]) for each in lines if len(each) > 1]
            drawn.append(MultiLineString([LineString(each) for each in moved]))
            x += width
        # a blank has no lines, and is no distance from anything: nan compares as False
        apart.append([one.distance(other) for one, other in pairwise(drawn)])
    faults = Faults()
    for at, (before, now) in enumerate(zip(*apart, strict=True)):
        if now < art.width_mm <= before:
            faults.add(
                source,
                "letters-run-together",
                f"the letters '{words[at]}' and '{words[at + 1]}' overlap on this arc",
                "give more `spacing`, a larger circle, smaller words or a narrower line",
            )
    faults.refuse()


def _refuse_missing(art: TextArt, glyphs: dict[str, Any], source: Source) -> None:
    faults = Faults()
    for letter in dict.fromkeys(art.words.replace("\n", "")):
        if letter not in glyphs:
            named = unicodedata.name(letter, f"character {ord(letter):X}").lower()
            faults.add(
                source,
                "glyph-missing",
                f"the font {art.font} has no letter for '{letter}' ({named})",
                "use another character, or an outline font that has it",
            )
    faults.refuse()
