"""One board with the parts that are sawn out of it, to scale; defects are hatched."""

from __future__ import annotations

from typing import Final

from flushwork.cutlist.parts import Placed, Sawn
from flushwork.views.book_records import Picture
from flushwork.views.drawing.drawing_marks import INK, SOFT, tint
from flushwork.views.drawing.svg import MEASURED, WORD_MM, drawing, group, path, shape, words
from flushwork.views.figures import TIMES, Lengths, clean

MOST_HIGH_MM: Final = 60.0
LEAST_WIDE_MM: Final = 60.0
"""Room for the name of a short board."""
LETTER: Final = 0.56
HATCH_MM: Final = 2.0


def board_layout(
    sawn: Sawn, times: int, colour: str, width_mm: float, longest_mm: float, lengths: Lengths
) -> Picture:
    """Return the picture of a board; the longest of all boards is as wide as the picture."""
    plank = sawn.plank
    scale = min(width_mm / longest_mm, MOST_HIGH_MM / plank.across_mm)
    long_mm, board_mm = plank.along_mm * scale, plank.across_mm * scale
    title = f"{clean(plank.name)}: {lengths.size(plank.along_mm, plank.across_mm)}"
    if times > 1:
        title += f", {times} alike"
    top = 4.4
    parts = [
        words(title, 0.0, 3.0, WORD_MM, bold=True),
        shape("rect", x=0.0, y=top, width=long_mm, height=board_mm, fill=tint(colour, 0.75),
              stroke=SOFT, stroke_width=0.2),
        *(
            _hatched(
                defect.x_mm * scale,
                top + (plank.across_mm - defect.y_mm - defect.across_mm) * scale,
                defect.along_mm * scale,
                defect.across_mm * scale,
            )
            for defect in plank.defects
        ),
        *(_part(placed, plank.across_mm, scale, top, colour, lengths) for placed in sawn.placed),
    ]  # fmt: skip
    high = top + board_mm + 1.0
    alt = f"Board {plank.name} with the parts sawn out of it"
    wide_mm = max(long_mm, LEAST_WIDE_MM)
    return Picture(alt, "", wide_mm, high, svg=drawing(parts, wide_mm, high, alt))


def _part(
    placed: Placed, board_mm: float, scale: float, top: float, colour: str, lengths: Lengths
) -> str:
    x, wide = placed.x_mm * scale, placed.along_mm * scale
    y = top + (board_mm - placed.y_mm - placed.across_mm) * scale
    high = placed.across_mm * scale
    rect = shape(
        "rect", x=x, y=y, width=wide, height=high, fill=tint(colour, 0.35), stroke=INK,
        stroke_width=0.3,
    )  # fmt: skip
    name = clean(placed.part.name)
    size = f"{lengths.cell(placed.along_mm, 0)} {TIMES} {lengths.cell(placed.across_mm, 0)}"
    lines = [text for text in (name, size) if len(text) * WORD_MM * LETTER < wide - 1.0]
    lines = lines[: int(high / (WORD_MM + 0.4))]
    first = y + high / 2.0 - (len(lines) - 1) * 0.5 * (WORD_MM + 0.4) + 0.35 * WORD_MM
    told = "".join(
        words(text, x + wide / 2.0, first + at * (WORD_MM + 0.4), WORD_MM, anchor="middle")
        for at, text in enumerate(lines)
    )
    return rect + told


def _hatched(x: float, y: float, wide: float, high: float) -> str:
    lines = []
    at = HATCH_MM
    while at < wide + high:
        begin = (x + min(at, wide), y + max(0.0, at - wide))
        end = (x + max(0.0, at - high), y + min(at, high))
        lines.append(f"M{begin[0]:.2f} {begin[1]:.2f}L{end[0]:.2f} {end[1]:.2f}")
        at += HATCH_MM
    return group(
        (
            shape("rect", x=x, y=y, width=wide, height=high, fill="#ffffff", fill_opacity="0.7"),
            path("".join(lines), fill="none"),
            shape("rect", x=x, y=y, width=wide, height=high, fill="none"),
        ),
        stroke=MEASURED,
        stroke_width="0.25",
    )
