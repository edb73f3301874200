"""Letters as pockets and as engravings: thin strokes, necks, counters and hairlines."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from shapely import MultiPolygon

from flushwork.art.glyph_outlines import draw_text
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.fit.reach import reach
from flushwork.job.records import TextArt
from tests.fit.shapes import HERE, SIXTEENTH, many
from tests.gcode.cut_samples import left_standing, over_the_line, pocket, traced, wary
from tests.toolpaths.test_engrave import edge_errors, v_bit

ONE = replace(SIXTEENTH, name="1 mm flat", diameter_mm=1.0)


def letter(character: str, font: str, size: float) -> MultiPolygon:
    art = TextArt(character, font, size, 0.0)
    return draw_text(art, Path(), HERE, FLATTENING_MM).region


@pytest.mark.parametrize(
    ("character", "font", "size"),
    [("g", "serif bold", 14), ("&", "serif bold", 14), ("@", "sans", 25), ("j", "sans", 25)],
)
def test_a_letter_as_a_pocket(character: str, font: str, size: float) -> None:
    region = letter(character, font, size)
    moves = traced(pocket(ONE, region=region, floor=-1.0)).moves
    reached = reach(region, ONE).reached
    assert max(left_standing(moves, reached, ONE, -1.0), default=0.0) <= 0.02
    assert over_the_line(moves, region, ONE, 0.0) < 1e-3
    assert wary(moves, ONE, 0.0, 5.0) == []


def test_what_a_wider_bit_left_of_a_letter() -> None:
    region = letter("R", "serif bold", 14)
    wide = reach(region, replace(ONE, diameter_mm=2.0)).reached
    moves = traced(pocket(ONE, region=region, cleared=wide, floor=-1.0)).moves
    target = many(shapely.difference(reach(region, ONE).reached, wide))
    assert max(left_standing(moves, target, ONE, -1.0), default=0.0) <= 0.02
    assert over_the_line(moves, region, ONE, 0.0) < 1e-3


@pytest.mark.parametrize(("character", "font"), [("g", "serif bold"), ("8", "sans")])
def test_a_letter_engraved(character: str, font: str) -> None:
    over, short = edge_errors(letter(character, font, 12), v_bit(60, 0.1), -2.0)
    assert over <= 0.02
    assert short <= 0.02
