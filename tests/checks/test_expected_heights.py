"""A slip in the heights of the plan is noticed, though G-code files and replay are made with it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from flushwork.checks.expected_board import cut_in, cut_stages, finished_mm, floor_mm, wood_mm
from flushwork.core.findings import Severity
from flushwork.job.records import Allowances, Inlay
from flushwork.process import rounds
from flushwork.process.rounds import FacePlanes
from flushwork.process.stages import Plan, StageKind
from tests.many import examples
from tests.random_jobs import Asked, jobs
from tests.random_jobs import made as made_at_random
from tests.small_jobs import made

TWO_ROUNDS = """\
flushwork: 2
title: Two rounds
cell: 0.2 mm
blank: {wood: sugar maple, length: 60 mm, width: 50 mm, thickness: 16 mm}
allowances: {surface: 0.5 mm, light sand: 0.12 mm, mill flush: FLUSH_MM}
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: plate, rectangle: 24 mm x 16 mm, round: 3 mm, depth: 3 mm, fill: dark}
    - {name: disc, circle: 8 mm, depth: 1.5 mm, measured from: face as it stands, fill: clear,
       second pass of: plate}
"""
FLUSH, PROUD = (
    TWO_ROUNDS.replace("FLUSH_MM", "0.2 mm"),
    TWO_ROUNDS.replace(", mill flush: FLUSH_MM", ""),
)


def put_in(monkeypatch: pytest.MonkeyPatch, right: Callable[..., Any], wrong: object) -> None:
    """Put a faulty function in the place of one of the plan, wherever the program took it."""
    for name, module in list(sys.modules.items()):
        if name.startswith("flushwork.") and getattr(module, right.__name__, None) is right:
            monkeypatch.setattr(module, right.__name__, wrong)
    for record in (FacePlanes, Plan):
        if getattr(record, right.__name__, None) is right:
            monkeypatch.setattr(record, right.__name__, wrong)


def planes_off(
    change: Callable[[FacePlanes, Allowances], FacePlanes],
) -> Callable[..., tuple[FacePlanes, ...]]:
    right = rounds.planes_of
    return lambda given, faces: tuple(change(each, given) for each in right(given, faces))


def never_lightly(planes: FacePlanes, allowances: Allowances) -> FacePlanes:
    """Forget the light sandings."""
    again = (each + k * allowances.light_sand_mm for k, each in enumerate(planes.rounds_mm))
    return replace(planes, rounds_mm=tuple(again))


def never_milled(planes: FacePlanes, allowances: Allowances) -> FacePlanes:
    """Forget what the machine takes of the wood with the resin."""
    again = (each + (k + 1) * allowances.mill_flush_mm for k, each in enumerate(planes.rounds_mm))
    return replace(planes, rounds_mm=tuple(again))


def never_flattened(planes: FacePlanes, allowances: Allowances) -> FacePlanes:
    """Forget what surfacing takes."""
    higher = (each + allowances.surface_mm for each in planes.rounds_mm)
    return replace(planes, flat_mm=0.0, rounds_mm=tuple(higher))


def from_the_other_face(planes: FacePlanes, inlay: Inlay) -> float:
    """Count every depth from the face as it stands."""
    return planes.standing_mm(inlay) - inlay.depth_mm


RIGHT_STANDING = Plan.standing_mm


def one_too_high(*asked: Any) -> float:
    """Touch off where the face stood 0.3 mm ago."""
    return RIGHT_STANDING(*asked) + 0.3


FAULTS: dict[str, tuple[str, Callable[..., Any], object]] = {
    "light sanding forgotten": (PROUD, rounds.planes_of, planes_off(never_lightly)),
    "milling forgotten": (FLUSH, rounds.planes_of, planes_off(never_milled)),
    "surfacing forgotten": (PROUD, rounds.planes_of, planes_off(never_flattened)),
    "depth from another face": (PROUD, FacePlanes.floor_mm, from_the_other_face),
    "resin left too high": (PROUD, rounds.milled_to_mm, lambda given: given.left_proud_mm + 0.3),
    "milled into the wood": (FLUSH, rounds.milled_to_mm, lambda given: -given.mill_flush_mm - 0.3),
    "touched off too high": (PROUD, Plan.standing_mm, one_too_high),
}


@pytest.mark.parametrize("text", [PROUD, FLUSH])
def test_without_a_fault_nothing_is_found(tmp_path: Path, text: str) -> None:
    result = made(tmp_path, text)
    assert not [each for each in result.findings if each.severity is Severity.MUST_FIX]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_in_the_heights_of_the_plan_is_noticed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    text, right, wrong = FAULTS[fault]
    put_in(monkeypatch, right, wrong)
    found = made(tmp_path, text).findings
    stops = {each.code for each in found if each.severity is Severity.MUST_FIX}
    assert stops & {"cut-depth-off", "flush-milling-off", "cut-misses-artwork"}, fault


@settings(
    max_examples=examples(8),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(asked=jobs())
def test_both_sums_come_to_the_same_in_any_job(
    tmp_path_factory: pytest.TempPathFactory, asked: Asked
) -> None:
    result = made_at_random(tmp_path_factory.mktemp("job"), asked)
    for face in result.faces:
        planes = result.plan.on(face.name)
        assert finished_mm(result, face.name) == planes.finished_mm
        for number, stage in enumerate(cut_stages(result, face.name), start=1):
            assert wood_mm(result, face.name, stage.number) == planes.before_mm(number)
            assert cut_in(face, stage) == planes.drawn(face)[number - 1]
            for drawn in cut_in(face, stage):
                assert floor_mm(result, drawn.inlay, stage) == planes.floor_mm(drawn.inlay)
        for stage in result.plan.stages:
            if stage.kind is StageKind.SAND and stage.face == face.name:
                stands = result.replay.after(stage.number).face(face.name).plane_mm
                assert stands == pytest.approx(wood_mm(result, face.name, stage.number), abs=1e-6)
