"""Blanks glued of strips: their sum, cup, joints, what is bought for them, how long they rest."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.book.shopping import buy_groups
from flushwork.core.findings import JobRefusedError
from flushwork.process.stages import StageKind
from flushwork.shelf.tables import starter_shop
from flushwork.views.context import ViewContext
from flushwork.views.figures import Lengths
from flushwork.wood.movement import MovingBoard, cup_mm
from flushwork.wood.rough_stock import board_feet, rough_parts, to_buy_mm3
from tests.many import examples
from tests.small_jobs import changed, found, made

CHERRY = next(wood for wood in starter_shop().woods if wood.name == "black cherry")


def glued(strips: str, more: str = "") -> str:
    return changed("thickness: 16 mm", f"thickness: 16 mm, glue up: {{strips: {strips}{more}}}")


def test_ten_strips_by_hand() -> None:
    # ten strips of 30 mm, cherry, rings 100 mm from the heart, 3 points drier:
    # one way 300^2 x 3 x (0.00248 - 0.00126) / 400 = 0.8235 mm; in turn each strip for itself, a
    # hundredth of it
    strips = (30.0,) * 10
    alike = MovingBoard(CHERRY, 300.0, 0.08, True, 100.0, strips, alternating=False)
    in_turn = MovingBoard(CHERRY, 300.0, 0.08, True, 100.0, strips, alternating=True)
    assert cup_mm(alike, -3.0) == pytest.approx(0.8235, abs=1e-4)
    assert cup_mm(in_turn, -3.0) == pytest.approx(0.008235, abs=1e-6)


def test_what_to_buy_by_hand(tmp_path: Path) -> None:
    # 3 blanks of two strips of 35 mm, 90 mm long, 16 mm thick: rough 120 x 41 x 22 mm, 6 of them,
    # 649440 mm3; a quarter is waste: 865920 mm3, 0.367 board feet
    text = changed("title: Plain lid\n", "title: Plain lid\npieces: 3\n", glued("[35 mm, 35 mm]"))
    build = made(tmp_path, text)
    (part,) = rough_parts(build.job)
    assert (part.along_mm, part.across_mm, part.thick_mm, part.count) == (120.0, 41.0, 22.0, 6)
    assert to_buy_mm3(build.job) == pytest.approx(865_920.0)
    assert board_feet(865_920.0) == pytest.approx(0.3669, abs=1e-4)
    wood = buy_groups(ViewContext(build=build), Lengths("metric"))[0].rows
    (row,) = [row for row in wood if row[0] == "rough boards for them"]
    assert row[1].startswith("0.9")
    assert "6 of 120" in row[2]
    inch = buy_groups(ViewContext(build=build), Lengths("inch"))[0].rows
    assert "0.4 board feet" in {row[1] for row in inch}


@given(
    strips=st.lists(st.integers(6, 40), min_size=2, max_size=9),
    length=st.integers(60, 400),
)
@settings(max_examples=examples(25), deadline=None)
def test_a_glue_up_cups_no_more_than_the_board_it_stands_for(
    strips: list[int], length: int
) -> None:
    wide = float(sum(strips))
    widths = tuple(float(each) for each in strips)
    board = MovingBoard(CHERRY, wide, 0.08, True, 90.0)
    in_turn = MovingBoard(CHERRY, wide, 0.08, True, 90.0, widths, alternating=True)
    alike = MovingBoard(CHERRY, wide, 0.08, True, 90.0, widths, alternating=False)
    assert abs(cup_mm(in_turn, 3.0)) < abs(cup_mm(board, 3.0)) == abs(cup_mm(alike, 3.0))


def test_strips_have_to_make_up_the_blank(tmp_path: Path) -> None:
    with pytest.raises(JobRefusedError) as refused:
        made(tmp_path, glued("[30 mm, 30 mm]"))
    (slip,) = refused.value.findings
    assert slip.code == "value-out-of-range"
    assert "60 mm together" in slip.message
    assert "write 40 mm for the last" in slip.remedy
    assert made(tmp_path, glued("[30 mm, 40 mm]")).ok_to_cut


FINE = (
    "    - {name: hair, lines: [[[-30 mm, 0 mm], [30 mm, 0 mm]]], width: 1.2 mm,\n"
    "       at: [0 mm, %s mm], depth: 1 mm, fill: dark}\n  holes:"
)


def test_a_joint_keeps_out_of_a_line(tmp_path: Path) -> None:
    # the line lies 20 mm up from the middle of a blank 70 mm wide; joints at 55 mm and at 40 mm
    told = found(
        made(tmp_path, changed("  holes:", FINE % "20", glued("[55 mm, 15 mm]"))),
        "joint-in-fine-inlay",
    )
    (one,) = told
    assert one.subject == "hair"
    assert one.place is not None
    assert abs(one.place.y_mm - 55.0) <= 0.6
    apart = made(tmp_path, changed("  holes:", FINE % "20", glued("[40 mm, 30 mm]")))
    assert not found(apart, "joint-in-fine-inlay")


def test_on_the_back_the_joint_lies_on_the_other_side(tmp_path: Path) -> None:
    back = (
        "back:\n  inlays:\n    - {name: hair, lines: [[[-30 mm, 0 mm], [30 mm, 0 mm]]],\n"
        "       width: 1.2 mm,\n"
        "       at: [0 mm, 20 mm], depth: 1 mm, fill: dark}\nfront:"
    )
    # flipped top to bottom a joint 15 mm from the near edge lies 55 mm up on the back
    assert found(
        made(tmp_path, changed("front:", back, glued("[15 mm, 55 mm]"))), "joint-in-fine-inlay"
    )
    assert not found(
        made(tmp_path, changed("front:", back, glued("[55 mm, 15 mm]"))), "joint-in-fine-inlay"
    )


def test_resting_and_glue_are_waits_of_the_plan(tmp_path: Path) -> None:
    text = glued("[35 mm, 35 mm]", ", glue dries: 48 h")
    plain = made(tmp_path, text)
    rested = made(tmp_path, changed("front:", "rough stock: {rest: 5 days}\nfront:", text))
    kinds = [stage.kind for stage in rested.plan.stages[:3]]
    assert kinds == [StageKind.ROUGH, StageKind.GLUE, StageKind.SURFACE]
    assert plain.schedule is not None
    assert rested.schedule is not None
    begin = {step.kind: step.begin_min for step in rested.schedule.steps}
    end = {step.kind: step.end_min for step in rested.schedule.steps}
    assert begin[StageKind.GLUE] - end[StageKind.ROUGH] >= 5 * 1440
    surfaced = min(
        step.begin_min for step in rested.schedule.steps if step.kind is StageKind.SURFACE
    )
    assert surfaced - end[StageKind.GLUE] >= 48 * 60
    assert rested.schedule.calendar_days >= plain.schedule.calendar_days + 5
