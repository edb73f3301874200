"""Colder air never ends anything sooner, and one cure has one length wherever it is told."""

from __future__ import annotations

import functools
import re
import tempfile
from pathlib import Path

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.no_return_points import PointOfNoReturn, risk_of
from flushwork.checks.rules.work.schedule_rules import no_days
from flushwork.process.stages import StageKind
from flushwork.resin.cure import cure_ends, wait_until_recoat_s, wait_until_sandable_s
from flushwork.schedule.schedule import Obstacle, Reached, Schedule
from flushwork.schedule.shop_days import ready_minute, resin_clocks
from flushwork.schedule.waits import wait_text
from flushwork.shelf.items import Air, Resin
from flushwork.shelf.tables import starter_shop
from tests.many import examples
from tests.schedule.replanned import replanned
from tests.small_jobs import changed, made

CAPPED = (
    changed(
        "depth: 2 mm, fill: dark}",
        "depth: 2 mm, fill: dark,\n       how: scraped flush and capped, cap: clear}",
    )
    + "pieces: 2\nfinish: {name: wiping varnish, coats: 1}\n"
)
RESINS = starter_shop().resins
TENTHS = st.integers(-50, 350).map(lambda tenths: tenths / 10.0)
LESS = st.integers(0, 120).map(lambda tenths: tenths / 10.0)


@functools.cache
def board() -> Build:
    return made(folder(), CAPPED)


@functools.cache
def folder() -> Path:
    return Path(tempfile.mkdtemp())


def air(day_c: float, night_c: float, begins: int, ends: int) -> Air:
    return Air(day_c, night_c, float(begins), float(ends), 0.45)


@settings(max_examples=examples(200), deadline=None)
@given(
    st.sampled_from(RESINS), TENTHS, TENTHS, LESS, LESS, st.integers(0, 12), st.integers(13, 24),
    st.integers(0, 3000), st.floats(0.1, 400.0),
)  # fmt: skip
@example(RESINS[0], 15.0, 10.0, 0.1, 0.0, 8, 18, 1080, 24.0)
def test_no_clock_of_any_resin_runs_out_sooner_in_colder_air(
    resin: Resin, day_c: float, night_c: float, less_day: float, less_night: float,
    begins: int, ends: int, since: int, hours: float,
) -> None:  # fmt: skip
    warm = air(day_c, night_c, begins, ends)
    cold = air(day_c - less_day, night_c - less_night, begins, ends)
    one = cure_ends(3600.0 * hours, resin, warm, since / 60.0)
    two = cure_ends(3600.0 * hours, resin, cold, since / 60.0)
    assert two.earlier_s >= one.earlier_s - 1e-6
    assert two.later_s >= one.later_s - 1e-6
    assert wait_until_sandable_s(resin, cold) >= wait_until_sandable_s(resin, warm) - 1e-6
    assert wait_until_recoat_s(resin, cold) >= wait_until_recoat_s(resin, warm) - 1e-6
    for runs, slower in zip(resin_clocks(resin, warm), resin_clocks(resin, cold), strict=True):
        if slower.daily > 0.0:
            ready = ready_minute(slower, since, 60.0 * hours)
            assert ready >= ready_minute(runs, since, 60.0 * hours)


def shop_text(air: Air, opens: int, closes: int, resin: str) -> str:
    return (
        f"air: {{day temperature: {air.day_c:.1f} degC, "
        f"night temperature: {air.night_c:.1f} degC,\n"
        f"  day from: {air.day_from_h:.0f}:00, day until: {air.day_until_h:.0f}:00}}\n"
        f"hours: {{opens: {opens}:00, closes: {closes}:00}}\nresins: [{resin}]\n"
    )


def days(made: Build) -> Schedule:
    assert made.schedule is not None
    return made.schedule


@settings(max_examples=examples(12), deadline=None)
@given(
    st.sampled_from([resin.name for resin in RESINS]), TENTHS, TENTHS, LESS, LESS,
    st.integers(6, 10), st.integers(15, 20),
)  # fmt: skip
@example("coating epoxy", 15.0, 10.0, 0.1, 0.0, 8, 18)
def test_no_run_ends_sooner_in_colder_air(
    resin: str, day_c: float, night_c: float,
    less_day: float, less_night: float, opens: int, closes: int,
) -> None:  # fmt: skip
    job = CAPPED.replace("coating epoxy", resin)
    warm_air, cold_air = (
        air(day_c, night_c, 8, 18),
        air(day_c - less_day, night_c - less_night, 8, 18),
    )
    warm, cold = (
        days(replanned(board(), folder(), job, shop_text(each, opens, closes, resin)))
        for each in (warm_air, cold_air)
    )
    if warm.hindrance is not None:
        assert cold.hindrance is not None
        return
    if cold.hindrance is not None:
        return
    # a cup lives shorter and a window closes sooner where it is warm: both may cost the warm run
    assume(warm.batches == cold.batches and len(warm.missed) <= len(cold.missed))
    soonest = next(goal.bound for goal in warm.goals if goal.name == "finish")
    assert cold.finish_min >= soonest


def test_where_no_hour_reaches_the_floor_no_day_is_told() -> None:
    cold = replanned(
        board(), folder(), CAPPED, shop_text(air(14.9, 10.0, 8, 18), 8, 18, "coating epoxy")
    )
    hindrance = days(cold).hindrance
    assert hindrance is not None
    assert hindrance.kind is Obstacle.TOO_COLD
    (finding,) = no_days(cold)
    assert finding.code == "cure-never"
    assert "coating epoxy" in finding.message
    assert "15 degrees" in finding.message


def no_returns(made: Build) -> tuple[PointOfNoReturn, ...]:
    return risk_of(made).points


@settings(max_examples=examples(6), deadline=None)
@given(st.integers(150, 300), st.integers(80, 300), st.integers(14, 20))
@example(200, 100, 18)
def test_a_no_return_asks_for_the_wait_that_is_planned(day: int, night: int, closes: int) -> None:
    shop = shop_text(air(day / 10.0, night / 10.0, 8, 18), 8, closes, "coating epoxy")
    made = replanned(board(), folder(), CAPPED, shop)
    waits = days(made).waits
    assume(waits)
    for no_return in no_returns(made):
        for line in no_return.conditions:
            told = re.findall(r"(?:\d+ (?:days?|h|min) )+(?=ago)", line)
            what = Reached.CURED if no_return.kind is StageKind.FINISH else Reached.HARD
            planned = {
                wait_text(wait.ready_min - wait.since_min) for wait in waits if wait.reaches is what
            }
            assert {each.strip() for each in told} <= planned, line
    finish = next(no_return for no_return in no_returns(made) if no_return.kind is StageKind.FINISH)
    assert any(re.search(r"\d days .*ago", line) for line in finish.conditions)
