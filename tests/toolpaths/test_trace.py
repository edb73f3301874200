"""A whole file: where it starts and ends, which moves serve what, whose coordinates."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from shapely import MultiLineString

from flushwork.toolpaths.moves import MoveKind
from flushwork.toolpaths.orders import Work
from flushwork.toolpaths.trace import trace
from tests.fit.shapes import EIGHTH, box
from tests.gcode.cut_samples import level, line, order_of, pocket, traced

POCKET = pocket(EIGHTH, region=box(0, 0, 12, 9), floor=-1)
LINE = line(EIGHTH, lines=MultiLineString([[(0, 20), (30, 20)]]), floor=-1)
NOTHING = pocket(EIGHTH)


def test_up_first_then_across_then_down_and_up_at_the_end() -> None:
    moves = traced(POCKET, LINE).moves
    assert moves[0].kind is MoveKind.RAPID
    assert moves[0].z_mm == 5.0
    assert moves[1].kind is MoveKind.RAPID
    assert moves[1].z_mm == 5.0
    assert moves[-1].z_mm == 5.0


def test_spans_cover_their_moves() -> None:
    found = traced(POCKET, NOTHING, LINE)
    assert [span.work for span in found.spans] == [Work.POCKET, Work.LINE]
    assert found.spans[0].first == 1
    assert found.spans[1].first == found.spans[0].last + 1
    assert found.spans[1].last == len(found.moves) - 1


def test_coordinates_are_the_files() -> None:
    here = traced(POCKET).moves
    there = trace(replace(order_of(POCKET), origin_mm=(100.0, 50.0))).moves
    assert there[5].x_mm == pytest.approx(here[5].x_mm - 100.0)
    assert there[5].y_mm == pytest.approx(here[5].y_mm - 50.0)
    arc = next(k for k, move in enumerate(here) if move.kind is MoveKind.ARC)
    assert there[arc].centre_x_mm == pytest.approx(here[arc].centre_x_mm - 100.0)


def test_every_cut_has_a_feed_and_a_spindle() -> None:
    for move in traced(POCKET, LINE).moves:
        if move.kind in (MoveKind.FEED, MoveKind.ARC):
            assert move.feed_mm_min > 0.0
            assert move.spindle_rpm > 0.0


def test_clear_of_the_highest_material() -> None:
    proud = level(EIGHTH, region=box(0, 0, 9, 9), top=2.0, floor=0.1)
    assert traced(proud).moves[0].z_mm == 7.0


def test_going_down_never_outruns_the_plunge_rate() -> None:
    moves = traced(POCKET, LINE).moves
    for a, b in pairwise(moves):
        if b.kind is MoveKind.FEED and b.z_mm < a.z_mm:
            way = ((b.x_mm - a.x_mm) ** 2 + (b.y_mm - a.y_mm) ** 2 + (b.z_mm - a.z_mm) ** 2) ** 0.5
            assert b.feed_mm_min * (a.z_mm - b.z_mm) / way <= 600.0 + 1e-6


def test_nothing_at_all() -> None:
    assert traced(NOTHING).spans == ()
    assert len(traced(NOTHING).moves) == 1
