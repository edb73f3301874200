"""Layouts that a saw can cut: everything has its place, clear of defects and a kerf apart."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.book.compose import book_view
from flushwork.book.html import html_text
from flushwork.cutlist.lay_out import lay_out
from flushwork.cutlist.parts import Defect, Placed, Plank, SawLayout, Sawn, SawPart
from flushwork.views.box.cut_list_views import cut_list_view
from flushwork.views.figures import Lengths
from tests.many import examples
from tests.small_jobs import changed, found, made
from tests.wood.test_glue_up import glued

SIZES = st.floats(20.0, 400.0).map(lambda size: round(size, 1))
PARTS = st.lists(
    st.tuples(SIZES, SIZES, st.integers(1, 4), st.booleans()), min_size=1, max_size=6
).map(lambda rows: tuple(SawPart(f"part {at}", *row) for at, row in enumerate(rows)))
DEFECTS = st.lists(
    st.builds(
        Defect,
        st.floats(0.0, 700.0),
        st.floats(0.0, 250.0),
        st.floats(5.0, 90.0),
        st.floats(5.0, 90.0),
    ),
    max_size=3,
).map(tuple)
PLANKS = st.lists(
    st.tuples(st.floats(300.0, 900.0), st.floats(80.0, 420.0), st.integers(1, 3), DEFECTS),
    min_size=1,
    max_size=3,
).map(lambda rows: tuple(Plank(f"board {at}", *row) for at, row in enumerate(rows)))


def parted(placed: list[Placed], kerf: float) -> bool:
    """Whether cuts from edge to edge part all of these, each a kerf wide."""
    if len(placed) < 2:
        return True
    for across in (False, True):
        spans = {
            each: (each.y_mm, each.y_mm + each.across_mm)
            if across
            else (each.x_mm, each.x_mm + each.along_mm)
            for each in placed
        }
        for cut in {end for _, end in spans.values()}:
            before = [each for each in placed if spans[each][1] <= cut + 1e-6]
            after = [each for each in placed if spans[each][0] >= cut + kerf - 1e-6]
            if before and after and len(before) + len(after) == len(placed):
                return parted(before, kerf) and parted(after, kerf)
    return False


def hold(
    layout: SawLayout, parts: tuple[SawPart, ...], planks: tuple[Plank, ...], kerf: float
) -> None:
    for each in layout.sawn:
        assert each.placed
        for placed in each.placed:
            assert placed.part.turns or not placed.turned
            assert placed.x_mm >= -1e-6
            assert placed.y_mm >= -1e-6
            assert placed.x_mm + placed.along_mm <= each.plank.along_mm + 1e-3
            assert placed.y_mm + placed.across_mm <= each.plank.across_mm + 1e-3
            spot = (placed.x_mm + 1e-3, placed.y_mm + 1e-3)
            size = (placed.along_mm - 2e-3, placed.across_mm - 2e-3)
            assert not any(defect.meets(*spot, *size) for defect in each.plank.defects)
        assert parted(list(each.placed), kerf), each
    for part in parts:
        laid = sum(p.part.name == part.name for s in layout.sawn for p in s.placed)
        out = sum(p.count for p in layout.left_out if p.name == part.name)
        assert laid + out == part.count
    for plank in planks:
        assert sum(each.plank == plank for each in layout.sawn) <= plank.count
    assert layout.least_mm2 <= layout.used_mm2 * (1.0 + 1e-9)


@given(parts=PARTS, planks=PLANKS, kerf=st.sampled_from([0.0, 2.2, 3.0]))
@settings(max_examples=examples(25), deadline=None)
def test_a_saw_can_cut_every_layout(
    parts: tuple[SawPart, ...], planks: tuple[Plank, ...], kerf: float
) -> None:
    hold(lay_out(parts, planks, kerf), parts, planks, kerf)


@given(
    lengths=st.lists(st.tuples(SIZES, st.integers(1, 5)), min_size=1, max_size=5),
    stock=st.lists(st.tuples(st.floats(420.0, 1500.0), DEFECTS), min_size=1, max_size=3),
    kerf=st.sampled_from([0.0, 3.0]),
)
@settings(max_examples=examples(25), deadline=None)
def test_a_saw_can_cut_every_list_of_lengths(
    lengths: list[tuple[float, int]], stock: list[tuple[float, tuple[Defect, ...]]], kerf: float
) -> None:
    parts = tuple(SawPart(f"part {at}", long, 50.0, n) for at, (long, n) in enumerate(lengths))
    planks = tuple(
        Plank(f"board {at}", long, 60.0, 4, defects) for at, (long, defects) in enumerate(stock)
    )
    hold(lay_out(parts, planks, kerf), parts, planks, kerf)


@given(cuts=st.lists(st.floats(0.2, 0.8), min_size=1, max_size=4))
@settings(max_examples=examples(15), deadline=None)
def test_what_was_sawn_from_one_board_fits_on_one_board(cuts: list[float]) -> None:
    rooms = [(600.0, 400.0)]
    for at, share in enumerate(cuts):
        along, across = rooms.pop(0)
        rooms += (
            [(along * share - 1.5, across), (along * (1 - share) - 1.5, across)]
            if at % 2
            else [(along, across * share - 1.5), (along, across * (1 - share) - 1.5)]
        )
    parts = tuple(SawPart(f"part {at}", *room) for at, room in enumerate(rooms))
    layout = lay_out(parts, (Plank("board", 600.0, 400.0, 3),), 3.0)
    assert len(layout.sawn) == 1
    assert layout.best


CUT_LIST = (
    "cut list:\n  boards:\n"
    "    - {name: A, length: %s, width: 100 mm, thickness: 24 mm, count: %d,\n"
    "       defects: [{from: 130 mm, until: 160 mm}]}\n"
    "  parts: [{name: stand, length: 70 mm, width: 34 mm, thickness: 16 mm, count: 2}]\nfront:"
)


def test_the_blanks_of_a_run_are_laid_out(tmp_path: Path) -> None:
    # sawn: one strip of 41 x 120 and one of 41 x 120, two stands of 100 x 40; boards of 100 mm
    build = made(tmp_path, changed("front:", CUT_LIST % ("400 mm", 2), glued("[35 mm, 35 mm]")))
    view = cut_list_view(build, 180.0, Lengths("metric"))
    assert view is not None
    assert [row[0] for row in view.parts.rows] == ["strip 35", "stand"]
    assert [row[1] for row in view.parts.rows] == ["2", "2"]
    assert view.parts.rows[0][2].startswith("120.0 \N{MULTIPLICATION SIGN} 41.0")
    assert view.facts[0].value.startswith("1\N{NO-BREAK SPACE}board")
    assert not found(build, "boards-too-few")
    text = html_text(book_view(build, {}, dt.date(2027, 3, 1)))
    assert "The cut list" in text
    assert "strip 35" in text


def test_boards_that_do_not_hold_it_are_told_and_one_more_mends_it(tmp_path: Path) -> None:
    text = changed("front:", CUT_LIST % ("200 mm", 1), glued("[35 mm, 35 mm]"))
    (told,) = found(made(tmp_path, text), "boards-too-few")
    assert "used up" in told.message
    mended = text.replace("count: 1,", "count: 3,")
    assert not found(made(tmp_path, mended), "boards-too-few")
    thin = text.replace("thickness: 24 mm", "thickness: 20 mm")
    (told,) = found(made(tmp_path, thin), "boards-too-few")
    assert "none of sugar maple is 22 mm thick" in told.message


def test_waste_and_gap_are_shares_of_the_boards_sawn() -> None:
    part = SawPart("a", 100.0, 50.0)
    plank = Plank("b", 200.0, 100.0)
    layout = SawLayout((Sawn(plank, (Placed(part, 0.0, 0.0),)),), (), 10_000.0)
    assert layout.waste == pytest.approx(0.75)
    assert layout.gap == pytest.approx(0.5)
    assert not layout.best
