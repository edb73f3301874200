"""Loose parts fit their holes, are enough for their game and told apart; or a rule says so."""

from __future__ import annotations

import math
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.checks.all_rules import run_checks
from flushwork.job.read import read_job
from flushwork.job.records import Job
from flushwork.wood.loose_stock import (
    HELD_MM,
    LONGEST_MM,
    PARTED_MM,
    WANTED_MM,
    coats_mm,
    finished_hole_mm,
    holes_of,
    made_count,
    sticks_of,
    turned_mm,
)
from tests.checks.hearing import undated, written
from tests.many import examples
from tests.scenarios.texts import job

LAID = (
    "layouts: {mill: {morris: {men: 3, size: 40 mm}}}\n"
    "front: {holes: [{name: places, layout: mill, diameter: 4 mm, depth: 6 mm}]}\n"
    "loose parts:\n"
)
NEAR = (
    "  - {name: dark men, wood: sugar maple, match: navy, count: 3, spares: 1, side: near,"
    " plays on: mill, goes in: places, length: 20 mm%s}\n"
)
FAR = (
    "  - {name: pale men, wood: sugar maple, count: 3, side: far, plays on: mill,"
    " goes in: places, length: 20 mm%s}\n"
)
CODES = {
    "peg-tight", "peg-loose", "peg-sinks", "loose-parts-too-few", "loose-parts-alike",
    "loose-parts-crowd",
}  # fmt: skip


def told(folder: Path, text: str) -> list[tuple[str, str]]:
    found = run_checks(undated(written(folder, job(LAID + text))))
    for each in found:
        if each.code in CODES:
            assert each.remedy
            assert each.source is not None
    return [(each.code, each.subject) for each in found if each.code in CODES]


def test_men_that_follow_from_their_holes_are_silent(tmp_path: Path) -> None:
    assert told(tmp_path, NEAR % "" + FAR % "") == []


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (NEAR % ", across: 3.9 mm" + FAR % "", [("peg-tight", "dark men")]),
        (NEAR % ", across: 3.5 mm" + FAR % "", [("peg-loose", "dark men")]),
        # 4 mm less 6 films of 0.015 mm and 0.05 mm of grain is 3.86 mm: 3.8 mm goes in bare
        (NEAR % ", across: 3.8 mm" + FAR % "", []),
        (NEAR % ", across: 3.8 mm, coats: 2" + FAR % "", [("peg-tight", "dark men")]),
        # from 5 mm to 3 mm along 20 mm it is 3.86 mm thick 8.6 mm from its tip
        (NEAR % ", across: 5 mm, tip: 3 mm" + FAR % "", []),
        (NEAR % ", across: 5 mm, tip: 3.7 mm" + FAR % "", [("peg-tight", "dark men")]),
        (NEAR % ", across: 3.5 mm, tip: 3 mm" + FAR % "", [("peg-loose", "dark men")]),
        (NEAR.replace("20 mm", "6 mm") % "" + FAR % "", [("peg-sinks", "dark men")]),
        (NEAR.replace("count: 3", "count: 2") % "" + FAR % "", [
            ("loose-parts-too-few", "dark men"),
        ]),
        (NEAR % "", [("loose-parts-too-few", "dark men")]),
        (NEAR.replace("match: navy, ", "") % "" + FAR % "", [("loose-parts-alike", "pale men")]),
        (NEAR.replace("goes in: places, ", "across: 21 mm, ") % "" + FAR % "", [
            ("loose-parts-crowd", "dark men"),
        ]),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_told_of(
    tmp_path: Path, text: str, wanted: list[tuple[str, str]]
) -> None:
    assert told(tmp_path, text) == wanted


def read(text: str) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(text, "utf-8")
        return read_job(path)


@settings(max_examples=examples(25), deadline=None)
@given(
    diameter=st.floats(2.0, 12.0),
    coats=st.integers(0, 5),
    own=st.integers(0, 4),
    count=st.integers(1, 300),
    spares=st.integers(0, 9),
    pieces=st.integers(1, 20),
    long=st.floats(10.0, 90.0),
)
def test_pegs_fit_and_sticks_hold_them_all(
    diameter: float, coats: int, own: int, count: int, spares: int, pieces: int, long: float
) -> None:
    made = read(
        job(
            f"pieces: {pieces}\n"
            + (f"finish: {{name: wiping varnish, coats: {coats}}}\n" if coats else "finish: none\n")
            + f"front: {{holes: [{{name: p, points: [[0 mm, 0 mm]], diameter: {diameter:.3f} mm,"
            " depth: 8 mm}]}\n"
            f"loose parts: [{{name: pegs, wood: sugar maple, count: {count}, spares: {spares},"
            f" shape: peg, length: {long:.2f} mm, coats: {own}, goes in: p}}]\n"
        )
    )
    (part,) = made.loose_parts
    across, holes, sticks = turned_mm(part, made), holes_of(part, made), sticks_of(part, made)
    assert across is not None
    assert holes is not None
    assert sticks is not None
    play = finished_hole_mm(holes, made.finish) - across - coats_mm(part, made)
    assert play == pytest.approx(WANTED_MM)
    wanted = made_count(part, made.pieces)
    assert wanted == (count + spares) * pieces
    assert sticks.count * sticks.parts_each >= wanted > (sticks.count - 1) * sticks.parts_each
    assert sticks.length_mm <= LONGEST_MM + 1e-6
    cut = sticks.parts_each * (float(f"{long:.2f}") + PARTED_MM)
    assert sticks.length_mm == pytest.approx(HELD_MM + cut)
    assert sticks.side_mm > across


def test_dice_are_as_long_as_they_are_wide_and_other_parts_need_a_length() -> None:
    made = read(
        job(
            "front: {holes: [{name: p, points: [[0 mm, 0 mm]], diameter: 4 mm, depth: 8 mm}]}\n"
            "loose parts:\n"
            "  - {name: dice, wood: sugar maple, count: 2, shape: die, across: 12 mm}\n"
            "  - {name: men, wood: sugar maple, count: 2, shape: man, across: 12 mm}\n"
            "  - {name: stones, wood: sugar maple, count: 2}\n"
        )
    )
    dice, men, stones = (sticks_of(each, made) for each in made.loose_parts)
    assert dice is not None
    assert math.isclose(dice.length_mm, HELD_MM + 2 * (12.0 + PARTED_MM))
    assert men is None
    assert stones is None
