"""The shop book as PDF, set by the typst library from view records.

Words go in as JSON data, never as markup, and pictures as files that exist in memory only.
"""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

import font_lato
import typst

from flushwork.views.book_records import BookLength, BookView, Picture

TIMESTAMP_S: Final = 0
"""Written into every PDF instead of the clock, so that the same job gives the same bytes."""


def pdf_bytes(view: BookView, length: BookLength = "short") -> bytes:
    """Return the book as a PDF; the same view gives the same bytes.

    The full book is the short one with a longer appendix.
    """
    pictures: dict[str, bytes] = {}
    data = _plain(replace(view, pngs={}), view.pngs, pictures)
    # the binding's types do not name the mapping of file names to bytes that it takes
    sources: Any = {"main.typ": _template(), **pictures}
    made: Any = typst.compile(
        sources,
        font_paths=fonts(),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"view": json.dumps(data, ensure_ascii=False), "book": length},
        timestamp=TIMESTAMP_S,
    )
    return bytes(made)


def _plain(value: object, pngs: Mapping[str, bytes], pictures: dict[str, bytes]) -> object:
    """Return records as mappings; each picture becomes the name of a file in ``pictures``."""
    if isinstance(value, Picture):
        data = (_wrapped(value, pngs[value.png]) if value.png else value.svg).encode()
        name = f"picture-{hashlib.sha256(data).hexdigest()[:16]}.svg"
        pictures[name] = data
        return {
            "file": name,
            "alt": value.alt,
            "caption": value.caption,
            "width_mm": value.width_mm,
            "height_mm": value.height_mm,
        }
    if dataclasses.is_dataclass(value):
        return {
            each.name: _plain(getattr(value, each.name), pngs, pictures)
            for each in dataclasses.fields(value)
        }
    if isinstance(value, tuple):
        return [_plain(each, pngs, pictures) for each in value]
    return value


def _wrapped(picture: Picture, png: bytes) -> str:
    """Return a PNG inside a drawing: the files in memory have to be text."""
    size = f'width="100" height="{100.0 * picture.height_mm / picture.width_mm:.3f}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} preserveAspectRatio="none" '
        f'href="data:image/png;base64,{base64.b64encode(png).decode()}"/></svg>'
    )


@cache
def _template() -> bytes:
    return (files("flushwork.book") / "templates" / "book.typ").read_bytes()


@cache
def fonts() -> typst.Fonts:
    """Return the fonts of the book."""
    folder = Path(font_lato.font_files["Lato"]).parent
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(folder)]
    )
