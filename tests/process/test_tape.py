"""Tape: strips that hold what was counted on and lie under nothing that a bit comes through."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point
from shapely.affinity import affine_transform

from flushwork.art.board_frame import back_map
from flushwork.art.draw import draw_faces
from flushwork.art.drawn import DrawnFace
from flushwork.fit.grip import grip_of, speaks_of_pins
from flushwork.job.read import read_job
from flushwork.job.records import Job
from flushwork.process.infer_stages import infer_plan
from flushwork.process.stages import Setup, StageKind
from flushwork.process.tape import TapePlan, tape_plan
from flushwork.shelf import tables
from tests.checks.hearing import written
from tests.many import examples
from tests.random_jobs import cards
from tests.small_jobs import PLAIN, changed, made

INCH = 25.4
FLIPPED = ["top to bottom", "side to side"]


@st.composite
def taped(draw: st.DrawFn) -> tuple[str, str]:
    """Draw a job and the shop it is made in, metric or in inches: the tape, what goes through."""
    unit = draw(st.sampled_from([1.0, INCH]))
    length, width = (draw(st.integers(90, 420)), draw(st.integers(70, 320)))

    def say(value_mm: float) -> str:
        return f"{value_mm:.3f} mm" if unit == 1.0 else f"{value_mm / INCH:.4f} in"

    share, wide = draw(st.integers(5, 100)), draw(st.sampled_from([6.0, 12.7, 25.0, 50.0, 90.0]))
    waste = draw(st.integers(13, 24))
    trimmed = draw(st.booleans())
    hole = draw(st.floats(2.0, 9.0))
    job = (
        "flushwork: 2\ntitle: Taped\nshop: shop.yaml\n"
        f"blank: {{wood: sugar maple, length: {say(length)}, width: {say(width)}, "
        f"thickness: {say(15.0)}, flipped: {draw(st.sampled_from(FLIPPED))}}}\n"
        + (
            f"trim line: {{rectangle: {say(length - 2 * waste)} x {say(width - 2 * waste)}}}\n"
            if trimmed
            else ""
        )
        + ("locating: {diameter: 4 mm, into blank: through}\n" if draw(st.booleans()) else "")
        + "mixes: {dark: {resin: coating epoxy, pigments: [black powder]}}\n"
        "front:\n  inlays: [{name: dot, circle: 9 mm, depth: 2 mm, fill: dark}]\n"
        "  holes: [{name: pegs, grid: {columns: 2, rows: 1, pitch: 21 mm}, at: [3 mm, 2 mm], "
        f"diameter: {hole:.3f} mm, depth: {draw(st.sampled_from(['through', '4 mm']))}}}]\n"
        "back:\n  pockets: [{name: rest, circle: 16 mm, at: [9 mm, -4 mm], depth: 2 mm}]\n"
    )
    shop = (
        "flushwork shop: 2\nholding:\n  - {name: mine, how: double-sided tape, "
        "locates by: a corner of two stops, repeatability: 0.1 mm, "
        f"tape: {share} %, tape width: {say(wide)}}}\n"
    )
    return job, shop


def assert_nothing_cut_through(
    job: Job, faces: Sequence[DrawnFace], setup: Setup, plan: TapePlan
) -> None:
    """Hold the strips to the holes, the empty pockets below and the kerf, by its own geometry."""
    for face in faces:
        up = face.name == setup.face
        onto = [1, 0, 0, 1, 0, 0] if up else list(back_map(job.blank).numbers)
        for pattern in face.holes:
            for hole in pattern.places:
                middle = affine_transform(Point(hole.x_mm, hole.y_mm), onto)
                if not up or pattern.holes.through:
                    assert plan.taped.distance(middle) > pattern.holes.diameter_mm / 2.0
        if not up:
            for pocket in face.pockets:
                above = affine_transform(pocket.region, onto)
                assert plan.taped.intersection(above).area < 1e-6
        elif job.outline.artwork is not None:
            kerf = face.trim.buffer(3.0).difference(face.trim)
            assert plan.taped.intersection(kerf).area < 1e-6


@given(case=taped())
@settings(max_examples=examples(25), deadline=None)
def test_tape_holds_what_is_counted_on_and_is_under_nothing_cut_through(
    tmp_path_factory: pytest.TempPathFactory, case: tuple[str, str]
) -> None:
    folder = tmp_path_factory.mktemp("taped")
    (folder / "shop.yaml").write_text(case[1], "utf-8")
    job = read_job(written(folder, case[0]))
    faces = draw_faces(job)
    for setup in infer_plan(job, faces).setups:
        plan = tape_plan(job, faces, setup)
        assert plan is not None
        face = next(each for each in faces if each.name == setup.face)
        assert face.blank.buffer(1e-6).covers(plan.taped)
        assert plan.share == pytest.approx(plan.taped.area / face.blank.area)
        assert all(plan.taped.distance(Point(place)) > 2.0 for place in setup.recesses)
        assert_nothing_cut_through(job, faces, setup, plan)
        wanted = grip_of(job.holding)
        assert wanted is not None
        assert plan.wanted == wanted.tape_share
        # where it is not enough, rows fill the width, and only what comes through is left bare
        if not plan.enough:
            assert plan.rows * plan.wide_mm >= job.blank.width_mm


def test_the_usual_holding_needs_nothing_bored(tmp_path: Path) -> None:
    usual = tables.starter_shop().holdings[0]
    assert not speaks_of_pins(usual)
    build = made(tmp_path, PLAIN)
    assert build.job.holding == usual
    assert all(stage.kind is not StageKind.LOCATE for stage in build.plan.stages)
    for card in cards(build):
        told = {fact.label: fact.value for fact in card.facts}
        assert "Their places" not in told
        assert re.fullmatch(
            r"2 strips of 25.00\u00a0mm, every 35.00\u00a0mm: \d+\u00a0cm\u00b2, \d+\u00a0%",
            told["Tape"],
        )
        assert 'fill="#f6e6b4"' in card.picture.svg


def test_the_starter_shops_dowels_are_bored_by_a_stage(tmp_path: Path) -> None:
    larger = changed("length: 90 mm, width: 70 mm", "length: 120 mm, width: 70 mm")
    build = made(tmp_path, "holding: dowels\n" + larger)
    first = next(stage for stage in build.plan.stages if stage.kind is StageKind.LOCATE)
    bare, through = build.staged_files[first.number]
    assert bare.order.bare
    assert not through.order.bare
    assert build.schedule is not None
    steps = [step for step in build.schedule.steps if step.stage == first.number]
    assert sum(step.end_min - step.begin_min for step in steps) > 0
