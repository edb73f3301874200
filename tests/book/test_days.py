"""The days of the book: chart, sheets, and that they are told only where there are any."""

from __future__ import annotations

import datetime as dt
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.book.compose import view_of
from flushwork.book.day_strip import bars_of, columns_of, day_strip, days_view, hours
from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.core.units.kinds import DAY_MIN
from flushwork.process.stages import Plan, Stage, StageKind
from flushwork.schedule.schedule import Milestones, Piece, Reached, Schedule, Step, Wait
from flushwork.schedule.shop_days import MONDAY, ShopDays
from flushwork.schedule.solve.tasks import Goal
from flushwork.views.context import ViewContext
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.figures import numbers_text

DAYS = ShopDays(dt.date(2027, 3, 15), True, 480, 1080, (0, 1, 2, 3, 4))
PAGE = Space(170.0, 257.0)
ONE, TWO, TEST = Piece(1, False), Piece(2, False), Piece(1, True)
HOSTILE = '<b>"teal" & co</b>'


def step(stage: int, begin: int, minutes: int, *pieces: Piece, machine: bool = False,
         pour: int = 0) -> Step:  # fmt: skip
    kind = StageKind.CUT if machine else StageKind.FILL if pour else StageKind.SAND
    name = "pour" if pour else str(pieces[0].name)
    return Step(
        f"{stage}:{name}", stage, kind, f"stage {stage}", pieces, begin, begin + minutes,
        pour=pour, machine=machine, setup=int(machine), mounts=machine,
    )  # fmt: skip


def make_schedule(mix: str = "teal", days: ShopDays = DAYS) -> Schedule:
    """Three pieces cut on a Monday, poured, milled flush on Wednesday, finished a week later."""
    pieces = (TEST, ONE, TWO)
    steps: list[Step] = []
    waits: list[Wait] = []
    for turn, piece in enumerate(pieces):
        steps.append(step(3, 480 + 65 * turn, 65, piece, machine=True))
        steps.append(step(8, 2 * DAY_MIN + 480 + 30 * turn, 30, piece, machine=True))
        steps.append(step(15, 9 * DAY_MIN + 480 + 10 * turn, 10, piece))
        since, hard, cured = 720, 2 * DAY_MIN + 300, 8 * DAY_MIN + 120
        waits += [
            Wait(piece, mix, Reached.POURABLE, "epoxy", since, 1020, 1400, "5:pour",
                 "6:pour", mix=mix),
            Wait(piece, mix, Reached.HARD, "epoxy", since, hard, None, "5:pour",
                 f"8:{piece.name}", mix=mix),
            Wait(piece, mix, Reached.CURED, "epoxy", since, cured, None, "5:pour",
                 f"15:{piece.name}", mix=mix),
        ]  # fmt: skip
    steps.append(step(5, 700, 20, *pieces, pour=1))
    dates = tuple(
        Milestones(piece, 480, 3360, None, 9 * DAY_MIN + 510, 12 * DAY_MIN) for piece in pieces
    )
    goal = Goal("finish", 9 * DAY_MIN + 510, 9 * DAY_MIN + 420)
    ordered = tuple(sorted(steps, key=lambda each: each.begin_min))
    return Schedule(days, pieces, ordered, tuple(waits), dates, (goal,))


@pytest.fixture(scope="module")
def schedule() -> Schedule:
    return make_schedule()


def plan_of(count: int, *cures: int) -> Plan:
    """Return a plan of so many stages, cures among them."""
    return Plan(
        tuple(
            Stage(
                number, StageKind.CURE if number in cures else StageKind.SAND, "front", 1, "x", ""
            )
            for number in range(1, count + 1)
        ),
        (),
    )


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 20_000), st.integers(1, 900)), min_size=1, max_size=30),
    st.integers(1, 40),
)
def test_every_stage_of_any_run_stands_in_a_bar_of_its_day(
    spans: list[tuple[int, int]], count: int
) -> None:
    pieces = tuple(Piece(number + 1, False) for number in range(count))
    steps, free = [], 0
    for number, (pause, minutes) in enumerate(spans):
        steps.append(step(number + 1, free + pause % 700, minutes, pieces[number % count],
                          machine=number % 2 == 0))  # fmt: skip
        free = steps[-1].end_min
    made = Schedule(DAYS, pieces, tuple(steps), (), (), ())
    plan = plan_of(len(spans))
    chart = day_strip(made, plan, PAGE)
    assert chart.height_mm <= PAGE.height_mm
    for x, y, width, height in boxes(chart.svg):
        assert -1e-6 <= x <= x + width <= PAGE.width_mm + 0.02
        assert -1e-6 <= y <= y + height <= chart.height_mm + 0.02
    bars = bars_of(made, plan)
    for lane in ("machine", "by hand"):
        mine = sorted((bar for bar in bars if bar.lane == lane), key=lambda bar: bar.begin)
        assert all(one.end <= two.begin for one, two in pairwise(mine))
    columns = columns_of(made)
    for at, day in enumerate(columns):
        here = [bar for bar in bars if at < bar.begin < at + 1]
        told = sorted(number for bar in here for label in bar.label for number in spelt(label))
        assert told == sorted({each.stage for each in steps if each.begin_min // DAY_MIN == day})


def spelt(label: str) -> list[int]:
    first, _, last = label.partition("\N{EN DASH}")
    return list(range(int(first), int(last or first) + 1))


@given(st.sets(st.integers(1, 60), min_size=1))
def test_numbers_come_back_out_of_their_runs(numbers: set[int]) -> None:
    assert [each for label in numbers_text(numbers) for each in spelt(label)] == sorted(numbers)


def boxes(svg: str) -> list[tuple[float, float, float, float]]:
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing
    return [
        (
            float(each.get("x", "0")),
            float(each.get("y", "0")),
            float(each.get("width", "0")),
            float(each.get("height", "0")),
        )
        for each in root.iter()
        if each.tag.endswith("}rect")
    ]


def test_a_cure_reaches_from_its_pour_to_the_next_step(schedule: Schedule) -> None:
    (cure,) = [bar for bar in bars_of(schedule, plan_of(15, 7)) if bar.lane == "hardens"]
    assert cure.label == ("7",)
    assert 0 < cure.begin < 1 < cure.end < 2


def test_all_letters_of_the_strip_are_eight_points_at_least(schedule: Schedule) -> None:
    svg = day_strip(schedule, plan_of(15, 7), PAGE).svg
    sizes = [float(each) for each in re.findall(r'font-size="([0-9.]+)"', svg)]
    assert sizes
    assert min(sizes) * 72.0 / 25.4 >= 8.0


def test_the_figures_of_the_plan_stand_above(schedule: Schedule) -> None:
    view = days_view(schedule, plan_of(15, 7), PAGE)
    facts = {fact.label: fact.value.replace("\N{NO-BREAK SPACE}", " ") for fact in view.facts}
    assert facts["Days"] == "10, work on 3 of them"
    assert facts["Hands-on"] == "5 h 35 min"
    assert facts["Setups"] == "6"
    assert view.status.endswith("at most 1 h 30 min sooner.")
    proven = replace(schedule, goals=(Goal("finish", 9, 9),))
    assert days_view(proven, plan_of(15, 7), PAGE).status == "No plan can finish sooner."
    assert view.dates.rows[0][4] == "Wed 24 Mar, 08:30"


def test_without_a_date_days_are_counted() -> None:
    made = make_schedule(days=replace(DAYS, first=MONDAY, dated=False))
    assert ">day 1<" in days_view(made, plan_of(15, 7), PAGE).chart.svg


def test_the_book_has_days_only_where_there_is_a_plan(
    make_context: Callable[..., ViewContext], schedule: Schedule
) -> None:
    bare = make_context()
    assert view_of(bare).days is None
    assert 'id="days"' not in html_text(view_of(bare))
    view = view_of(replace(bare, schedule=make_schedule(HOSTILE)))
    text = html_text(view)
    assert 'id="days"' in text
    assert HOSTILE not in text
    stages = {int(found) for found in re.findall(r'id="stage-(\d+)"', text)}
    assert stages == {stage.number for stage in bare.build.plan.stages}
    assert {int(found) for found in re.findall(r'href="#stage-(\d+)"', text)} <= stages
    assert pdf_bytes(view).startswith(b"%PDF")


def test_hours_are_said_plainly() -> None:
    assert [hours(each).replace("\N{NO-BREAK SPACE}", " ") for each in (40, 60, 125)] == [
        "40 min", "1 h", "2 h 05 min",
    ]  # fmt: skip
