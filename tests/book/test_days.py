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
from flushwork.book.day_views import days_view, hours
from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.core.units.factors import DAY_MIN
from flushwork.process.stages import StageKind
from flushwork.schedule.plan import Milestones, Piece, Reached, Schedule, Step, Wait
from flushwork.schedule.shop_days import MONDAY, ShopDays
from flushwork.schedule.solve.tasks import Goal
from flushwork.views.drawing.days_chart import (
    Axis,
    BarKind,
    PlacedBar,
    bars_of,
    day_charts,
    merged,
    placed,
    strips,
    without,
)
from flushwork.views.drawing.drawings import Space
from flushwork.views.pieces import Pieces

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
        pour=pour, machine=machine, mounting=int(machine), mounts=machine,
    )  # fmt: skip


def make_schedule(mix: str = "teal", days: ShopDays = DAYS) -> Schedule:
    """Three pieces cut on a Monday, poured, levelled on Wednesday, finished a week later."""
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


def rows_of(bars: tuple[PlacedBar, ...]) -> dict[tuple[int, bool], list[PlacedBar]]:
    found: dict[tuple[int, bool], list[PlacedBar]] = {}
    for bar in bars:
        work = bar.bar.kind in (BarKind.MACHINE, BarKind.HANDS)
        found.setdefault((bar.bar.lane, work), []).append(bar)
    return found


def test_bars_of_one_row_never_overlap_and_stay_inside(schedule: Schedule) -> None:
    busy = {each.begin_min // DAY_MIN for each in schedule.steps}
    bars = bars_of(schedule)
    assert {bar.kind for bar in bars} == set(BarKind)
    for strip in strips(Axis(DAYS, busy), 0, 9, 19.0, 150.0):
        shown = placed(bars, strip, 12.0, 9.0)
        for row in rows_of(shown).values():
            for one, two in pairwise(row):
                assert one.x_mm + one.width_mm <= two.x_mm + 1e-9
        for bar in shown:
            assert bar.x_mm >= 19.0
            assert bar.x_mm + bar.width_mm <= strip.right_mm + 1e-9
            assert bar.y_mm >= 12.0
            assert bar.y_mm + bar.height_mm <= 12.0 + 3 * 9.0


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 20_000), st.integers(1, 900)), min_size=1, max_size=12),
    st.integers(1, 40),
)
def test_any_run_of_steps_stays_apart_on_paper(spans: list[tuple[int, int]], count: int) -> None:
    pieces = tuple(Piece(number + 1, False) for number in range(count))
    steps, free = [], 0
    for number, (pause, minutes) in enumerate(spans):
        steps.append(step(number + 1, free + pause % 700, minutes, pieces[number % count],
                          machine=number % 2 == 0))  # fmt: skip
        free = steps[-1].end_min
    made = Schedule(DAYS, pieces, tuple(steps), (), (), ())
    for chart in day_charts(made, PAGE):
        assert chart.height_mm <= PAGE.height_mm - 40.0
        for x, y, width, height in boxes(chart.svg):
            assert -1e-6 <= x <= x + width <= PAGE.width_mm + 0.02
            assert -1e-6 <= y <= y + height <= chart.height_mm + 0.02
    last = max(each.end_min for each in steps) // DAY_MIN
    for strip in strips(Axis(DAYS, {0}), 0, last, 19.0, 150.0):
        for row in rows_of(placed(bars_of(made), strip, 0.0, 9.0)).values():
            assert all(one.x_mm + one.width_mm <= two.x_mm + 1e-9 for one, two in pairwise(row))


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


def test_hours_of_the_shop_are_wider_than_nights_and_idle_days() -> None:
    axis = Axis(DAYS, {0, 2})
    strip = strips(axis, 0, 6, 0.0, 150.0)[0]
    opened = strip.place(1080) - strip.place(1020)
    shut = strip.place(1140) - strip.place(1080)
    idle = strip.place(DAY_MIN + 660) - strip.place(DAY_MIN + 600)
    assert opened > shut > idle > 0.0
    assert strip.right_mm == pytest.approx(150.0)


def test_idle_weeks_share_a_row() -> None:
    rows = strips(Axis(DAYS, {0, 1}), 0, 27, 0.0, 150.0)
    assert [(row.first, row.count) for row in rows] == [(0, 14), (14, 14)]


def test_spans_join_and_part() -> None:
    assert merged([(5, 9), (0, 3), (3, 4), (8, 12), (2, 2)]) == [(0, 4), (5, 12)]
    assert without((0, 10), [(2, 3), (8, 20)]) == [(0, 2), (3, 8)]
    assert without((0, 10), [(0, 10)]) == []


def test_cures_name_what_hardens_and_how_long(schedule: Schedule) -> None:
    cures = [bar for bar in bars_of(schedule) if bar.kind is BarKind.CURE]
    assert [(bar.lane, bar.begin_min, bar.end_min) for bar in cures] == [
        (lane, 720, 2 * DAY_MIN + 300) for lane in range(3)
    ]
    assert cures[0].labels[0] == "cure: teal"
    whole = next(bar for bar in bars_of(schedule) if bar.kind is BarKind.FULL)
    assert (whole.begin_min, whole.end_min) == (2 * DAY_MIN + 300, 8 * DAY_MIN + 120)


def test_words_in_the_chart_stay_words() -> None:
    made = make_schedule("<b>&")
    for chart in day_charts(made, PAGE):
        root = ET.fromstring(chart.svg)  # noqa: S314 - our own drawing
        assert not [each for each in root.iter() if each.tag.endswith("}b")]
    root = ET.fromstring(day_charts(made, PAGE)[0].svg)  # noqa: S314 - our own drawing
    said = "".join(root.itertext())
    assert "cure: <b>&" in said
    assert "at the machine" in said


def test_a_sheet_tells_time_what_which_piece_and_why_not_sooner(schedule: Schedule) -> None:
    view = days_view(schedule, PAGE)
    assert [sheet.heading for sheet in view.sheets][:2] == [
        "Monday 2027-03-15", "Wednesday 2027-03-17",
    ]  # fmt: skip
    cut, pour = (line for line in view.sheets[0].lines if line.ticks)
    assert (cut.time, cut.ticks) == ("08:00\N{EN DASH}11:15", ("T", "1", "2"))
    assert cut.who == "08:00 test piece 1, 09:05 piece 1, 10:10 piece 2"
    assert (pour.who, pour.stages[0].label) == ("all pieces", "5")
    level = next(line for line in view.sheets[1].lines if line.ticks)
    assert level.waited == "waited for: teal hard at 05:00"
    finish = next(line for line in view.sheets[-1].lines if line.ticks)
    assert finish.waited.replace("\N{NO-BREAK SPACE}", " ") == (
        "waited for: teal fully cured on Tue 23 Mar, 02:00"
    )


def test_the_figures_of_the_plan_stand_above(schedule: Schedule) -> None:
    view = days_view(schedule, PAGE)
    facts = {fact.label: fact.value.replace("\N{NO-BREAK SPACE}", " ") for fact in view.facts}
    assert facts["Days"] == "10, work on 3 of them"
    assert facts["Hands-on"] == "5 h 35 min"
    assert facts["Set-ups"] == "6"
    assert view.status.endswith("at most 1 h 30 min sooner.")
    proven = replace(schedule, goals=(Goal("finish", 9, 9),))
    assert days_view(proven, PAGE).status == "No plan finishes sooner: proven."
    assert view.dates.rows[0][4] == "Wed 24 Mar 08:30"


def test_without_a_date_days_are_counted() -> None:
    made = make_schedule(days=replace(DAYS, first=MONDAY, dated=False))
    view = days_view(made, PAGE)
    assert view.sheets[0].heading == "Day 1 (Monday)"
    assert "day 1, Mon" in view.charts[0].svg


def test_the_book_has_days_only_where_there_is_a_plan(
    make_pieces: Callable[..., Pieces], schedule: Schedule
) -> None:
    bare = make_pieces()
    assert view_of(bare).days is None
    assert 'id="days"' not in html_text(view_of(bare))
    view = view_of(replace(bare, schedule=make_schedule(HOSTILE)))
    text = html_text(view)
    assert 'id="days"' in text
    assert HOSTILE not in text
    stages = {int(found) for found in re.findall(r'id="stage-(\d+)"', text)}
    assert stages == {stage.number for stage in bare.plan.stages}
    assert {int(found) for found in re.findall(r'href="#stage-(\d+)"', text)} <= stages
    assert pdf_bytes(view).startswith(b"%PDF")


def test_hours_are_said_plainly() -> None:
    assert [hours(each).replace("\N{NO-BREAK SPACE}", " ") for each in (40, 60, 125)] == [
        "40 min", "1 h", "2 h 05 min",
    ]  # fmt: skip
