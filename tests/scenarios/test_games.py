"""Boards of games as a shop would order them, each taken through the check to OK to cut."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Severity
from tests.checks.hearing import undated, written

MILL = """\
flushwork: 2
title: Nine men's morris
blank: {wood: sugar maple, length: 150 mm, width: 150 mm, thickness: 19 mm}
trim line: {rectangle: 122 mm x 122 mm, round: 6 mm}
mixes:
  night: {resin: coating epoxy, pigments: [{name: ultramarine powder, share: 4 %}]}
layouts:
  mill: {morris: {men: 9, size: 96 mm}}
front:
  inlays:
    - name: board
      art:
        - {layout: mill, part: lines, width: 1.6 mm, ends: square}
        - {layout: mill, part: holes, disc: 6 mm}
      depth: 2 mm
      fill: night
loose parts:
  - {name: night men, wood: sugar maple, match: night, count: 9, spares: 1,
       shape: counter, across: 13 mm, length: 6 mm, coats: 2, plays on: mill, side: dark}
  - {name: pale men, wood: sugar maple, count: 9, spares: 1,
       shape: counter, across: 13 mm, length: 6 mm, coats: 2, plays on: mill, side: light}
"""
TRACK = """\
flushwork: 2
title: Peg track
blank: {wood: black cherry, length: 340 mm, width: 130 mm, thickness: 19 mm}
trim line: {rectangle: 312 mm x 104 mm, round: 10 mm}
mixes:
  ivory: {resin: coating epoxy, pigments: [{name: white powder, share: 4 %}]}
layouts:
  track: {peg track: {lanes: 2, runs: 2, streets: 5, streets in a turn: 2,
                      pitch: 7 mm, gap: 3 mm, lane pitch: 9 mm}}
front:
  inlays:
    - name: numbers
      art:
        - {layout: track, part: numbers, font: single line plain, size: 8 mm, width: 0.8 mm}
        - {text: KEEP THE SCORE, font: single line plain, size: 8 mm, width: 0.8 mm, spacing: 5 %,
           on arc: {diameter: 260 mm}, at: [0 mm, -132 mm]}
      depth: 1.2 mm
      fill: ivory
  holes:
    - {name: pegs, layout: track, diameter: 3.175 mm, depth: 9 mm}
loose parts:
  - {name: dark pegs, wood: black walnut, count: 2, spares: 1, shape: peg,
       length: 24 mm, coats: 1, goes in: pegs, plays on: track, side: left lane}
  - {name: pale pegs, wood: sugar maple, count: 2, spares: 1, shape: peg,
       length: 24 mm, coats: 1, goes in: pegs, plays on: track, side: right lane}
"""
CHESS = """\
flushwork: 2
title: Chess board in inches
blank: {wood: sugar maple, length: 7 1/4 in, width: 7 1/4 in, thickness: 3/4 in}
trim line: {rectangle: 6 in x 6 in, round: 1/4 in}
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
  gold line:
    {resin: coating epoxy, thinner: {name: ethanol, share: 10 %}, pigments: [fine gold]}
layouts:
  chess: {squares: {square: 5/8 in}}
front:
  inlays:
    - {name: dark squares, layout: chess, part: dark, depth: 0.1 in, fill: dark}
    - {name: bright lines, layout: chess, part: lines, width: 1/32 in, ends: square,
       depth: 0.63 mm, fill: gold line, how: scraped flush and capped,
       second pass of: dark squares}
"""


def heard(folder: Path, text: str) -> tuple[Build, set[str]]:
    """Return a job as it is cut, and the codes of its warnings; nothing of it must be fixed."""
    made = undated(written(folder, text))
    found = run_checks(made)
    assert [each.message for each in found if each.severity is Severity.MUST_FIX] == []
    return made, {each.code for each in found if each.severity is Severity.WARNING}


def test_a_board_for_nine_men_with_counters_of_two_sides(tmp_path: Path) -> None:
    made, warnings = heard(tmp_path, MILL)
    assert warnings == set()
    (board,) = made.inlays
    assert len(board.region.geoms) == 1  # lines and places are one pocket
    # what stands between: four fields between every two squares, and the middle
    assert len(board.region.geoms[0].interiors) == 9


def test_a_track_with_numbers_is_drilled_hole_by_hole(tmp_path: Path) -> None:
    made, warnings = heard(tmp_path, TRACK)
    # letters stand as near as letters do, and one board alone takes less than can be weighed
    assert warnings <= {"wood-sliver-thin", "batch-below-tools"}
    (pegs,) = made.face("front").holes
    assert len(pegs.places) == 2 * 60 + 2 * 2 + 1
    letters = made.inlays[0].region
    for hole in pegs.places:
        apart = letters.distance(shapely.Point(hole.x_mm, hole.y_mm))
        assert apart > pegs.holes.diameter_mm


def test_a_chess_board_in_inches_has_thin_bright_lines(tmp_path: Path) -> None:
    made, warnings = heard(tmp_path, CHESS)
    # one board alone takes less gold than can be weighed
    assert warnings <= {"batch-below-tools", "cap-too-thin"}
    dark, lines = made.inlays
    side = 5 / 8 * 25.4
    assert dark.region.area == pytest.approx(32 * side**2)
    # 9 lines each way, 8 squares long and a square end at each, once where they cross
    width = 25.4 / 32
    long = 8 * side + width
    assert lines.region.area == pytest.approx(18 * long * width - 81 * width**2)
