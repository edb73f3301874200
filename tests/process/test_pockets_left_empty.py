"""Pockets left empty: cut last, as large as drawn, free of resin, kept apart from inlays."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.checks.fixes.fix import Question, applied
from flushwork.checks.fixes.propose import fixes_for
from flushwork.process.stages import StageKind
from flushwork.strata.tiles import bounds_window, surface
from tests.checks.hearing import codes, heard, one, undated, written
from tests.gcode import second_reader
from tests.many import examples
from tests.scenarios.texts import job

BITS = "bits: [3.175 mm flat, 25 mm facing bit, 6.35 mm flat]\n"
INLAY = (
    "  inlays: [{name: field, rectangle: 20 mm x 12 mm, at: [-24 mm, 0 mm], depth: 2 mm,\n"
    "    fill: navy}]\n"
)
REST = "  pockets: [{name: rest, circle: 24 mm, at: [16 mm, 0 mm], depth: 1.5 mm}]\n"
RADIUS_MM = 3.175 / 2.0


def shaped_mm3(made: Build) -> float:
    """Return what the stages that cut what stays empty take out."""
    own = {each.number for each in made.plan.stages if each.kind is StageKind.SHAPE}
    return float(sum(cut.removed_mm3.sum() for cut in made.replay.cuts if cut.stage in own))


def test_they_are_cut_in_the_setup_of_the_last_sanding(tmp_path: Path) -> None:
    text = job("trim line: {rectangle: 80 mm x 60 mm}\nfront:\n" + INLAY + REST)
    plan = undated(written(tmp_path, text)).plan
    kinds = [each.kind.value for each in plan.stages]
    assert kinds[-6:-2] == ["mill flush", "sand", "shape", "trim"]
    shape = next(each for each in plan.stages if each.kind is StageKind.SHAPE)
    assert shape.subjects == ("rest",)
    assert shape.setup == plan.stages[shape.number - 2].setup == plan.stages[shape.number].setup
    assert plan.standing_mm(shape) == pytest.approx(plan.on("front").finished_mm)


@settings(max_examples=examples(4), deadline=None)
@given(
    wide=st.integers(50, 300),
    deep=st.integers(50, 200),
    down=st.integers(5, 60),
    disc=st.booleans(),
    back=st.booleans(),
)
def test_each_takes_what_its_closed_form_says(
    tmp_path_factory: pytest.TempPathFactory,
    wide: int,
    deep: int,
    down: int,
    disc: bool,
    back: bool,
) -> None:
    """A disc pi d^2 / 4; a rectangle less what a bit leaves in its corners, (4 - pi) r^2."""
    width_mm, high_mm, depth_mm = wide / 10.0, deep / 10.0, down / 10.0
    drawn = f"circle: {width_mm} mm" if disc else f"rectangle: {width_mm} mm x {high_mm} mm"
    pocket = (
        f"{{name: grip, {drawn}, at: [16 mm, 3 mm], depth: {depth_mm} mm, bits: [3.175 mm flat]}}"
    )
    face = f"back: {{pockets: [{pocket}]}}\n"
    if not back:
        face = f"front:\n{INLAY}  pockets: [{pocket}]\n"
    folder = tmp_path_factory.mktemp("pocket")
    made = undated(written(folder, job(face).replace("0.2 mm", "0.1 mm", 1), BITS))
    corners = (4.0 - math.pi) * RADIUS_MM**2
    area_mm2 = math.pi * width_mm**2 / 4.0 if disc else width_mm * high_mm - corners
    assert shaped_mm3(made) == pytest.approx(area_mm2 * depth_mm, rel=0.01)
    floor_mm = min(
        z
        for file in made.gcode_files
        if any(cut.subject == "grip" for cut in file.order.operations)
        for kind, _, _, z in second_reader.read(file.text)
        if kind != "rapid"
    )
    assert floor_mm == pytest.approx(-depth_mm, abs=0.002)


def test_no_resin_is_left_in_one_cut_into_an_inlay(tmp_path: Path) -> None:
    text = job(
        "front:\n" + INLAY + "  pockets: [{name: rest, circle: 8 mm, at: [-24 mm, 0 mm], "
        "depth: 2.4 mm, cut into: [field]}]\n"
    )
    made = undated(written(tmp_path, text))
    (drawn,) = made.face("front").pockets
    spec = made.replay.spec
    stage = next(each for each in made.plan.stages if each.kind is StageKind.SHAPE)
    window = bounds_window(spec, drawn.region.buffer(-1.8).bounds)
    face = made.replay.after(stage.number).face("front")
    wood, top = surface(face, window, 0), surface(face, window, -1)
    assert np.allclose(top, made.plan.on("front").finished_mm - 2.4, atol=0.01)
    assert np.array_equal(wood, top)
    assert "pocket-cuts-inlay" not in codes(heard(tmp_path, text))


OVERLAP = job(
    "front:\n"
    + INLAY
    + "  pockets: [{name: rest, circle: 8 mm, at: [-16 mm, 0 mm], depth: 1 mm}]\n"
)


def test_one_that_cuts_an_inlay_unasked_must_be_mended_and_the_fix_mends_it(tmp_path: Path) -> None:
    path = written(tmp_path, OVERLAP)
    made = undated(path)
    told = one(run_checks(made), "pocket-cuts-inlay", "rest")
    assert told.stands
    fixes = fixes_for(Question(told, made.job, made.faces))
    assert [str(each) for each in fixes] == ["front.pockets.rest.cut into: [field]"]
    mended = heard(tmp_path / "after", applied(path.read_text("utf-8"), fixes[0]))
    assert "pocket-cuts-inlay" not in codes(mended)


def test_floors_and_wood_between_hold_them_too(tmp_path: Path) -> None:
    deep = "{name: %s, circle: 20 mm, depth: %s mm}"
    both = (
        f"front: {{pockets: [{deep % ('grip', 8)}]}}\nback: {{pockets: [{deep % ('felt', 6)}]}}\n"
    )
    told = one(heard(tmp_path / "both", job(both)), "wood-between-too-thin")
    assert {each.name for each in told.subjects} == {"grip", "felt"}
    assert {each.kind for each in told.subjects} == {"pocket"}
    alone = f"front: {{pockets: [{deep % ('grip', '14.8')}]}}\n"
    assert one(heard(tmp_path / "alone", job(alone)), "floor-through", "grip").stands
    thin = (
        "front: {pockets: [{name: one, rectangle: 10 mm x 20 mm, at: [-5.4 mm, 0 mm], depth: 3 mm},"
        " {name: two, rectangle: 10 mm x 20 mm, at: [5.4 mm, 0 mm], depth: 3 mm}]}\n"
    )
    assert one(heard(tmp_path / "thin", job(thin)), "wood-sliver-thin").measure


def test_before_a_pour_they_would_be_filled(tmp_path: Path) -> None:
    near = INLAY + "  pockets: [{name: rest, circle: 6 mm, at: [-10.5 mm, 0 mm], depth: 1 mm}]\n"
    ordered = "order: [{do: shape rest, before: fill field}]\nfront:\n"
    assert one(heard(tmp_path / "near", job(ordered + near)), "pocket-before-pour", "rest").stands
    away = one(heard(tmp_path / "away", job(ordered + INLAY + REST)), "pocket-before-pour", "rest")
    assert away.severity.value == "warning"
    sound = heard(tmp_path / "sound", job("front:\n" + INLAY + REST))
    assert not {"pocket-before-pour", "cut-outside-artwork", "cut-depth-off"} & set(codes(sound))


def test_names_are_told_apart_and_inlays_cut_into_are_known(tmp_path: Path) -> None:
    twice = "front:\n" + INLAY + REST.replace("rest", "field")
    assert "name-twice" in codes(heard(tmp_path / "twice", job(twice)))
    unknown = "front:\n" + INLAY + REST.replace("1.5 mm", "1.5 mm, cut into: [feild]")
    told = one(heard(tmp_path / "unknown", job(unknown)), "name-unknown")
    assert "field" in told.remedy


def test_a_back_with_a_hanger_slot_words_and_a_drip_groove_is_cut_as_asked(tmp_path: Path) -> None:
    text = job(
        "trim line: {rectangle: 84 mm x 64 mm}\nfront:\n" + INLAY + "back:\n  pockets:\n"
        "    - {name: hanger, lines: [[[0 mm, 8 mm], [0 mm, 20 mm]]], width: 8 mm, depth: 4 mm}\n"
        "    - {name: mark, text: 'No. 1, 2027', font: serif, size: 9 mm, at: [0 mm, -14 mm],\n"
        "       depth: 0.6 mm, engrave: yes}\n"
        "  edges:\n"
        "    - {name: drip, shape: groove, size: 3.175 mm, depth: 1.2 mm, inset: 5 mm}\n"
    )
    made = undated(written(tmp_path, text))
    told = [each for each in run_checks(made) if each.stands]
    assert not told, told
    stage = next(each for each in made.plan.stages if each.kind is StageKind.SHAPE)
    assert (stage.face, stage.subjects) == ("back", ("drip", "hanger", "mark"))
    slot = 12.0 * 8.0 + math.pi * 16.0
    hanger = next(each for each in made.face("back").pockets if each.pocket.name == "hanger")
    assert hanger.region.area == pytest.approx(slot, rel=0.01)
    window = bounds_window(made.replay.spec, (43.0, 45.0, 47.0, 53.0))
    top = surface(made.replay.after(stage.number).face("back"), window, -1)
    assert np.allclose(top, made.plan.on("back").finished_mm - 4.0, atol=0.01)


def test_one_of_several_that_lies_off_the_board_is_told(tmp_path: Path) -> None:
    """Copies run right and up from where the first stands: two of these four miss the piece."""
    feet = (
        "trim line: {rectangle: 80 mm x 60 mm}\nback:\n  pockets: [{name: feet, circle: 8 mm,\n"
        "    at: [-30 mm, 20 mm], repeat: {columns: 2, rows: 2, pitch: [60 mm, 40 mm]},\n"
        "    depth: 1 mm}]\n"
    )
    told = one(heard(tmp_path / "off", job(feet), BITS), "outside-trim-line", "feet")
    assert told.measure is not None
    assert told.measure.value == pytest.approx(2.0 * math.pi * 16.0, rel=0.01)
    back = job(feet.replace("at: [-30 mm, 20 mm]", "at: [-30 mm, -20 mm]"))
    assert "outside-trim-line" not in codes(heard(tmp_path / "on", back, BITS))
