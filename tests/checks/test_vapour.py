"""A machine beside the wet coat of another piece is told, and the cards ask for room apart."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.whole_page import page_context
from flushwork.checks.rules.work.hazard_rules import machine_near_wet_coat
from flushwork.process.exposure import ON_MACHINE
from flushwork.process.stages import StageKind
from flushwork.views.figures import Lengths
from flushwork.views.stage_views import stage_views
from tests.many import examples
from tests.views.test_waits_alike import SHOP, planned, text_of

BURNS = {"none": False, "shellac": True, "sanding sealer": True, "seal coat": False}


@settings(max_examples=examples(3), deadline=None)
@given(st.sampled_from(sorted(BURNS)), st.integers(1, 4))
@example("shellac", 3)
@example("shellac", 1)
def test_a_machine_beside_a_coat_that_burns_is_told(sealer: str, pieces: int) -> None:
    made = planned(text_of(["overfilled"], sealer, pieces, 0, 8), SHOP.format(day=21, night=18))
    assert made.schedule is not None
    found = list(machine_near_wet_coat(made))
    gaps = [
        step.begin_min - coat.end_min
        for coat in made.schedule.steps
        for step in made.schedule.steps
        if coat.kind is StageKind.SEAL and step.kind in (*ON_MACHINE, StageKind.SAND)
        if 0 <= step.begin_min - coat.end_min < math.ceil(made.plan.stage(coat.stage).lag_s / 60.0)
    ]
    assert {item.code for item in found} == (
        {"vapour-near-machine"} if BURNS[sealer] and gaps else set()
    )
    for item in found:
        assert item.subject == sealer
        assert f"{min(gaps)} min after" in item.message or not min(gaps)
        assert "another aired room" in item.remedy
    views = stage_views(page_context(made, "metric", coarse=False), {}, Lengths("metric"))
    for stage, view in zip(made.plan.stages, views, strict=True):
        told = [line for line in view.details if "outdoors or in another aired room" in line]
        burns = stage.kind is StageKind.SEAL and BURNS[sealer]
        assert bool(told) == (burns or stage.kind is StageKind.FINISH)


def test_the_next_piece_machined_straight_after_a_coat_is_a_case_of_it() -> None:
    made = planned(text_of(["overfilled"], "shellac", 3, 0, 8), SHOP.format(day=21, night=18))
    assert any(machine_near_wet_coat(made))
    assert not list(machine_near_wet_coat(replace(made, schedule=None)))
