from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.process.stages import StageKind
from tests.small_jobs import PLAIN, changed, made

TOUCHING = changed(
    "  holes:",
    "    - {name: other, rectangle: 10 mm x 16 mm, at: [-1 mm, 0 mm], depth: 2 mm, fill: red}\n"
    "  holes:",
    changed(
        "  clear: {",
        "  red: {resin: coating epoxy, pigments: [{name: white powder, share: 3 %}]}\n  clear: {",
    ),
)
SEAMED = changed(
    "  holes:",
    "    - {name: line, seam line: {along: [plate], width: 1 mm}, depth: 1.2 mm, fill: dark,\n"
    "       how: scraped flush and capped, cap: clear}\n  holes:",
)


def kinds(result: object) -> list[str]:
    return [stage.kind.value for stage in result.plan.stages]  # type: ignore[attr-defined]


def test_one_round_runs_from_flatten_to_finish(tmp_path: Path) -> None:
    result = made(tmp_path, PLAIN + "finish: {name: wiping varnish}\n")
    assert kinds(result) == [
        "surface", "surface", "seal", "cut", "seal", "fill", "cure", "mill flush", "sand",
        "drill", "trim", "sand", "finish",
    ]  # fmt: skip


def test_the_back_of_one_sided_work_is_sanded_like_the_front(tmp_path: Path) -> None:
    """By hand, after the last cut, before the finish: its heights and the book count it."""
    result = made(tmp_path, PLAIN + "finish: {name: wiping varnish}\n")
    stage = result.plan.stages[-2]
    assert (stage.title, stage.face, stage.setup) == ("Sand the bare back", "back", 0)
    assert result.plan.on("back").finished_mm == pytest.approx(-0.5 - 0.2)
    assert result.replay.thickness_table[-1].thickness_mm == pytest.approx(16.0 - 1.0 - 0.4)
    kept = made(tmp_path, PLAIN + "allowances: {sand bare face: no}\n")
    assert [each.title for each in kept.plan.stages if each.face == "back"] == ["Surface the back"]
    assert kept.replay.thickness_table[-1].thickness_mm == pytest.approx(16.0 - 1.0 - 0.2)


def test_machine_work_of_one_face_and_state_is_one_setup(tmp_path: Path) -> None:
    plan = made(tmp_path, PLAIN).plan
    assert [setup.number for setup in plan.setups] == [1, 2]
    second = plan.setups[1]
    assert [plan.stage(number).kind for number in second.stages] == [
        StageKind.MILL_FLUSH, StageKind.SAND, StageKind.DRILL, StageKind.TRIM,
    ]  # fmt: skip
    assert second.stands_mm == pytest.approx(16.0 - 0.5 - 0.5)


def test_colours_that_touch_are_poured_in_turn(tmp_path: Path) -> None:
    plan = made(tmp_path, TOUCHING).plan
    cuts = [stage for stage in plan.stages if stage.kind is StageKind.CUT]
    assert [stage.subjects for stage in cuts] == [("plate",), ("other",)]
    assert "run together" in cuts[1].because


def test_the_same_colour_may_touch_itself(tmp_path: Path) -> None:
    plan = made(tmp_path, changed("fill: red", "fill: dark", TOUCHING)).plan
    assert sum(stage.kind is StageKind.CUT for stage in plan.stages) == 1


def test_a_seam_line_waits_for_what_it_runs_along_and_is_capped_after_its_cure(
    tmp_path: Path,
) -> None:
    plan = made(tmp_path, SEAMED).plan
    of_line = [stage.kind.value for stage in plan.stages if stage.round == 2]
    assert of_line == ["cut", "seal", "fill", "cure", "cap", "cure", "mill flush", "sand"]


def test_every_cut_comes_after_the_cure_of_what_it_may_touch(tmp_path: Path) -> None:
    plan = made(tmp_path, SEAMED).plan
    wet = False
    for stage in plan.stages:
        if stage.kind in (StageKind.FILL, StageKind.CAP):
            wet = True
        if stage.kind is StageKind.CURE:
            assert stage.lag_s > 0.0
            wet = False
        if stage.setup:
            assert not wet, stage.title


def test_the_trim_is_the_last_cut_of_all_and_a_file_of_its_own(tmp_path: Path) -> None:
    result = made(tmp_path, PLAIN)
    works = [
        {operation.work.value for operation in file.order.operations} for file in result.gcode_files
    ]
    assert works[-1] == {"trim"}
    assert all("trim" not in work for work in works[:-1])


def test_depth_counts_from_the_finished_face_unless_told_otherwise(tmp_path: Path) -> None:
    finished = made(tmp_path, PLAIN).gcode_files[0].order.operations[0]
    standing = made(
        tmp_path, changed("depth: 2 mm,", "depth: 2 mm, measured from: face as it stands,")
    )
    assert finished.floor_mm == pytest.approx(-2.2)
    assert standing.gcode_files[0].order.operations[0].floor_mm == pytest.approx(-2.0)


def test_the_thickness_table_follows_the_allowances(tmp_path: Path) -> None:
    result = made(tmp_path, PLAIN)
    front = [entry for entry in result.replay.thickness_table if entry.face == "front"]
    assert [round(entry.face_mm, 6) for entry in front][-1] == pytest.approx(-0.7)
    assert front[-1].thickness_mm == pytest.approx(16.0 - 0.7 - 0.5)


def test_holes_after_the_finish_get_a_setup_of_their_own(tmp_path: Path) -> None:
    result = made(tmp_path, PLAIN + "finish: {name: wiping varnish, coats: 2, holes: after}\n")
    assert kinds(result)[-2:] == ["finish", "drill"]


def test_a_face_with_holes_alone_is_only_drilled(tmp_path: Path) -> None:
    text = PLAIN + (
        "back:\n  holes:\n    - {name: dowels, line: {start: [-20 mm, 0 mm], end: [20 mm, 0 mm], "
        "count: 3}, diameter: 3.175 mm, depth: 4 mm}\n"
    )
    plan = made(tmp_path, text).plan
    back = [stage.kind.value for stage in plan.stages if stage.face == "back"]
    assert back == ["surface", "drill", "trim"]
    assert plan.setups[-1].turned
