"""The shop book and the sheets of labels as PDF, set by the typst library.

Words go in as JSON data, never as markup, and pictures as files that exist in memory only.
"""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

import font_lato
import typst

from flushwork.shelf.working import COMMON_LABELS, LabelSheet
from flushwork.views.book_records import BookLength, BookView, PageSize, Picture
from flushwork.views.context import PAGES
from flushwork.views.labels import Label, label_svg

TIMESTAMP_S: Final = 0
"""Written into every PDF instead of the clock, so that the same job gives the same bytes."""


def pdf_bytes(view: BookView, length: BookLength = "short") -> bytes:
    """Return the book as a PDF; the same view gives the same bytes.

    The full book is the short one with a longer appendix.
    """
    pictures: dict[str, bytes] = {}
    data = _plain(replace(view, pngs={}), view.pngs, pictures)
    told = {"view": json.dumps(data, ensure_ascii=False), "book": length}
    return _typeset({"main.typ": _template(), **pictures}, told)


def _typeset(sources: Any, told: dict[str, str]) -> bytes:
    # the binding's types do not name the mapping of file names to bytes that it takes
    made: Any = typst.compile(
        sources,
        font_paths=fonts(),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs=told,
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


# ---- The labels of a run as one PDF: sheets of labels by rows and columns, or a roll


LAYOUT = """\
#let sheet = json(bytes(sys.inputs.at("sheet")))
#set page(width: sheet.page.at(0) * 1mm, height: sheet.page.at(1) * 1mm, margin: 0mm)
#for (at, file) in sheet.files.enumerate() {
  let place-on = calc.rem(at, sheet.columns * sheet.rows)
  if at > 0 and place-on == 0 { pagebreak() }
  let column = calc.rem(place-on, sheet.columns)
  let row = calc.quo(place-on, sheet.columns)
  place(
    top + left,
    dx: (sheet.left + column * sheet.step.at(0)) * 1mm,
    dy: (sheet.top + row * sheet.step.at(1)) * 1mm,
    image(file, width: sheet.size.at(0) * 1mm, height: sheet.size.at(1) * 1mm),
  )
}
"""


def label_sheets(
    labels: Sequence[Label], sheet: LabelSheet = COMMON_LABELS, page: PageSize = "a4"
) -> bytes:
    """Return the labels as a PDF, in the order of the labels, along the rows.

    A sheet has the page asked for and its labels in the middle; with one label across and one down
    the page is the label.
    """
    size = (sheet.width_mm, sheet.height_mm)
    wide, high = size if sheet.columns == sheet.rows == 1 else PAGES[page]
    files = {f"label-{at}.svg": label_svg(each, sheet) for at, each in enumerate(labels)}
    told = {
        "page": (wide, high),
        "size": size,
        "step": (sheet.width_mm + sheet.gap_across_mm, sheet.height_mm + sheet.gap_down_mm),
        "left": (wide - sheet.across_mm) / 2.0,
        "top": (high - sheet.down_mm) / 2.0,
        "columns": sheet.columns,
        "rows": sheet.rows,
        "files": list(files),
    }
    drawn = {name: svg.encode() for name, svg in files.items()}
    return _typeset({"main.typ": LAYOUT.encode(), **drawn}, {"sheet": json.dumps(told)})
