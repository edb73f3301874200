"""Fonts: the packaged open ones by plain names, or a font file beside the job.

Lato and Source Serif Pro are under the SIL Open Font License 1.1.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import font_lato
import font_source_serif_pro
import uharfbuzz as hb

from flushwork.art.faults import listed, refusal
from flushwork.core.findings import Source

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
    fault = _fault(data)
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


def _fault(data: bytes) -> str:
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
