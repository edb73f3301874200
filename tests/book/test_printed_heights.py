"""Every height that is printed of flush milling and sanding is the replay's."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.whole_page import page_context
from flushwork.built import Build
from flushwork.checks.no_return_conditions import conditions
from flushwork.job.records import FaceName
from flushwork.process.stages import Stage, StageKind
from flushwork.strata.tiles import grid, surface
from flushwork.views.stage_cards import FLUSH
from flushwork.views.stage_views import stage_views
from tests.many import examples
from tests.random_jobs import Asked, jobs, made

MM = re.compile(r"([0-9.]+)[ \u00a0]mm (above|into|below|of)")
AFTER_MM = 0.006


@st.composite
def allowances(draw: st.DrawFn) -> str:
    level = draw(st.sampled_from([0.0, 0.0, 0.05, 0.3, 0.7]))
    skin, sand, light = (draw(st.integers(1, 40)) / 100.0 for _ in range(3))
    return (
        f"allowances: {{mill flush: {level:g} mm, left proud: {skin:g} mm, sand: {sand:g} mm, "
        f"light sand: {light:g} mm}}\n"
    )


@st.composite
def milled_jobs(draw: st.DrawFn) -> Asked:
    return draw(jobs(allowances=draw(allowances())))


def wood_mm(build: Build, stage: int, face: FaceName) -> float:
    """Return where most of a face's wood stands after a stage, as it is replayed."""
    spec = build.replay.spec
    return float(np.median(surface(build.replay.after(stage).face(face), grid(spec), 0)))


def resin_mm(build: Build, stage: int, face: FaceName) -> float:
    """Return the highest resin of a face after a stage."""
    stack, whole = build.replay.after(stage).face(face), grid(build.replay.spec)
    tops = [tile.heights[-1] for tile in stack.tiles.values()]
    filled = [
        top[top - tile.heights[0] > 0.05]
        for top, tile in zip(tops, stack.tiles.values(), strict=True)
    ]
    del whole
    return max(float(each.max()) for each in filled if each.size)


def told(text: str) -> tuple[float, str]:
    """Return the first height above, into or of the wood that a text tells."""
    found = MM.search(text)
    assert found is not None, text
    return float(found[1]), found[2]


def stops_at(text: str) -> float:
    """Return at which height over the wood a text lets the machine stop."""
    height, way = told(text)
    return height if way == "above" else -height


def check(build: Build) -> None:
    sight = page_context(build, "metric", coarse=False)
    cards = {card.number: card for card in stage_views(sight, sight.letters, sight.lengths)}
    case = build
    for stage in build.plan.stages:
        card = cards[stage.number]
        ticked = " ".join(conditions(case, stage, None))
        if stage.kind is StageKind.MILL_FLUSH:
            stood = wood_mm(build, stage.number - 1, stage.face)
            stands = wood_mm(build, stage.number, stage.face)
            proud = resin_mm(build, stage.number, stage.face)
            stopped = stops_at(card.differs)
            # resin that has cured lower than the mill stops is not touched by it
            highest = min(stopped, resin_mm(build, stage.number - 1, stage.face) - stood)
            assert proud - stood == pytest.approx(highest, abs=AFTER_MM)
            assert stood - stands == pytest.approx(max(-stopped, 0.0), abs=AFTER_MM)
            assert stops_at(card.because) == pytest.approx(stopped, abs=AFTER_MM)
            assert stops_at(ticked[ticked.index("the machine stops") :]) == stopped
            if stopped < 0.0:
                assert card.how == FLUSH.name
                assert "wood untouched" not in FLUSH.good
                assert "cuts wood" not in FLUSH.if_not
        if stage.kind is StageKind.SAND:
            taken = _taken(build, stage)
            assert told(card.differs)[0] == pytest.approx(taken, abs=AFTER_MM)
            assert told(ticked[ticked.index("no more than") :])[0] == pytest.approx(
                taken, abs=AFTER_MM
            )
    _depths(build)


def _taken(build: Build, stage: Stage) -> float:
    stood = wood_mm(build, stage.number - 1, stage.face)
    return stood - wood_mm(build, stage.number, stage.face)


def _depths(build: Build) -> None:
    """Hold each inlay's floor to the depth asked, below the finished wood beside it."""
    spec, last = build.replay.spec, build.replay.states[-1]
    for face in build.faces:
        wood = surface(last.face(face.name), grid(spec), 0)
        for drawn in face.inlays:
            spot = drawn.region.representative_point()
            row, column = int(spot.y / spec.cell_mm), int(spot.x / spec.cell_mm)
            # one cell may keep a crumb between two passes: the middle of nine is the floor
            floor = float(np.median(wood[row - 1 : row + 2, column - 1 : column + 2]))
            deep = wood_mm(build, last.stage, face.name) - floor
            assert deep == pytest.approx(drawn.inlay.depth_mm, abs=0.02)


CRUMB = Asked(
    "flushwork: 2\nshop: shop.yaml\ncell: 0.5 mm\ntitle: Random board\n"
    "blank: {wood: sugar maple, length: 104 mm, width: 80 mm, thickness: 13 mm}\n"
    "allowances: {mill flush: 0 mm, left proud: 0.01 mm, sand: 0.01 mm, light sand: 0.01 mm}\n"
    "mixes: {dark: {resin: coating epoxy, pigments: [black powder]}}\nfront:\n  inlays:\n"
    "    - {name: plate, rectangle: 11.750 mm x 8.225 mm, round: 1.31 mm, turn: 28 deg, "
    "depth: 1 mm, fill: dark}\n",
    "flushwork shop: 2\nname: small shop\nmeasuring tools: [fine scale, bench scale]\n"
    "machine: {clear height: 3 mm}\n",
)
"""A crumb of 0.006 mm2 stays in the cell at its middle."""


@settings(max_examples=examples(5), deadline=None)
@given(milled_jobs())
@example(CRUMB)
def test_cards_and_no_returns_tell_the_heights_of_the_replay(asked: Asked) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check(made(Path(folder), asked))
