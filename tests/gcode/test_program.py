"""From an order to a G-code file and back."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import MultiPolygon, box

from flushwork.gcode.program import file_name, gcode_file
from flushwork.gcode.run_time import run_time_s
from flushwork.shelf.items import BitKind, Dialect
from flushwork.toolpaths.moves import MoveKind
from flushwork.toolpaths.orders import PocketCut
from tests.gcode import second_reader
from tests.gcode.text_samples import FLAT, apart_mm, drill_operation, order, visits

POINTS = [(20.0, 20.0), (32.0, 20.0), (44.0, 20.0), (44.0, 32.0)]


@pytest.mark.parametrize("dialect", [Dialect(), Dialect(inch=True), Dialect(cycles=False)])
@pytest.mark.parametrize(("depth", "flat"), [(2.0, True), (8.0, False), (8.0, True)])
def test_holes_from_order_to_program(dialect: Dialect, depth: float, flat: bool) -> None:
    made = gcode_file(order(dialect, operations=(drill_operation(POINTS, depth, flat),)))
    assert made.problems == ()
    floors = {
        (round(move.x_mm, 2), round(move.y_mm, 2))
        for move in made.program.moves
        if move.kind is MoveKind.FEED and abs(move.z_mm + depth) < 0.001
    }
    assert floors == set(POINTS)
    assert apart_mm(visits(made.program), second_reader.read(made.text)) < 0.001
    assert made.cut_s == run_time_s(made.program, made.order.machine) > 0.0


@pytest.mark.parametrize(
    "dialect", [Dialect(), Dialect(inch=True), Dialect(arcs=False), Dialect(decimals=4)]
)
def test_a_pocket_from_order_to_program(dialect: Dialect) -> None:
    region = box(10.0, 10.0, 50.0, 35.0)
    centres = MultiPolygon([region.buffer(-FLAT.radius_mm, join_style="mitre")])
    pocket = PocketCut("panel", FLAT, 0.0, -2.0, MultiPolygon([region]), centres)
    made = gcode_file(order(dialect, operations=(pocket,)))
    assert made.problems == ()
    assert apart_mm(visits(made.program), second_reader.read(made.text)) < 0.001
    cuts = [move for move in made.program.moves if move.kind in {MoveKind.FEED, MoveKind.ARC}]
    reach = FLAT.radius_mm + 0.001
    assert all(move.x_mm - reach + 0.002 >= 10.0 for move in cuts)
    assert all(move.x_mm + reach - 0.002 <= 50.0 for move in cuts)
    assert min(move.z_mm for move in cuts) == pytest.approx(-2.0, abs=0.0005)
    assert [(span.subject, span.last) for span in made.spans] == [
        ("panel", len(made.program.moves) - 1)
    ]


def test_spans_count_the_moves_as_read() -> None:
    one = drill_operation(POINTS[:2], 2.0, True)
    two = replace(drill_operation(POINTS[2:], 3.0, False), subject="men's corners")
    made = gcode_file(order(operations=(one, two)))
    assert [span.subject for span in made.spans] == ["peg holes", "men's corners"]
    first, second = made.spans
    assert first.last + 1 == second.first
    for span, depth, points in ((first, 2.0, POINTS[:2]), (second, 3.0, POINTS[2:])):
        cuts = [
            move
            for move in made.program.moves[span.first : span.last + 1]
            if move.kind is MoveKind.FEED
        ]
        assert {(move.x_mm, move.y_mm) for move in cuts} == set(points)
        assert min(move.z_mm for move in cuts) == -depth
    assert all(
        move.kind is not MoveKind.FEED
        for number, move in enumerate(made.program.moves)
        if not any(span.first <= number <= span.last for span in made.spans)
    )


def test_the_page_shows_a_true_file() -> None:
    page = Path(__file__).parents[2] / "docs" / "gcode-files.md"
    shown = page.read_text(encoding="utf-8").split("```\n")[1]
    dust = "WARNING. Wood dust: extraction at the cut and a respirator."
    plain = order(operations=(drill_operation(POINTS[:3], 2.0, True),))
    asked = replace(plain, warnings=(dust,))
    assert gcode_file(asked).text == shown


def test_file_names() -> None:
    assert file_name(order()) == "m1-front-2-flat-3.175.nc"
    v_bit = replace(FLAT, name="30°/6 V-bit: fine", kind=BitKind.V_BIT, diameter_mm=6.0)
    assert file_name(order(bit=v_bit)) == "m1-front-2-v-bit-6.nc"
    assert re.fullmatch(r"[a-z0-9.-]+", file_name(order(bit=v_bit)))
