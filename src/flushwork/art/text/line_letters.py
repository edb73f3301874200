"""Words in single lines, for a bit that writes: the Hershey fonts.

The letters were drawn by A. V. Hershey (U.S. National Bureau of Standards, 1967) and may be used
freely with that acknowledgement; the dependency ``Hershey-Fonts`` packages them.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import Any, Final

import numpy as np
from HersheyFonts import HersheyFonts

from flushwork.art.drawn import Shapes
from flushwork.art.faults import Faults
from flushwork.art.strokes import draw_strokes
from flushwork.core.findings import Source
from flushwork.job.records import Point, StrokeArt, TextArt

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
        x = -sum(widths) / 2.0
        for glyph, width in zip(letters, widths, strict=True):
            for stroke in glyph.strokes:
                points = np.array(stroke, float).reshape(-1, 2)
                moved = np.column_stack(
                    (
                        (points[:, 0] + x - glyph.left_offset) * scale,
                        (glyph.base_line - points[:, 1] - number * LINE) * scale,
                    )
                )
                if len(moved) > 1 and np.ptp(moved, axis=0).max() > 0.0:
                    strokes.append(tuple((float(u), float(v)) for u, v in moved))
            x += width
    lines = StrokeArt(tuple(strokes), art.width_mm, smooth=False, closed=False, ends="round")
    return draw_strokes(lines, source, tolerance_mm)


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
