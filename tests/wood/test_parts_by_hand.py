"""Parts to saw, sticks to turn and holes they fit, each figure worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.checks.expected_box import box_of_build
from flushwork.job.records import Job
from flushwork.wood.box_stock import box_parts
from flushwork.wood.cut_parts import cut_groups_of, wanted_parts
from flushwork.wood.loose_stock import finished_hole_mm, sticks_of, tapered_in_mm
from flushwork.wood.rough_stock import rough_parts
from tests.small_jobs import PLAIN, changed, made

MORE = """\
pieces: 3
test pieces: 2
rough stock: {length: 20 mm, width: 5 mm, thickness: 4 mm}
cut list:
  boards:
    - {name: A, length: 2 m, width: 160 mm, thickness: 26 mm,
       defects: [{from: 400 mm, until: 460 mm, near: 30 mm},
                 {from: 700 mm, until: 720 mm, near: 10 mm, far: 45 mm}]}
  parts:
    - {name: rail, length: 200 mm, width: 40 mm, thickness: 16 mm, count: 2}
loose parts:
  - {name: black pegs, wood: sugar maple, shape: peg, count: 6, spares: 1, length: 30 mm,
     goes in: pegs}
finish: {name: wiping varnish, coats: 3}
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    text = changed("title: Plain lid\n", "title: Plain lid\n" + MORE, PLAIN)
    return made(tmp_path_factory.mktemp("parts"), text).job


def test_blanks_and_parts_of_all_pieces_and_test_pieces(job: Job) -> None:
    # 3 pieces and 2 to try on: five blanks, ten rails, each larger by what planing takes
    (blank,) = rough_parts(job)
    assert (blank.along_mm, blank.across_mm, blank.thick_mm, blank.count) == (110.0, 75.0, 20.0, 5)
    of_blank, rail = wanted_parts(job)
    assert (of_blank.part.count, of_blank.finished_mm) == (5, (90.0, 70.0, 16.0))
    sawn = (rail.part.along_mm, rail.part.across_mm, rail.thick_mm, rail.part.count)
    assert sawn == (220.0, 45.0, 20.0, 10)


def test_a_defect_without_a_far_edge_goes_across_the_board(job: Job) -> None:
    (group,) = cut_groups_of([job])
    first, second = group.layout.sawn[0].plank.defects
    assert (first.x_mm, first.y_mm, first.along_mm, first.across_mm) == (400.0, 30.0, 60.0, 130.0)
    assert (second.along_mm, second.across_mm) == (20.0, 35.0)


def test_a_finished_hole_is_narrower_by_two_films_and_raised_grain(job: Job) -> None:
    # three coats of 0.015 mm on either wall, 0.05 mm of raised grain: 3.175 - 0.09 - 0.05
    (holes,) = (each for face in job.faces for each in face.holes)
    assert finished_hole_mm(holes, job.finish) == pytest.approx(3.035)
    assert job.finish is not None
    assert finished_hole_mm(holes, replace(job.finish, holes_first=False)) == pytest.approx(3.125)
    assert finished_hole_mm(holes, None) == pytest.approx(3.125)


def test_sticks_for_pegs(job: Job) -> None:
    # turned 0.1 mm under the hole, 2.935 mm, and 2 mm left to turn off; 33 mm each with the cut,
    # nine in the 320 mm beside the chuck: 21 pegs of three sticks, seven each, 80 + 7 x 33 mm
    (pegs,) = job.loose_parts
    told = sticks_of(pegs, job)
    assert told is not None
    assert (told.count, told.parts_each) == (3, 7)
    assert told.side_mm == pytest.approx(4.935)
    assert told.length_mm == pytest.approx(311.0)


def test_a_tapered_peg_goes_in_to_where_it_is_as_thick_as_the_hole() -> None:
    # 30 mm long from 4 to 3 mm: 3.2 mm thick a fifth of the way up, 6 mm
    assert tapered_in_mm(30.0, 4.0, 3.0, 3.2) == pytest.approx(6.0)
    assert tapered_in_mm(30.0, 4.0, 3.0, 2.9) < 0.0


def test_every_part_of_a_box_is_rough_by_what_planing_takes(tmp_path: Path) -> None:
    box = (
        "rough stock: {length: 20 mm, width: 5 mm, thickness: 4 mm}\n"
        "box: {wall: 10 mm, height: 60 mm, inside: 140 mm x 120 mm,\n"
        "  bottom: {from base: 6 mm, width: 3 mm, depth: 5 mm}}\n"
    )
    build = made(tmp_path, changed("title: Plain lid\n", "title: Plain lid\n" + box, PLAIN))
    parts = box_parts(build.job, box_of_build(build))
    assert parts[-1].finished_mm[2] == 3.0
    for part in parts:
        assert part.thick_mm == pytest.approx(part.finished_mm[2] + 4.0), part.part.name
