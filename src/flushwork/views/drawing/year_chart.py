"""A year in the places a board will live: its moisture by month, and its end grain at both ends."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Final

from flushwork.shelf.rooms import MONTHS
from flushwork.views.book_records import Picture
from flushwork.views.drawing.drawing_marks import INK, SOFT, Space
from flushwork.views.drawing.svg import MEASURED, WORD_MM, drawing, path, shape, words
from flushwork.views.figures import NO_BREAK, Lengths, clean, number
from flushwork.wood.movement import RoomMonth, Season, Year

HIGH_MM: Final = 50.0
NAMES_MM: Final = 26.0
NAME_LETTERS: Final = 18
LINE_MM: Final = 3.4
LEFT_MM, FOOT_MM, TOP_MM = 11.0, 7.0, 6.0
BOARD_MM: Final = 46.0
"""Width on paper of the end view of a board."""
THICK_MM: Final = 5.0
CUP_MM: Final = 3.2
"""What the larger cup of both is drawn as: it is seen, not measured."""
DASHES: Final = ("", "2.4 1.2", "0.8 1", "4 1 0.8 1")


def year_chart(year: Year, wood: str, space: Space, lengths: Lengths) -> Picture:
    """Return the chart; ``wood`` is the colour of the board."""
    chart_mm = space.width_mm - BOARD_MM - NAMES_MM - 6.0
    alt = "The moisture of the wood through the year, and its end grain when driest and dampest"
    parts = [
        *_curves(year.moments, year.board.moisture, chart_mm),
        *_ends(year, wood, chart_mm + NAMES_MM + 4.0, lengths),
    ]
    return Picture(
        alt, "", space.width_mm, HIGH_MM, svg=drawing(parts, space.width_mm, HIGH_MM, alt)
    )


def _curves(moments: Sequence[RoomMonth], made_at: float, wide_mm: float) -> list[str]:
    shares = [each.moisture for each in moments] + [made_at]
    low, high = 100.0 * min(shares) - 1.0, 100.0 * max(shares) + 1.0
    base = HIGH_MM - FOOT_MM
    step = (wide_mm - LEFT_MM - 4.0) / (len(MONTHS) - 1)

    def up(share: float) -> float:
        return base - (100.0 * share - low) / (high - low) * (base - TOP_MM)

    every = next(each for each in (1, 2, 5, 10) if (high - low) / each <= 7.0)
    parts = [
        words("moisture of the wood", 0.0, 3.0, WORD_MM, fill=SOFT),
        *(
            shape("line", x1=LEFT_MM, x2=wide_mm - 4.0, y1=up(at / 100.0), y2=up(at / 100.0),
                  stroke="#cfc6ba", stroke_width=0.15)
            + words(f"{at}{NO_BREAK}%", LEFT_MM - 1.0, up(at / 100.0) + 1.0, WORD_MM,
                    anchor="end", fill=SOFT)
            for at in range(int(low) + 1, int(high) + 1) if at % every == 0
        ),
        *(
            words(month[0], LEFT_MM + at * step, base + 4.6, WORD_MM, anchor="middle", fill=SOFT)
            for at, month in enumerate(MONTHS)
        ),
    ]  # fmt: skip
    rooms = list(dict.fromkeys(each.room for each in moments))
    ends: list[tuple[float, str]] = []
    for at, room in enumerate(rooms):
        levels = [up(each.moisture) for each in moments if each.room == room]
        line = "L".join(f"{LEFT_MM + n * step:.2f} {y:.2f}" for n, y in enumerate(levels))
        parts.append(
            path(f"M{line}", fill="none", stroke=INK, stroke_width="0.4",
                 stroke_dasharray=DASHES[at % len(DASHES)] or "none")
        )  # fmt: skip
        ends.append((levels[-1] + 1.0, room))
    below = -LINE_MM
    for level, room in sorted(ends):
        below = max(level, below + LINE_MM)
        name = textwrap.shorten(clean(room), NAME_LETTERS, placeholder="\N{HORIZONTAL ELLIPSIS}")
        parts.append(words(name, wide_mm - 2.8, below, WORD_MM))
    y = up(made_at)
    made = words(
        f"as made, {number(100.0 * made_at, 1)}{NO_BREAK}%", LEFT_MM + 0.6, y - 0.9, WORD_MM,
        fill=MEASURED, bold=True,
    )  # fmt: skip
    return [
        *parts,
        shape("line", x1=LEFT_MM, x2=wide_mm - 4.0, y1=y, y2=y, stroke=MEASURED, stroke_width=0.35),
        made,
    ]


def _ends(year: Year, wood: str, left_mm: float, lengths: Lengths) -> list[str]:
    most = max(abs(year.driest.cup_mm), abs(year.dampest.cup_mm))
    parts: list[str] = []
    for season, top in ((year.driest, 8.0), (year.dampest, 31.0)):
        bend = -season.cup_mm / most * CUP_MM if most > 0.0 else 0.0
        name = "driest" if season is year.driest else "dampest"
        at = textwrap.shorten(
            f"{clean(season.at.room)}, {season.at.month}", 32, placeholder="\N{HORIZONTAL ELLIPSIS}"
        )
        parts += [
            words(_growth(season, lengths), left_mm, top - 2.6, WORD_MM, bold=True),
            _end_grain(left_mm, top + max(bend, 0.0), bend, wood),
            words(f"{name}: {at}", left_mm, top + THICK_MM + CUP_MM + 3.4, WORD_MM, fill=SOFT),
        ]
    return parts


def _growth(season: Season, lengths: Lengths) -> str:
    word = "wider" if season.growth_mm >= 0.0 else "narrower"
    return f"{lengths.say(abs(season.growth_mm))} {word}, cup {lengths.say(abs(season.cup_mm))}"


def _end_grain(left: float, top: float, bend: float, wood: str) -> str:
    """Draw a board seen from its end, heart below; its middle stands ``bend`` above its edges."""
    outline = (
        f"M{left:.2f} {top:.2f}q{BOARD_MM / 2:.2f} {-2 * bend:.2f} {BOARD_MM:.2f} 0"
        f"v{THICK_MM:.2f}q{-BOARD_MM / 2:.2f} {-2 * bend:.2f} {-BOARD_MM:.2f} 0z"
    )
    rings = "".join(
        f"M{left + BOARD_MM * (0.5 - half):.2f} {top + THICK_MM - bend * (1 - 4 * half**2):.2f}"
        f"q{BOARD_MM * half:.2f} {-2.0 * THICK_MM * rise - 0.5 * bend:.2f} "
        f"{2.0 * BOARD_MM * half:.2f} 0"
        for half, rise in ((0.42, 0.85), (0.3, 0.6), (0.18, 0.35))
    )
    return path(outline, fill=wood, stroke=INK, stroke_width="0.3") + path(
        rings, fill="none", stroke=SOFT, stroke_width="0.2"
    )
