"""One order per bit over all patterns and pieces; bits counted in holes; several pieces held."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.checks.rules.machine.waste_rules import pieces_overlap
from flushwork.schedule.bit_changes import (
    BitChange,
    bit_lives,
    change_text,
    changes_of,
    piece_names,
)
from flushwork.toolpaths.drill import drilling_order
from flushwork.toolpaths.moves import MoveKind
from flushwork.toolpaths.orders import GcodeFile, Work
from tests.checks.hearing import undated, written
from tests.imported_files import MIDDLE, PLATE, job_with, plate_rings
from tests.small_jobs import changed
from tests.toolpaths.way_through import path_length_mm

TWO = """\
flushwork: 2
title: Rows of pegs
cell: 0.25 mm
pieces: 3
test pieces: 1
blank: {wood: sugar maple, length: 120 mm, width: 60 mm, thickness: 14 mm}
front:
  holes:
    - {name: deep, line: {start: [-50 mm, 10 mm], end: [50 mm, 10 mm], count: 11},
       diameter: 3.175 mm, depth: 8 mm}
    - {name: low, line: {start: [-45 mm, 10 mm], end: [45 mm, 10 mm], count: 10},
       diameter: 3.175 mm, depth: 5 mm}
    - {name: wide, points: [[0 mm, -10 mm]], diameter: 6.35 mm, depth: 4 mm}
finish: none
"""
ON_BED = TWO.replace("front:", "on the bed: {pieces: 3, step: [0 mm, 75 mm]}\nfront:", 1)


def drilling(build: Build) -> list[GcodeFile]:
    return [
        file
        for file in build.gcode_files
        if any(each.work is Work.DRILL for each in file.order.operations)
    ]


def holes_of(file: GcodeFile) -> list[tuple[float, float]]:
    """Return the places a file feeds down at, in order, each once."""
    found: list[tuple[float, float]] = []
    for before, move in pairwise(file.program.moves):
        if move.kind is MoveKind.FEED and move.z_mm < min(before.z_mm, 0.0):
            place = (round(move.x_mm, 3), round(move.y_mm, 3))
            if not found or found[-1] != place:
                found.append(place)
    return found


def test_two_patterns_of_one_bit_are_one_short_way(tmp_path: Path) -> None:
    """The two rows interlock: one way along them is 100 mm, one after the other twice that."""
    build = undated(written(tmp_path, TWO))
    thin, wide = drilling(build)
    order = holes_of(thin)
    assert len(order) == 21
    assert sum(math.dist(a, b) for a, b in pairwise(order)) == pytest.approx(100.0)
    assert [item.subject for item in thin.order.operations][:3] == ["deep", "low", "deep"]
    assert len(holes_of(wide)) == 1
    assert not [item.code for item in run_checks(build) if item.code == "holes-not-as-asked"]


def test_holes_of_all_pieces_on_the_bed_are_one_order(tmp_path: Path) -> None:
    build = undated(written(tmp_path, ON_BED))
    thin = drilling(build)[0]
    order = holes_of(thin)
    assert len(order) == len(set(order)) == 3 * 21
    rows = {y for _, y in order}
    assert rows == {40.0, 115.0, 190.0}
    best = path_length_mm(order, (0.0, 0.0), drilling_order(order, (0.0, 0.0)))
    assert path_length_mm(order, (0.0, 0.0), range(len(order))) == pytest.approx(best, rel=1e-6)
    assert not [item.code for item in run_checks(build) if item.stands]


def test_each_piece_on_the_bed_is_cut_like_the_first(tmp_path: Path) -> None:
    plain = changed("\ntitle:", "\ncell: 0.2 mm\ntitle:")
    one = undated(written(tmp_path / "one", plain))
    text = plain.replace("front:", "on the bed: {pieces: 2, step: [110 mm, 0 mm]}\nfront:", 1)
    two = undated(written(tmp_path / "two", text))
    assert [file.file_name for file in one.gcode_files] == [
        file.file_name for file in two.gcode_files
    ]
    for alone, both in zip(one.gcode_files, two.gcode_files, strict=True):
        assert both.cut_s == pytest.approx(alone.cut_s, rel=0.25)
        assert "2 pieces on the bed" in both.text
        there = cuts_of(alone)
        first = [step for step in cuts_of(both) if step[0] < 105.0]
        second = [(x - 110.0, y, z) for x, y, z in cuts_of(both) if x > 105.0]
        assert sorted(first) == sorted(there)
        assert np.allclose(sorted(second), sorted(there), atol=2e-3)
    assert [item.removed_mm3.sum() for item in two.replay.cuts] == pytest.approx(
        [item.removed_mm3.sum() for item in one.replay.cuts], rel=1e-6
    )
    assert not [item for item in run_checks(two) if item.stands]


def cuts_of(file: GcodeFile) -> list[tuple[float, float, float]]:
    return [
        (move.x_mm, move.y_mm, move.z_mm)
        for move in file.program.moves
        if move.kind in (MoveKind.FEED, MoveKind.ARC)
    ]


def test_pieces_that_would_lie_on_one_another(tmp_path: Path) -> None:
    near = undated(written(tmp_path, ON_BED.replace("[0 mm, 75 mm]", "[0 mm, 62 mm]")))
    (found,) = pieces_overlap(near)
    assert found.code == "bed-pieces-overlap"
    assert found.measure is not None
    assert found.measure.value == pytest.approx(2.0)
    assert list(pieces_overlap(undated(written(tmp_path / "far", ON_BED)))) == []


def test_a_file_imported_fits_one_piece(tmp_path: Path) -> None:
    (tmp_path / "plate.NC").write_bytes(plate_rings().encode())
    text = job_with("cut plate", PLATE, MIDDLE, changed("\ntitle:", "\ncell: 0.25 mm\ntitle:"))
    bed = text.replace("front:", "on the bed: {pieces: 2, step: [110 mm, 0 mm]}\nfront:", 1)
    assert [item.code for item in pieces_overlap(undated(written(tmp_path, bed)))] == [
        "bed-file-for-one"
    ]


@pytest.mark.parametrize(
    ("each", "pieces", "life", "changes"),
    [
        (21, 4, 1500, ()),
        (21, 4, 84, ()),
        (21, 4, 83, (BitChange(4, 0),)),
        (21, 4, 21, (BitChange(2, 0), BitChange(3, 0), BitChange(4, 0))),
        (100, 1, 40, (BitChange(1, 40), BitChange(1, 80))),
        (100, 2, 60, (BitChange(1, 60), BitChange(2, 20), BitChange(2, 80))),
    ],
)
def test_bits_are_changed_in_time(
    each: int, pieces: int, life: int, changes: tuple[BitChange, ...]
) -> None:
    assert changes_of(each, pieces, life) == changes


@settings(max_examples=60, deadline=None)
@given(each=st.integers(1, 300), pieces=st.integers(1, 12), life=st.integers(1, 400))
def test_no_bit_drills_more_than_it_stays_sharp_for(each: int, pieces: int, life: int) -> None:
    at = [(change.piece - 1) * each + change.after for change in changes_of(each, pieces, life)]
    stretches = [b - a for a, b in pairwise([0, *at, each * pieces])]
    assert max(stretches) <= life
    assert min(stretches) > 0


def test_the_change_card_tells_bits_by_their_pieces(tmp_path: Path) -> None:
    shop = "bits: [{name: 3.175 mm flat, sharp for: 50}, 6.35 mm flat, 25 mm facing bit]\n"
    build = undated(written(tmp_path, TWO, shop))
    names = piece_names(build.job)
    assert names == ("T1", "1", "2", "3")
    thin, wide = bit_lives(build.job, build.faces)
    assert (thin.holes, thin.life, thin.assumed) == (84, 50, False)
    assert change_text(thin, names).endswith("a fresh bit at the start and before piece 2")
    assert wide.assumed
    assert change_text(wide, names).endswith("one fresh bit does it")
    (note,) = [item for item in run_checks(build) if item.code == "drilling-wears"]
    assert "84 in the run, sharp for about 50 holes" in note.message
    assert "1 spare" in note.remedy
    usual = undated(written(tmp_path / "usual", TWO))
    assert not [item for item in run_checks(usual) if item.code == "drilling-wears"]


def test_pieces_held_together_change_their_bit_together(tmp_path: Path) -> None:
    shop = "bits: [{name: 3.175 mm flat, sharp for: 70}, 6.35 mm flat, 25 mm facing bit]\n"
    build = undated(written(tmp_path, ON_BED, shop))
    thin = bit_lives(build.job, build.faces)[0]
    assert thin.changes == (BitChange(4, 0),)
    told = change_text(thin, piece_names(build.job))
    assert told.endswith("before piece 3 (and the 2 held with it)")
