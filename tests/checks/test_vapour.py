"""While vapour that burns is about, the days begin no machine, flame or heat; cards tell it."""

from __future__ import annotations

import math
from typing import Final

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.whole_page import page_context
from flushwork.built import Build
from flushwork.checks.rules.work.hazard_rules import vapour_awaited
from flushwork.process.exposure import ON_MACHINE
from flushwork.process.stages import StageKind
from flushwork.schedule.schedule import Reached, Step
from flushwork.views.day_sheets import day_sheet_text
from flushwork.views.figures import Lengths
from flushwork.views.stage_views import stage_views
from tests.many import examples
from tests.views.test_waits_alike import SHOP, planned, text_of

DRY_MIN: Final = {"shellac": 60, "sanding sealer": 120}
"""Sealers of the packaged shelf whose vapour burns, and how long they dry."""
SEALERS: Final = ("none", "seal coat", *DRY_MIN)
BREAKS: Final = (StageKind.SAND, *ON_MACHINE)


def shop_text(sealer: str, air_min: int | None, more: str = "") -> str:
    own = "" if air_min is None else f", air for: {air_min} min"
    listed = f"sealers: [{{name: {sealer}{own}}}]\n" if sealer in DRY_MIN else ""
    return SHOP.format(day=21, night=18) + listed + more


def job_text(sort: str, sealer: str, pieces: int, bubbles: str = "pick") -> str:
    said = text_of([sort], sealer, pieces, 0, 8)
    return said.replace("  dark: {", f"  dark: {{bubbles: {bubbles}, ") + (
        "finish: {name: wiping varnish, coats: 2}\n"
    )


def airing_min(made: Build, step: Step, air_min: int | None) -> int:
    """Return what is asked for a step by its kind and the shop's text alone."""
    if step.kind is StageKind.SEAL:
        name = made.job.sealer.name if made.job.sealer is not None else ""
        return 0 if name not in DRY_MIN else air_min if air_min is not None else DRY_MIN[name]
    if step.kind is StageKind.FINISH or step.mix == "bright":
        return 30
    return 0


def hot(made: Build, step: Step) -> bool:
    flame = step.kind is StageKind.FILL and step.mix == "dark"
    return step.kind in BREAKS or (flame and made.job.mixes[0].bubbles == "flame")


@settings(max_examples=examples(8), deadline=None)
@given(
    st.sampled_from(["overfilled", "scraped", "thinned", "capped"]),
    st.sampled_from(SEALERS),
    st.integers(1, 5),
    st.sampled_from([None, 0, 15, 45, 200]),
    st.sampled_from(["pick", "flame"]),
    st.sampled_from(["", "hours: {opens: 8:00, closes: 12:00}\n", "time zone: Europe/Berlin\n"]),
)
@example("overfilled", "shellac", 3, None, "pick", "")
@example("capped", "sanding sealer", 4, 200, "pick", "hours: {opens: 8:00, closes: 12:00}\n")
def test_nothing_hot_begins_while_vapour_is_about(
    sort: str, sealer: str, pieces: int, air_min: int | None, bubbles: str, more: str
) -> None:
    made = planned(job_text(sort, sealer, pieces, bubbles), shop_text(sealer, air_min, more))
    schedule = made.schedule
    assert schedule is not None
    assert schedule.hindrance is None, schedule.hindrance
    near = []
    for coat in schedule.steps:
        minutes = airing_min(made, coat, air_min)
        assert coat.airing_min == minutes, coat
        for step in schedule.steps:
            if step is not coat and hot(made, step):
                assert not coat.begin_min <= step.begin_min < coat.end_min + minutes, (coat, step)
                same_day = step.begin_min // 1440 == (coat.end_min + minutes) // 1440
                if minutes and step.begin_min >= coat.end_min and same_day:
                    near += [coat] if step.pieces != coat.pieces else []
    waits = [wait for wait in schedule.waits if wait.reaches is Reached.AIRED]
    assert {wait.task for wait in waits} == {coat.task for coat in near}
    assert bool(list(vapour_awaited(made))) == bool(near)
    for item in vapour_awaited(made):
        assert item.code == "vapour-awaited"
        assert "gives off vapour that burns" in item.message
    sheet = day_sheet_text(schedule)
    for minutes in {step.airing_min for step in schedule.steps} - {0}:
        assert f"air {minutes} min: no machine, flame or heat" in sheet


@settings(max_examples=examples(2), deadline=None)
@given(st.sampled_from(sorted(DRY_MIN)), st.integers(2, 4))
def test_coats_in_a_room_apart_hold_nothing_up(sealer: str, pieces: int) -> None:
    text = job_text("overfilled", sealer, pieces)
    here = planned(text, shop_text(sealer, None))
    apart = planned(text, shop_text(sealer, None, "coats apart: yes\n"))
    assert here.schedule is not None
    assert apart.schedule is not None
    assert not list(vapour_awaited(apart))
    assert not any(step.airing_min for step in apart.schedule.steps)
    if apart.schedule.proven:
        assert apart.schedule.finish_min <= here.schedule.finish_min


@settings(max_examples=examples(2), deadline=None)
@given(st.sampled_from(SEALERS), st.sampled_from([None, 45]))
def test_a_card_airs_the_room_as_long_as_the_days_do(sealer: str, air_min: int | None) -> None:
    made = planned(job_text("overfilled", sealer, 2), shop_text(sealer, air_min))
    assert made.schedule is not None
    kept = {step.stage: step.airing_min for step in made.schedule.steps}
    views = stage_views(page_context(made, "metric", coarse=False), {}, Lengths("metric"))
    for stage, view in zip(made.plan.stages, views, strict=True):
        told = [line for line in view.details if "before a machine runs" in line]
        assert bool(told) == bool(kept.get(stage.number))
        assert math.ceil(stage.airing_s / 60.0) == kept.get(stage.number, 0)
        coats = stage.kind in (StageKind.SEAL, StageKind.FINISH)
        assert all(("outdoors or in another aired room" in line) == coats for line in told)
