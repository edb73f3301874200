"""The shop book as one HTML file that needs nothing else: no script, no link, no picture outside.

Every word is escaped by the template; only our own drawings go in as they are.
"""

from __future__ import annotations

import base64
import os
import sys
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final

import font_lato
import font_source_serif_pro
from jinja2 import Environment, FileSystemBytecodeCache, PackageLoader, StrictUndefined

from flushwork.views.book_records import BookView

FACES: Final = (
    ("Lato", 400, font_lato.font_files["Lato"]),
    ("Lato", 700, font_lato.font_files["LatoBold"]),
    ("Source Serif Pro", 400, font_source_serif_pro.font_files_ttf["SourceSerifPro"]),
)
"""The fonts that travel in the file (SIL Open Font License)."""


def html_text(view: BookView) -> str:
    """Return the book as one HTML document; the same view gives the same text."""
    return (
        _environment()
        .get_template("book.html.j2")
        .render(book=view, style=_style(), fonts=_fonts())
    )


@cache
def _environment() -> Environment:
    made = Environment(
        bytecode_cache=_kept_bytecode(),
        loader=PackageLoader("flushwork.book"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["base64"] = _base64
    return made


def _kept_bytecode() -> FileSystemBytecodeCache | None:
    """Keep the compiled template where Python keeps compiled modules, if that may be written."""
    kept = Path(__file__).parent / "__pycache__"
    if sys.dont_write_bytecode or not os.access(kept, os.W_OK):
        return None
    return FileSystemBytecodeCache(str(kept))


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()


@cache
def _style() -> str:
    return (files("flushwork.book") / "templates" / "book.css").read_text("utf-8")


@cache
def _fonts() -> str:
    return "".join(
        f"@font-face{{font-family:'{family}';font-weight:{weight};src:url(data:font/ttf;base64,"
        f"{_base64(Path(file).read_bytes())})}}"
        for family, weight, file in FACES
    )
