"""What a year where it will live does to the board, in figures, a table and a picture."""

from __future__ import annotations

import math

from flushwork.built import Build
from flushwork.checks.expected_board import year_of_build
from flushwork.views.book_records import Fact, TableView, YearView
from flushwork.views.drawing.drawing_marks import Space, tint
from flushwork.views.drawing.year_chart import year_chart
from flushwork.views.figures import Lengths, clean, number, percent
from flushwork.wood.movement import Season, Year, year_of


def year_view(made: Build, width_mm: float, lengths: Lengths) -> YearView:
    """Return the year of a build's board; its picture is so wide on paper."""
    year = year_of_build(made)
    wood = tint(made.palette.wood.hex, 0.35)
    each = [(room, year_of(year.board, (room,))) for room in made.job.rooms]
    head = ("place", "driest", "dampest", f"width, {lengths.head}", f"cup, {lengths.head}")
    rows = tuple(
        (
            clean(room.name),
            _when(own.driest),
            _when(own.dampest),
            _span(own.driest.growth_mm, own.dampest.growth_mm, lengths),
            _span(own.driest.cup_mm, own.dampest.cup_mm, lengths),
        )
        for room, own in each
    )
    return YearView(
        chart=year_chart(year, wood, Space(width_mm, 0.0), lengths),
        facts=_facts(year, lengths),
        places=TableView(head, rows, wide=(0, 1, 2)),
        note=(
            f"From {percent(year.board.moisture)} as made to the mean air of each month; a "
            "finished board lags behind and moves less. Movement: Wood Handbook, GTR-190 (2010), "
            "table 13-5, where the shelf says so. Cup: for rings of "
            f"{lengths.say(year.board.ring_radius_mm, 0)} radius; positive is hollow on the bark "
            "side."
        ),
        asked=any(key.startswith("places") for key in made.job.given),
    )


def _facts(year: Year, lengths: Lengths) -> tuple[Fact, ...]:
    widest = (
        f"{lengths.say(year.inlay_mm, 0)} across the grain"
        if math.isfinite(year.inlay_mm)
        else "any"
    )
    return (
        Fact(
            "Width changes",
            _span(year.driest.growth_mm, year.dampest.growth_mm, lengths) + f" {lengths.head}",
        ),
        Fact("Free in a frame", f"{lengths.say(year.clearance_mm)} each side"),
        Fact("Open when driest", f"{lengths.say(year.gap_mm)} each side"),
        Fact("Strain at an inlay", percent(abs(year.worst.strain))),
        Fact("Widest rigid inlay", widest),
        Fact("Cup", lengths.say(max(abs(year.driest.cup_mm), abs(year.dampest.cup_mm)))),
    )


def _when(season: Season) -> str:
    return f"{season.at.month}, {number(100.0 * season.at.moisture, 1)} %"


def _span(low: float, high: float, lengths: Lengths) -> str:
    def signed(value: float) -> str:
        return ("+" if value > 0.0 else "") + lengths.cell(value)

    return f"{signed(low)} to {signed(high)}"
