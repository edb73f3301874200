"""The box drawn: from above, from the front, a corner cut through, a corner at true size."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from flushwork.job.records import BoxPiece, HeldHow
from flushwork.views.book_records import Picture, SheetView
from flushwork.views.drawing.drawing_marks import INK, SOFT, Space, tint
from flushwork.views.drawing.outline_sheet import FOOT_MM, HEAD_MM, check_bar
from flushwork.views.drawing.svg import MEASURED, WORD_MM, dimension, drawing, path, shape, words
from flushwork.views.figures import Lengths
from flushwork.wood.box_dividers import divided_mm, divider_middles_mm
from flushwork.wood.box_pieces import recesses
from flushwork.wood.box_sizes import MadeBox

MARGIN_MM: Final = 8.0
"""Room for dimensions above and below a drawing."""
LEFT_MM, RIGHT_MM = 1.0, 15.0
"""Room beside it, for a dimension with its figure at the right."""
MOST_HIGH_MM: Final = 52.0
ART: Final = "#35618a"
SLOT: Final = "#e4dbcf"
BESIDE_MM: Final = 12.0
"""Of each wall shown on the true-size corner beyond where a slot ends."""
GAUGE_MM: Final = 44.0
"""Room beside it for the gauge of the blade's height."""
TICK_MM: Final = 10.0


def plan_drawing(made: MadeBox, colour: str, width_mm: float, lengths: Lengths) -> Picture:
    """Return the box from above: walls with their letters, mitres, grooves dashed, the board."""
    long, wide = made.outside_mm
    scale = min((width_mm - LEFT_MM - RIGHT_MM) / long, (MOST_HIGH_MM - 2 * MARGIN_MM) / wide)
    across, up = long * scale, wide * scale
    wall = made.box.wall_mm / math.cos(made.box.lean_rad) * scale
    x, y = LEFT_MM + (width_mm - LEFT_MM - RIGHT_MM - across) / 2.0, MARGIN_MM
    inner = {"x": x + wall, "y": y + wall, "width": across - 2 * wall, "height": up - 2 * wall}
    mitres = "".join(
        f"M{cx:.2f} {cy:.2f}l{sx * wall:.2f} {sy * wall:.2f}"
        for cx, cy, sx, sy in (
            (x, y, 1, 1), (x + across, y, -1, 1), (x, y + up, 1, -1), (x + across, y + up, -1, -1),
        )
    )  # fmt: skip
    parts = [
        shape("rect", x=x, y=y, width=across, height=up, fill=tint(colour, 0.35), stroke=INK,
              stroke_width=0.3),
        shape("rect", **inner, fill="#ffffff", stroke=INK, stroke_width=0.3),
        path(mitres, fill="none", stroke=INK, stroke_width="0.2"),
    ]  # fmt: skip
    parts += _dividers(made, (inner["x"], inner["y"]), scale)
    if made.board is not None:
        bx, by = (size * scale for size in made.board.size_mm)
        parts.append(
            shape("rect", x=x + (across - bx) / 2, y=y + (up - by) / 2, width=bx, height=by,
                  fill="none" if made.box.dividers else tint(colour, 0.65), stroke=SOFT,
                  stroke_width=0.25, stroke_dasharray="1.2 0.8")
        )  # fmt: skip
    room_x, room_y = (size * scale for size in divided_mm(made))
    lx, ly = (wall + room_x / 2, wall + room_y / 2) if made.box.dividers else (across / 2, up / 2)
    for letter, at_x, at_y in (
        ("A", x + lx, y + wall + 3.4),
        ("C", x + lx, y + up - wall - 1.2),
        ("B", x + across - wall - 2.4, y + ly),
        ("D", x + wall + 2.4, y + ly),
    ):
        parts.append(words(letter, at_x, at_y, WORD_MM, anchor="middle", bold=True))
    parts.append(dimension((x, y - 3.0), (x + across, y - 3.0), lengths.say(long, 1)))
    parts.append(dimension((x + across + 3, y), (x + across + 3, y + up), lengths.cell(wide, 1)))
    alt = "The box from above: four walls, their mitres, what lies in their grooves"
    high = up + 2 * MARGIN_MM
    return Picture(alt, "From above", width_mm, high, svg=drawing(parts, width_mm, high, alt))


def _dividers(made: MadeBox, corner: tuple[float, float], scale: float) -> Iterator[str]:
    """Draw the dividers from above, those across over those along: they are halved together."""
    dividers, (inside_x, inside_y) = made.box.dividers, made.inside_mm
    if dividers is None:
        return
    thick, (x, y) = dividers.thickness_mm, corner
    look: dict[str, str | float] = {"stroke": INK, "stroke_width": 0.2}
    look["fill"] = tint(dividers.wood.colour, 0.1)
    for at in divider_middles_mm(inside_y, dividers.along, thick):
        yield shape("rect", x=x, y=y + (at - thick / 2) * scale, width=inside_x * scale,
                    height=thick * scale, **look)  # fmt: skip
    for at in divider_middles_mm(inside_x, dividers.across, thick):
        yield shape("rect", x=x + (at - thick / 2) * scale, y=y, width=thick * scale,
                    height=inside_y * scale, **look)  # fmt: skip


def front_drawing(made: MadeBox, colour: str, width_mm: float, lengths: Lengths) -> Picture:
    """Return the wall C from the front: splines, art, lid cut; grooves and bottom dashed."""
    box, long = made.box, made.longest_mm[0]
    scale = min(
        (width_mm - LEFT_MM - RIGHT_MM) / long, (MOST_HIGH_MM - 2 * MARGIN_MM) / box.height_mm
    )
    across, up = long * scale, box.height_mm * scale
    x, y = LEFT_MM + (width_mm - LEFT_MM - RIGHT_MM - across) / 2.0, MARGIN_MM
    lean = (made.longest_mm[0] - made.outside_mm[0]) / 2.0 * scale

    def level(height_mm: float) -> float:
        return y + up - height_mm * scale

    outline = (
        f"M{x + lean:.2f} {y + up:.2f}H{x + across - lean:.2f}L{x + across:.2f} {y:.2f}H{x:.2f}z"
    )
    parts = [path(outline, fill=tint(colour, 0.35), stroke=INK, stroke_width="0.3")]
    for art in box.art:
        inset = art.from_corner_mm * scale
        parts.append(
            shape("rect", x=x + inset, y=level(art.to_mm), width=max(0.0, across - 2 * inset),
                  height=(art.to_mm - art.from_base_mm) * scale, fill=ART, fill_opacity="0.55")
        )  # fmt: skip
    for groove in made.grooves():
        low, top = level(groove.low_mm), level(min(groove.high_mm, box.height_mm))
        parts.append(
            path(f"M{x:.2f} {low:.2f}H{x + across:.2f}M{x:.2f} {top:.2f}H{x + across:.2f}",
                 fill="none", stroke=SOFT, stroke_width="0.25", stroke_dasharray="1.2 0.8")
        )  # fmt: skip
    if box.splines is not None:
        shown, thick = made.shows_mm * scale, box.splines.thickness_mm * scale
        spline = made.spline_colour
        size = {"width": shown, "height": thick, "stroke_width": 0.2}
        parts += [
            shape("rect", x=left, y=level(at) - thick / 2, fill=spline, stroke=INK, **size)
            for at in box.splines.heights_mm
            for left in (x, x + across - shown)
        ]
    if box.lid is not None:
        top, deep = level(box.lid.high_mm), box.lid.lost_mm * scale
        parts.append(
            shape("rect", x=x, y=top, width=across, height=deep, fill="#ffffff",
                  stroke=MEASURED, stroke_width=0.25)
        )  # fmt: skip
    for piece, hidden in ((BoxPiece.WALL_A, True), (BoxPiece.WALL_C, False)):
        for each in recesses(made, piece):
            dashed = {"stroke_dasharray": "0.8 0.6"} if hidden else {}
            parts.append(
                shape("rect", x=x + (each.x_mm - each.long_mm / 2) * scale,
                      y=level(each.y_mm + each.wide_mm / 2), width=each.long_mm * scale,
                      height=each.wide_mm * scale, fill="none" if hidden else "#ffffff",
                      stroke=INK, stroke_width=0.25, **dashed)
            )  # fmt: skip
    for each in recesses(made, BoxPiece.EDGE_C):
        parts.append(
            shape("rect", x=x + (each.x_mm - each.long_mm / 2) * scale, y=level(each.depth_mm),
                  width=each.long_mm * scale, height=each.depth_mm * scale, fill="none",
                  stroke=SOFT, stroke_width=0.25, stroke_dasharray="0.5 0.4")
        )  # fmt: skip
    parts.append(
        dimension((x + across + 3, y), (x + across + 3, y + up), lengths.cell(box.height_mm, 1))
    )
    alt = "The box from the front as it is glued: splines, lid cut, grooves dashed"
    high = up + 2 * MARGIN_MM
    caption = "From the front, as glued"
    return Picture(alt, caption, width_mm, high, svg=drawing(parts, width_mm, high, alt))


def corner_drawing(made: MadeBox, colour: str, width_mm: float, lengths: Lengths) -> Picture:
    """Return one corner cut through in plan: slot, groove dashed, where inlay begins."""
    box, wall = made.box, made.box.wall_mm
    reach = max(made.shows_mm, 2.0 * wall, *(art.from_corner_mm for art in box.art), 1.0) * 1.25
    scale = min(width_mm - LEFT_MM - RIGHT_MM, MOST_HIGH_MM - 2 * MARGIN_MM) / reach
    x, y = LEFT_MM, MARGIN_MM
    far, thick = reach * scale, wall * scale

    def lines(inset_mm: float) -> str:
        inset = inset_mm * scale
        return f"M{x + far:.2f} {y + inset:.2f}H{x + inset:.2f}V{y + far:.2f}"

    body = f"M{x:.2f} {y:.2f}h{far:.2f}v{thick:.2f}H{x + thick:.2f}V{y + far:.2f}H{x:.2f}z"
    parts = [path(body, fill=tint(colour, 0.35), stroke=INK, stroke_width="0.3")]
    parts.append(path(f"M{x:.2f} {y:.2f}l{thick:.2f} {thick:.2f}", stroke=INK, stroke_width="0.2"))
    if made.into_mm and box.board is not None and box.board.how is not HeldHow.LOOSE:
        parts.append(
            path(lines(wall - made.into_mm), fill="none", stroke=SOFT, stroke_width="0.25",
                 stroke_dasharray="1.2 0.8")
        )  # fmt: skip
    if box.bottom is not None:
        parts.append(
            path(lines(wall - box.bottom.depth_mm), fill="none", stroke=SOFT, stroke_width="0.25",
                 stroke_dasharray="0.5 0.8")
        )  # fmt: skip
    if box.splines is not None:
        shown = made.shows_mm * scale
        parts.append(
            path(f"M{x:.2f} {y:.2f}h{shown:.2f}L{x:.2f} {y + shown:.2f}z",
                 fill=made.spline_colour, fill_opacity="0.85", stroke=INK,
                 stroke_width="0.3")
        )  # fmt: skip
        parts.append(dimension((x, y - 3), (x + shown, y - 3), lengths.say(made.shows_mm, 1)))
        deep = box.splines.depth_mm * scale / math.sqrt(2.0)
        parts.append(dimension((x, y), (x + deep, y + deep), lengths.cell(box.splines.depth_mm, 1)))
    for art in box.art:
        begin = art.from_corner_mm * scale
        parts.append(
            path(f"M{x + begin:.2f} {y:.2f}H{x + far:.2f}M{x:.2f} {y + begin:.2f}V{y + far:.2f}",
                 fill="none", stroke=ART, stroke_width="1")
        )  # fmt: skip
    right = x + far + 3
    parts.append(dimension((right, y), (right, y + thick), lengths.cell(wall, 1)))
    alt = "A corner cut through: the slot across the mitre, grooves dashed, inlay in blue"
    high = far + 2 * MARGIN_MM
    return Picture(alt, "A corner, cut", width_mm, high, svg=drawing(parts, width_mm, high, alt))


# ---- The corner unrolled, at true size


def corner_sheet(made: MadeBox, upright: Space, lengths: Lengths) -> SheetView | None:
    """Return the outer faces beside a corner at true size, folded around it to mark the slots.

    A box higher than a page has several sheets, each of which gives its heights from the base.
    """
    if made.box.splines is None:
        return None
    room = upright.height_mm - FOOT_MM - HEAD_MM - 6.0
    height = made.box.height_mm
    count = max(1, math.ceil(height / room))
    tiles = tuple(
        _tile(made, at * height / count, (at + 1) * height / count, lengths) for at in range(count)
    )
    several = f" {count} sheets, from the base up." if count > 1 else ""
    return SheetView(
        heading="Spline slots at true size",
        note=f"Cut it out, fold it along the middle around a corner, base to base.{several} The "
        "angle beside it stands in the carrier and shows how high the blade comes. Print at "
        "100 %, without fitting to the page, and measure the bar first.",
        landscape=False,
        tiles=tiles,
    )


def _tile(made: MadeBox, low: float, high: float, lengths: Lengths) -> Picture:
    box, splines = made.box, made.box.splines
    shown = made.shows_mm
    half = shown + BESIDE_MM
    fold, top = half, 2.0
    up = high - low

    def level(height_mm: float) -> float:
        return top + high - height_mm

    def across(height_mm: float, begin: float, end: float) -> str:
        return f"M{begin:.2f} {level(height_mm):.2f}H{end:.2f}" if low <= height_mm <= high else ""

    parts = [
        shape("rect", x=0.0, y=top, width=2 * half, height=up, fill="none", stroke=SOFT,
              stroke_width=0.2),
        path(f"M{fold:.2f} {top:.2f}v{up:.2f}", stroke=INK, stroke_width="0.25",
             stroke_dasharray="3 1"),
    ]  # fmt: skip
    ends_at = "base" if low == 0.0 else lengths.say(low, 0)
    parts.append(words(ends_at, 4.0, level(low) - 1.0, WORD_MM, fill=SOFT))
    parts.append(words("fold", fold + 1.0, top + 4.0, WORD_MM, fill=SOFT))
    ticks = range(math.ceil(low / TICK_MM), math.floor(high / TICK_MM) + 1)
    parts.append(
        path("".join(across(at * TICK_MM, 0.0, 2.5) for at in ticks), stroke=SOFT,
             stroke_width="0.2")
    )  # fmt: skip
    for groove in made.grooves():
        edges = across(groove.low_mm, 0, 2 * half) + across(groove.high_mm, 0, 2 * half)
        parts.append(
            path(edges, fill="none", stroke=SOFT, stroke_width="0.2", stroke_dasharray="1.2 0.8")
        )
    if box.lid is not None:
        kerf = box.lid.kerf_mm / 2.0
        edges = "".join(across(box.lid.from_base_mm + side, 0, 2 * half) for side in (-kerf, kerf))
        parts.append(path(edges, fill="none", stroke=MEASURED, stroke_width="0.2"))
    if splines is not None:
        thick = splines.thickness_mm / 2.0
        for at in splines.heights_mm:
            bottom, upper = max(low, at - thick), min(high, at + thick)
            if upper <= bottom:
                continue
            parts.append(
                shape("rect", x=fold - shown, y=level(upper), width=2 * shown,
                      height=upper - bottom, fill=SLOT, stroke=INK, stroke_width=0.25)
            )  # fmt: skip
            parts.append(
                words(lengths.say(at, 1), 2 * half + 1.5, level(at) + 1.0, WORD_MM, fill=MEASURED)
            )
        parts.append(_gauge(2 * half + 18.0, top + 16.0, splines.depth_mm, lengths))
    parts += _art_begins(made, fold, (low, high), top)
    parts.append(check_bar(top + max(up, 50.0) + 5.0, inch=lengths.units == "inch"))
    width = 2 * half + 18.0 + GAUGE_MM
    tall = top + max(up, 50.0) + FOOT_MM
    alt = f"Corner at true size, {low:.0f} to {high:.0f} mm from the base, with a bar to measure"
    caption = f"{lengths.say(low, 0)} to {lengths.say(high, 0)} from the base"
    return Picture(alt, caption, width, tall, svg=drawing(parts, width, tall, alt))


def _gauge(x: float, y: float, depth_mm: float, lengths: Lengths) -> str:
    """Draw a square corner that stands on its point, with the blade's height across it."""
    side = depth_mm + 8.0
    tip = y + side
    legs = f"M{x:.2f} {y:.2f}L{x + side:.2f} {tip:.2f}L{x + 2 * side:.2f} {y:.2f}"
    line = f"M{x + side - depth_mm:.2f} {tip - depth_mm:.2f}h{2 * depth_mm:.2f}"
    return (
        path(legs, fill="none", stroke=INK, stroke_width="0.25")
        + path(line, fill="none", stroke=MEASURED, stroke_width="0.25")
        + words(lengths.say(depth_mm, 1), x + side, tip - depth_mm - 1.0, WORD_MM, anchor="middle")
    )


def _art_begins(
    made: MadeBox, fold: float, shown: tuple[float, float], top: float
) -> Iterator[str]:
    """Draw where inlay begins on both faces, as far as it is on this sheet."""
    low, high = shown
    for art in made.box.art:
        begin, end = max(low, art.from_base_mm), min(high, art.to_mm)
        if begin < end and art.from_corner_mm < fold:
            down = f"{top + high - end:.2f}V{top + high - begin:.2f}"
            sides = (fold - art.from_corner_mm, fold + art.from_corner_mm)
            both = "".join(f"M{x:.2f} {down}" for x in sides)
            yield path(both, stroke=ART, stroke_width="0.4")
