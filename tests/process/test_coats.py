"""How much is brushed on: the area by hand against the replay's, over what a litre covers."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.process.coats import LEFT, Coats, coats_of
from flushwork.shelf.working import StockKind
from tests.checks.hearing import undated, written
from tests.many import examples
from tests.scenarios.texts import job

PLATE = job(
    "pieces: 3\n"
    "sealer: shellac\n"
    "finish: {name: wiping varnish, coats: 2}\n"
    "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: 3 mm, fill: navy}]}\n"
)


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return undated(written(tmp_path_factory.mktemp("coats"), PLATE))


def told(build: Build) -> dict[StockKind, Coats]:
    found = coats_of(build.job, build.faces, build.plan, build.replay.poured)
    return {each.kind: each for each in found}


def test_walls_and_floor_are_those_of_the_pocket(build: Build) -> None:
    """A pocket of 40 x 20 x 3 mm has 800 mm2 of floor and 360 of wall; its corners are round."""
    sealed = told(build)[StockKind.SEALER]
    assert sealed.coats == sum(stage.kind == "seal" for stage in build.plan.stages)
    blank = build.job.blank
    faces = sum(stage.kind == "seal" and not stage.subjects for stage in build.plan.stages)
    of_faces = faces * blank.length_mm * blank.width_mm
    brushed = sealed.volume_cm3 / LEFT / 3 * sealed.covers_m2_l * 1000.0
    # a brush wets the edge of the pocket too: a cell or two around it
    assert brushed - of_faces == pytest.approx(800.0 + 360.0, rel=0.15)


@settings(max_examples=examples(20), deadline=None)
@given(
    pieces=st.integers(1, 40),
    coats=st.integers(1, 6),
    covers=st.floats(1.0, 40.0),
    thickness=st.floats(5.0, 40.0),
)
def test_a_finish_goes_on_both_faces_and_the_edges(
    build: Build, pieces: int, coats: int, covers: float, thickness: float
) -> None:
    plan = build.job.finish
    assert plan is not None
    finish = replace(plan, coats=coats, finish=replace(plan.finish, covers_m2_l=covers))
    blank = replace(build.job.blank, thickness_mm=thickness)
    other = replace(build.job, pieces=pieces, finish=finish, blank=blank)
    face = build.faces[0]
    piece = face.blank if face.trim.is_empty else face.trim
    left, low, right, high = piece.bounds
    long, wide = right - left, high - low
    area_m2 = (2.0 * long * wide + 2.0 * (long + wide) * thickness) / 1e6
    wiped = told(replace(build, job=other))[StockKind.FINISH]
    litres = pieces * coats * area_m2 / covers
    assert wiped.volume_cm3 == pytest.approx(1250.0 * litres, rel=1e-6)


def test_a_seal_of_resin_is_a_pour_and_not_brushed_out_of_a_tin(build: Build) -> None:
    sealer = build.job.sealer
    assert sealer is not None
    mixed = replace(build.job, sealer=replace(sealer, resin="as the fill"))
    assert StockKind.SEALER not in told(replace(build, job=mixed))
