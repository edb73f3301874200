"""Every pour of the travelling set against the strata: nothing about it is typed in.

The liquid is reckoned back from the board alone: how much higher its top lies after a pour than
before, over the share of the liquid that stays once cured, plus what bare walls drank of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from flushwork.art.draw import draw_faces
from flushwork.gcode.program import gcode_file
from flushwork.job.read import read_job
from flushwork.job.records import FaceName, Job, Manner
from flushwork.process.infer_stages import infer_plan
from flushwork.process.orders.cut_orders import cut_orders
from flushwork.process.orders.replay_steps import replay_steps
from flushwork.process.plan_bits import cut_groups, cut_terms, fit_rounds
from flushwork.process.pour_requests import pour_requests
from flushwork.process.stages import Plan, Stage, StageKind
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cup.batches import plan_pours, stays_g
from flushwork.resin.pours import Pour
from flushwork.resin.recess import BARE_WALL_UPTAKE_MM
from flushwork.strata.replay import board_spec, replay
from flushwork.strata.steps import Fill
from flushwork.strata.surfaces import TILE_CELLS, BoardState, Replay
from flushwork.toolpaths.orders import GcodeFile

EXAMPLE = Path(__file__).parents[2] / "examples" / "kingfisher" / "job.yaml"


@dataclass(frozen=True)
class Poured:
    job: Job
    plan: Plan
    replayed: Replay
    pours: tuple[Pour, ...]
    keeps: dict[int, float]


@pytest.fixture(scope="module")
def example() -> Poured:
    """Take the example as far as its pours: no days, no check."""
    job = read_job(EXAMPLE)
    faces = draw_faces(job)
    plan = infer_plan(job, faces)
    by_stage: dict[int, list[GcodeFile]] = {}
    fits, _ = fit_rounds(faces, job.shop.bits, cut_groups(plan), cut_terms(job))
    for stage, order in cut_orders(job, faces, fits, plan):
        by_stage.setdefault(stage, []).append(gcode_file(order))
    steps = replay_steps(job, faces, plan, by_stage)
    replayed = replay(board_spec(job, faces), steps)
    keeps = {
        step.stage: action.keeps
        for step in steps
        for action in step.actions
        if isinstance(action, Fill)
    }
    pours = plan_pours(pour_requests(job, faces, plan, replayed.poured), job.shop)
    return Poured(job, plan, replayed, pours, keeps)


def rise_mm3(replayed: Replay, before: BoardState, after: BoardState, face: FaceName) -> float:
    """Return how much the top of a face rose, summed over all of it."""
    one, two = before.face(face), after.face(face)
    total = 0.0
    for key in {*one.tiles, *two.tiles}:
        for sign, stack in ((-1.0, one), (1.0, two)):
            tile = stack.tiles.get(key)
            flat = stack.plane_mm * TILE_CELLS**2
            total += sign * (flat if tile is None else tile.heights[-1].sum(dtype=np.float64))
    return float(total) * replayed.spec.cell_mm**2


def liquid_mm3(example: Poured, stage: Stage) -> float:
    """Return the liquid that one piece took at a stage, from the board before and after it."""
    states = example.replayed.states
    place = next(place for place, state in enumerate(states) if state.stage == stage.number)
    risen = rise_mm3(example.replayed, states[place - 1], states[place], stage.face)
    scraped = any(
        inlay.name in stage.subjects and inlay.manner is not Manner.OVERFILLED
        for inlay in example.job.inlays
    )
    walls_mm2 = sum(each.bare_mm2 for each in example.replayed.poured if each.stage == stage.number)
    drunk = walls_mm2 * BARE_WALL_UPTAKE_MM if scraped and stage.kind is StageKind.FILL else 0.0
    return (risen + drunk) / example.keeps[stage.number]


def test_each_pour_is_the_integral_over_the_strata_and_its_allowances(example: Poured) -> None:
    stages = [
        stage for stage in example.plan.stages if stage.kind in (StageKind.FILL, StageKind.CAP)
    ]
    whole = example.job.pieces + example.job.test_pieces
    assert sorted({pour.stage for pour in example.pours}) == [stage.number for stage in stages]
    for stage in stages:
        pours = [pour for pour in example.pours if pour.stage == stage.number]
        needed_cm3 = whole * liquid_mm3(example, stage) / 1000.0
        assert sum(pour.needed_cm3 for pour in pours) == pytest.approx(needed_cm3, rel=2e-4)
        for pour in pours:
            density = mix_density_g_cm3(pour.mix)
            walls_mm2 = pour.pieces * sum(served.walls_mm2 for served in pour.serves)
            cup_cm3 = stays_g(pour.cups, example.job.shop.cup_loss_g) / density
            allowed_cm3 = cup_cm3 + walls_mm2 * BARE_WALL_UPTAKE_MM / 1000.0
            assert pour.allowance_cm3 == pytest.approx(allowed_cm3)
            left_cm3 = pour.batch_cm3 - pour.needed_cm3 - pour.allowance_cm3
            # a part is weighed to the step of its scale, which may fall a hair short
            assert left_cm3 >= -0.005
            assert pour.surplus_g == pytest.approx(
                max(0.0, left_cm3 * pour.batch_g / pour.batch_cm3),
                abs=max(0.04, 2e-3 * pour.batch_g),  # the ratio as weighed shifts the density
            )
            assert pour.batch_g == pytest.approx(sum(part.mass_g for part in pour.parts))
            assert math.isfinite(pour.ratio_error)
