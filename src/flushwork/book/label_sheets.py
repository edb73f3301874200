"""The labels of a run as one PDF: sheets of labels by rows and columns, or a roll."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import typst

from flushwork.book.pdf import TIMESTAMP_S, fonts
from flushwork.shelf.working import COMMON_LABELS, LabelSheet
from flushwork.views.book_records import PageSize
from flushwork.views.context import PAGES
from flushwork.views.labels import Label, label_svg

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
    sources: Any = {
        "main.typ": LAYOUT.encode(),
        **{name: svg.encode() for name, svg in files.items()},
    }
    made: Any = typst.compile(
        sources,
        font_paths=fonts(),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"sheet": json.dumps(told)},
        timestamp=TIMESTAMP_S,
    )
    return bytes(made)
