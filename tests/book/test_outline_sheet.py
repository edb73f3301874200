"""The true-size sheets: tiles cover the blank, overlap, and measure true."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.book.compose import view_of
from flushwork.views.book_records import UnitSystem
from flushwork.views.context import ViewContext
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.outline_sheet import FOOT_MM, HEAD_MM, OVERLAP_MM, tiling

UPRIGHT = Space(190.0, 277.0)


@settings(max_examples=200, deadline=None)
@given(st.floats(10.0, 1500.0), st.floats(10.0, 1500.0))
def test_tiles_cover_the_blank_with_the_overlap_between_them(length: float, width: float) -> None:
    plan = tiling(length, width, UPRIGHT)
    assert plan.columns * plan.across_mm - (plan.columns - 1) * OVERLAP_MM >= length - 1e-6
    assert plan.rows * plan.up_mm - (plan.rows - 1) * OVERLAP_MM >= width - 1e-6
    page_high = UPRIGHT.width_mm if plan.landscape else UPRIGHT.height_mm
    assert plan.up_mm + FOOT_MM + HEAD_MM <= page_high + 1e-9


def test_a_small_blank_needs_one_sheet_and_says_nothing_of_tape() -> None:
    plan = tiling(120.0, 120.0, UPRIGHT)
    assert (plan.columns, plan.rows, plan.landscape) == (1, 1, False)


def test_a_turned_page_is_taken_where_it_saves_sheets() -> None:
    assert tiling(260.0, 100.0, UPRIGHT).landscape


def crosses(svg: str) -> set[tuple[float, float]]:
    """Return the centres of the join marks on a tile."""
    (data,) = re.findall(r'd="([^"]*)" fill="none" stroke="#b4552d"', svg)
    return {(float(x) + 2.0, float(y)) for x, y in re.findall(r"M(\S+) (\S+?)h4", data)}


def test_join_marks_fall_on_the_same_wood_on_both_tiles(context: ViewContext) -> None:
    sheet = view_of(context).sheets[0]
    assert len(sheet.tiles) == 2
    step = context.sheet().width_mm - OVERLAP_MM
    left, right = (crosses(tile.svg) for tile in sheet.tiles)
    assert {(round(x, 2), round(y, 2)) for x, y in left} == {
        (round(x + step, 2), round(y, 2)) for x, y in right
    }


@pytest.mark.parametrize(("units", "width"), [("metric", "50"), ("inch", "50.8")])
def test_every_tile_has_the_bar_of_the_shop(
    make_context: Callable[..., ViewContext], units: UnitSystem, width: str
) -> None:
    view = view_of(replace(make_context(), page="us-letter", units=units))
    for sheet in view.sheets:
        for tile in sheet.tiles:
            assert tile.svg.count('height="1.2"') == 1
            assert f'width="{width}" height="1.2"' in tile.svg


def test_a_tile_is_drawn_at_its_own_size(context: ViewContext) -> None:
    for tile in view_of(context).sheets[0].tiles:
        size = f"{tile.width_mm:.2f}", f"{tile.height_mm:.2f}"
        assert f'width="{size[0]}mm" height="{size[1]}mm"' in tile.svg
        assert f'viewBox="0 0 {size[0]} {size[1]}"' in tile.svg


def test_holes_are_drawn_at_their_own_diameter(context: ViewContext) -> None:
    svg = "".join(tile.svg for tile in view_of(context).sheets[1].tiles)
    assert 'r="1.59"' in svg
