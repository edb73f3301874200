"""One wait, one figure.

Card, page, timer, point of no return and day sheet, on random jobs and shops.
"""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.machine_views import screens
from flushwork.bench.pages.whole_page import page_context
from flushwork.built import Build
from flushwork.checks.no_return_conditions import conditions
from flushwork.pipeline import build
from flushwork.process.stages import Stage, StageKind
from flushwork.schedule.groups import days_of
from flushwork.schedule.run_problem import schedule_options_of
from flushwork.schedule.schedule import Reached
from flushwork.schedule.waits import wait_text
from flushwork.views.figures import Lengths
from flushwork.views.stage_views import stage_views
from tests.many import examples

SHOP = """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
air: {{day temperature: {day} degC, night temperature: {night} degC}}
"""
JOB = """\
flushwork: 2
shop: shop.yaml
title: Waits
cell: 1 mm
pieces: {pieces}
test pieces: {tests}
blank: {{wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 16 mm}}
{sealer}
mixes:
  dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
  bright: {{resin: coating epoxy, thinner: {{name: ethanol, share: {thin} %}}, bubbles: pick}}
  clear: {{resin: coating epoxy}}
front:
  inlays:
{inlays}
"""
SORTS = {
    "overfilled": "depth: 2 mm, fill: dark",
    "deep": "depth: 9 mm, fill: dark",
    "scraped": "depth: 1.5 mm, fill: dark, how: scraped flush",
    "thinned": "depth: 1.5 mm, fill: bright, how: scraped flush",
    "capped": "depth: 1.5 mm, fill: bright, how: scraped flush and capped, cap: clear",
}
NEXT = {True: Reached.POURABLE, False: Reached.HARD}
WORKED = (StageKind.CUT, StageKind.MILL_FLUSH, StageKind.SAND, StageKind.DRILL, StageKind.TRIM)


def text_of(sorts: list[str], sealer: str, pieces: int, tests: int, thin: int) -> str:
    inlays = "\n".join(
        f"    - {{name: inlay {at + 1}, rectangle: 14 mm x 14 mm, "
        f"at: [{20 * at - 20} mm, 0 mm], {SORTS[sort]}}}"
        for at, sort in enumerate(sorts)
    )
    return JOB.format(
        pieces=pieces, tests=tests, sealer=sealer and f"sealer: {sealer}", thin=thin, inlays=inlays
    )


@st.composite
def asked(draw: st.DrawFn) -> tuple[str, str]:
    """Return the texts of a job and of its shop."""
    sorts = draw(st.lists(st.sampled_from(sorted(SORTS)), min_size=1, max_size=3))
    day = draw(st.integers(17, 27))
    job = text_of(
        sorts,
        draw(st.sampled_from(["", "shellac", "seal coat", "sanding sealer"])),
        draw(st.integers(1, 4)),
        draw(st.integers(0, 1)),
        draw(st.integers(5, 14)),
    )
    return job, SHOP.format(day=day, night=draw(st.integers(8, day)))


def planned(job: str, shop: str) -> Build:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(job, "utf-8")
        path.with_name("shop.yaml").write_text(shop, "utf-8")
        made = build(path, check=False)
    days = days_of((made.asked,), schedule_options_of(made.job))
    return replace(made, pours=days.pours, schedule=days.schedule)


def minutes_in(text: str) -> set[int]:
    """Return the spans of time in words, in minutes."""
    found = set()
    for row in re.findall(r"(?:\d+[ \u00a0](?:days?|h|min)\b[ \u00a0]?)+", text):
        units = {"day": 1440, "days": 1440, "h": 60, "min": 1}
        told = re.findall(r"(\d+)[ \u00a0](days?|h|min)", row)
        found.add(sum(int(count) * units[unit] for count, unit in told))
    return found


def waited(made: Build, stage: Stage) -> set[int]:
    """Return how many minutes the days wait at a cure, read off the schedule alone."""
    assert made.schedule is not None
    following = made.plan.stages[stage.number]
    until = NEXT[following.kind in (StageKind.FILL, StageKind.CAP)]
    of_task = {step.task: made.plan.stage(step.stage) for step in made.schedule.steps}
    longest: dict[tuple[str, object], int] = {}
    for wait in made.schedule.waits:
        poured = of_task[wait.task]
        resin = poured.kind in (StageKind.FILL, StageKind.CAP)
        here = resin and (poured.face, poured.round) == (stage.face, stage.round)
        behind = of_task[wait.until].number > stage.number
        # a cap sets beneath nothing: what is poured on is told by the cure before that pour
        just = until == Reached.HARD or (behind and poured.number < stage.number)
        if wait.reaches is until and here and behind and just:
            key = (wait.mix, wait.piece)
            longest[key] = max(longest.get(key, 0), wait.ready_min - wait.since_min)
    return set(longest.values())


def told_alike(made: Build) -> None:
    """Hold what card, page, timer and points of no return tell of each wait to the days."""
    sight = page_context(made, "metric", coarse=False)
    views = stage_views(sight, {}, Lengths("metric"))
    for stage, view, page in zip(made.plan.stages, views, screens(sight), strict=True):
        if stage.kind is not StageKind.CURE:
            continue
        wanted = waited(made, stage)
        assert wanted
        assert minutes_in(view.wait) == wanted, view.wait
        assert wanted <= minutes_in(view.differs), view.differs
        assert minutes_in(" ".join(page.details)) == wanted
        assert {timer.lasts_s / 60.0 for timer in page.timers} == wanted
    for stage in made.plan.stages:
        if stage.kind is StageKind.FILL and stage.layer == 1:
            seals = [
                other
                for other in views[: stage.number]
                if made.plan.stage(other.number).kind is StageKind.SEAL
                and set(made.plan.stage(other.number).subjects) & set(stage.subjects)
            ]
            for text in conditions(made, stage, None):
                if text.startswith("the walls shine"):
                    assert minutes_in(text) == minutes_in(seals[-1].wait), text
                    resin = made.job.sealer is not None and bool(made.job.sealer.resin)
                    assert ("have set" if resin else "have dried") in text


def ticked_in_time(made: Build) -> None:
    """Hold the plan to its points of no return: each piece has waited what they ask."""
    schedule, case = made.schedule, made
    assert schedule is not None
    for stage in made.plan.stages:
        if stage.kind not in WORKED:
            continue
        cures = [
            other for other in made.plan.stages[: stage.number] if other.kind is StageKind.CURE
        ]
        no_returns = conditions(case, stage, None)
        for text in (each for each in no_returns if " was poured " in each):
            assert minutes_in(text) <= waited(made, cures[-1]), text
            mix = text.split(" was poured ")[0]
            for piece in schedule.pieces:
                own = [step for step in schedule.steps if piece in step.pieces]
                begins = min(step.begin_min for step in own if step.stage == stage.number)
                poured = [step for step in own if step.mix == mix and step.stage < stage.number]
                since = max(step.end_min for step in poured)
                assert begins - since >= min(minutes_in(text)), text
        drilled = any(each.kind is StageKind.DRILL for each in made.plan.stages[: stage.number])
        assert drilled or not any("drilled and counted" in text for text in no_returns)


@settings(max_examples=examples(4), deadline=None)
@given(asked())
@example((text_of(["capped"], "shellac", 1, 1, 12), SHOP.format(day=20, night=12)))
@example((text_of(["capped", "thinned"], "", 2, 0, 8), SHOP.format(day=20, night=20)))
@example((text_of(["overfilled"], "seal coat", 1, 0, 8), SHOP.format(day=20, night=16)))
def test_a_wait_has_one_figure_everywhere_and_the_plan_keeps_it(texts: tuple[str, str]) -> None:
    made = planned(*texts)
    assert made.schedule is not None
    if made.schedule.hindrance is None:
        told_alike(made)
        ticked_in_time(made)


def test_before_the_days_are_planned_no_wait_is_told() -> None:
    made = replace(
        planned(text_of(["capped"], "", 1, 0, 8), SHOP.format(day=20, night=12)), schedule=None
    )
    for stage, page in zip(
        made.plan.stages, screens(page_context(made, "metric", coarse=True)), strict=True
    ):
        if stage.kind is StageKind.CURE:
            assert page.timers == ()
            assert not minutes_in(" ".join(page.details)), page.details


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(1, "1 min"), (59.2, "60 min"), (90, "1 h 30 min"), (2943, "49 h 3 min"),
     (72 * 60, "3 days"), (73 * 60 + 25, "3 days 1 h 25 min"), (4319.5, "3 days")],
)  # fmt: skip
def test_a_wait_is_told_to_the_minute_and_never_less_than_it_is(minutes: float, words: str) -> None:
    assert wait_text(minutes) == words
    assert max(minutes_in(words)) >= minutes
