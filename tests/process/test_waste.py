"""Dowels, discs, registration marks and clamps.

Where they go, what is cut for them, in which order.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.art.draw import draw_faces
from flushwork.bench.pages.whole_page import page_context
from flushwork.gcode.program import file_name
from flushwork.job.read import read_job
from flushwork.job.records import Job
from flushwork.process.infer_stages import infer_plan
from flushwork.process.orders.cut_orders import cut_orders
from flushwork.process.stages import Plan, StageKind
from flushwork.process.waste import UNEVEN_MM, turned
from flushwork.toolpaths.orders import CutOrder, DrillCut
from flushwork.views.setup_details import dowels_of_choice
from tests.checks.hearing import undated, written
from tests.fit.by_itself import fit_faces
from tests.many import examples

BOARD = """\
flushwork: 2
title: Two faced lid
cell: 0.25 mm
blank: {wood: sugar maple, length: 140 mm, width: 110 mm, thickness: 12 mm}
trim line: {rectangle: 96 mm x 66 mm, round: 4 mm}
locating: {diameter: 6 mm, into blank: through}
cut registration marks: yes
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
front:
  inlays:
    - {name: plate, rectangle: 24 mm x 16 mm, at: [-18 mm, 0 mm], round: 3 mm, depth: 2 mm,
       fill: dark}
back:
  inlays:
    - {name: moon, circle: 20 mm, at: [20 mm, 20 mm], depth: 2 mm, fill: dark}
"""
ACROSS = BOARD.replace("thickness: 12 mm}", "thickness: 12 mm, flipped: side to side}")


def planned(folder: Path, text: str) -> tuple[Job, Plan, list[tuple[int, CutOrder]]]:
    job = read_job(written(folder, text))
    faces = draw_faces(job)
    plan = infer_plan(job, faces)
    fits = fit_faces(faces, job.shop.bits)
    return job, plan, list(cut_orders(job, faces, fits, plan))


@pytest.mark.parametrize("text", [BOARD, ACROSS], ids=["top to bottom", "side to side"])
def test_each_dowel_stands_behind_itself_when_the_blank_is_turned(
    tmp_path: Path, text: str
) -> None:
    job, plan, _ = planned(tmp_path, text)
    front, back = (
        next(each for each in plan.setups if each.face == face) for face in ("front", "back")
    )
    assert len(front.recesses) == 2
    spoilboard = list(front.recesses)
    for place in front.recesses:
        behind = turned(job, place)
        nearest = min(math.dist(behind, each) for each in back.recesses)
        assert nearest < 1e-9
        if job.blank.turn_about_x:
            assert min(math.dist(behind, each) for each in spoilboard) < 1e-9
        end_for_end = (job.blank.length_mm - place[0], job.blank.width_mm - place[1])
        assert min(math.dist(end_for_end, each) for each in spoilboard) >= UNEVEN_MM - 1e-6


def test_dowels_lie_in_the_waste_off_the_kerf(tmp_path: Path) -> None:
    _, plan, _ = planned(tmp_path, BOARD)
    (west, y), (east, y2) = plan.setups[0].recesses
    assert y == y2 == 55.0
    for gap in (22.0 - west, east - 118.0):  # the trim line runs from 22 to 118 mm
        assert gap - 3.025 - 3.175 > 2.0  # its own radius, the kerf of the 3.175 mm bit
    assert min(west, 140.0 - east) - 3.025 >= 2.0


def test_spoilboard_first_and_marks_before_everything_else(tmp_path: Path) -> None:
    job, plan, orders = planned(tmp_path, BOARD)
    for setup in plan.setups:
        kinds = [plan.stage(number).kind for number in setup.stages]
        first = 1 if setup.number == 1 else 0
        assert kinds[first] is StageKind.MARK
        assert kinds.count(StageKind.MARK) == 1
    names = [file_name(order) for _, order in orders]
    assert names[0].startswith("m1-front-1-spoilboard-")
    assert names[1].startswith("m1-front-2-")
    board, blank = orders[0][1], orders[1][1]
    assert board.bare
    assert not blank.bare
    into_board, into_blank = board.operations[0], blank.operations[0]
    assert isinstance(into_board, DrillCut)
    assert isinstance(into_blank, DrillCut)
    assert into_board.points == into_blank.points
    assert into_board.floor_mm == -8.0
    assert into_blank.floor_mm == pytest.approx(-(job.blank.thickness_mm - 1.0) - 0.3)
    assert into_board.hole_mm == pytest.approx(6.05)


def test_discs_are_let_into_the_first_face_for_the_turned_blank(tmp_path: Path) -> None:
    text = BOARD.replace(
        "locating: {diameter: 6 mm, into blank: through}",
        "locating: {by: discs, diameter: 8 mm, into blank: 3 mm, into spoilboard: 3 mm}",
    )
    _, _, orders = planned(tmp_path, text)
    assert [order.operations[0].floor_mm for _, order in orders[:2]] == [-3.0, -3.0]
    into_blank = orders[1][1].operations[0]
    assert isinstance(into_blank, DrillCut)
    assert into_blank.flat_bottom


def test_marks_of_one_face_stand_apart_and_wide(tmp_path: Path) -> None:
    _, plan, _ = planned(tmp_path, BOARD)
    for face in ("front", "back"):
        setups = [each for each in plan.setups if each.face == face]
        places = [place for each in setups for place in (*each.marks, *each.recesses)]
        assert len({place for each in setups for place in each.marks}) == 4 * len(setups)
        gaps = [
            math.dist(a, b) for number, a in enumerate(places) for b in places[:number] if a != b
        ]
        assert min(gaps) > 3.9
        for each in setups:
            assert each.marks[2][0] - each.marks[0][0] > 0.9 * 140.0
            assert each.marks[2][1] - each.marks[0][1] > 0.85 * 110.0


def test_a_setup_reads_the_marks_of_the_one_before_on_its_face(tmp_path: Path) -> None:
    _, plan, _ = planned(tmp_path, BOARD)
    assert [(each.face, each.reads) for each in plan.setups] == [
        ("front", 0),
        ("front", 1),
        ("back", 0),
        ("back", 3),
    ]


def test_marks_outlast_the_sanding(tmp_path: Path) -> None:
    """Each mark ends below the finished face, whatever comes off before."""
    job, plan, orders = planned(tmp_path, BOARD)
    finished = {"front": -0.7, "back": -0.7}  # surfaced by 0.5 mm, sanded by 0.2 mm
    marks = [(stage, order) for stage, order in orders if plan.stage(stage).kind is StageKind.MARK]
    assert len(marks) == 4
    for _, order in marks:
        floor = order.face_z_mm + order.operations[0].floor_mm
        assert floor == pytest.approx(finished[order.face] - 0.3)
    assert job.marks


def test_the_shop_s_way_of_holding_may_bring_its_dowels_and_clamps(tmp_path: Path) -> None:
    shop = """\
holding:
  - name: pins
    like: dowels
    locating: {diameter: 5 mm, into blank: through, into spoilboard: 10 mm}
    keep clear of: [{name: west stop, size: [10 mm, 20 mm], at: [-6 mm, 0 mm], from: left,
                     height: 6 mm}]
"""
    text = BOARD.replace("locating: {diameter: 6 mm, into blank: through}\n", "")
    job = read_job(written(tmp_path, text, shop))
    assert job.locating is not None
    assert (job.locating.diameter_mm, job.locating.board_mm) == (5.0, 10.0)
    assert [keep.name for keep in job.keep_outs] == ["west stop"]
    faces = draw_faces(job)
    order = cut_orders(job, faces, fit_faces(faces, job.shop.bits), infer_plan(job, faces))
    # over the bare spoilboard the stop stands higher by the blank's thickness as it then is
    assert {each.over_mm for _, each in order if not each.bare} == {8.0}
    stands = job.blank.thickness_mm - 1.0
    assert {each.over_mm for _, each in order if each.bare} == {8.0 + stands}


def test_without_the_keys_nothing_of_it_is_there(tmp_path: Path) -> None:
    text = BOARD.replace("locating: {diameter: 6 mm, into blank: through}\n", "")
    _, plan, orders = planned(tmp_path, text.replace("cut registration marks: yes\n", ""))
    assert not {stage.kind for stage in plan.stages} & {StageKind.LOCATE, StageKind.MARK}
    assert not any(order.bare for _, order in orders)


@settings(max_examples=examples(3), deadline=None)
@given(length=st.integers(112, 150), flipped=st.sampled_from(["top to bottom", "side to side"]))
def test_dowels_bored_by_hand_are_told_with_their_width_and_places(
    tmp_path_factory: pytest.TempPathFactory, length: int, flipped: str
) -> None:
    """The stoutest that the waste has room for, told where `locating` would bore them."""
    text = BOARD.replace("locating: {diameter: 6 mm, into blank: through}\n", "")
    text = text.replace("140 mm, width: 110 mm", f"{length} mm, width: {length - 30} mm")
    text = text.replace("thickness: 12 mm}", f"thickness: 12 mm, flipped: {flipped}}}")
    own = (
        "holding: [{name: by hand, how: double-sided tape, locates by: two dowels on the centre "
        "line, repeatability: 0.1 mm}]\n"
    )
    made = undated(written(tmp_path_factory.mktemp("hand"), text, own))
    sight = page_context(made, "metric", coarse=False)
    (fact,) = dowels_of_choice(sight, sight.lengths)
    wide = re.search(r"two of ([\d.]+)", fact.value)
    if wide is None:
        assert "too little" in fact.value
        return
    bored = text.replace(
        "cut registration",
        f"locating: {{diameter: {wide[1]} mm, into blank: through, play: 0 mm}}\ncut registration",
    )
    again = undated(written(tmp_path_factory.mktemp("bored"), bored))
    told = re.findall(r"X ([\d.]+)\D+Y ([\d.]+)", fact.value)
    places = again.plan.setups[0].recesses
    assert len(places) == 2
    for said, place in zip(told, places, strict=True):
        assert tuple(map(float, said)) == pytest.approx(place, abs=0.006)
