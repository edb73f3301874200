"""The calendar file: read back by a public library, its lines held to RFC 5545."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest

from flushwork.process.stages import StageKind
from flushwork.schedule.schedule import Piece, Reached, Schedule, Step, Wait
from flushwork.schedule.shop_days import ShopDays
from flushwork.views.calendar_text import WARNING_MIN, calendar_bytes

STAMP = dt.datetime(2027, 3, 1, tzinfo=dt.UTC)
PIECE = Piece(1, test=False)
DAY, HOUR = 24 * 60, 60
BERLIN = ZoneInfo("Europe/Berlin")


def plan(first: dt.date, *, dated: bool = True) -> Schedule:
    """Return a fill on the first day at 16:00 and its flush milling on the third at 8:00.

    The resin is ready 30 h after the fill ends at 16:20, and can be poured on for 16 h.
    """
    fill = Step(
        "1", 6, StageKind.FILL, "Fill rose, wing; \u00e4", (PIECE,), 16 * HOUR, 16 * HOUR + 20
    )
    level = Step(
        "2", 9, StageKind.MILL_FLUSH, "Level", (PIECE,), 2 * DAY + 8 * HOUR, 2 * DAY + 9 * HOUR
    )
    since = fill.end_min
    wait = Wait(
        piece=PIECE,
        of="night",
        reaches=Reached.HARD,
        resin="epoxy",
        since_min=since,
        ready_min=since + 30 * HOUR,
        closes_min=since + 16 * HOUR,
        task="1",
        until="2",
        mix="night",
    )
    days = ShopDays(first, dated, 8 * HOUR, 18 * HOUR, (0, 1, 2, 3, 4, 5, 6))
    return Schedule(days, (PIECE,), (fill, level), (wait,), (), ())


def events(data: bytes) -> list[Any]:
    calendar: Any = icalendar.Calendar.from_ical(data)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    return list(calendar.walk("VEVENT"))


def alarmed(data: bytes) -> dict[str, dt.datetime]:
    """Return the true moment of each alarm, in UTC, by what its event says."""
    found: dict[str, dt.datetime] = {}
    for event in events(data):
        for alarm in event.walk("VALARM"):
            assert alarm["action"] == "DISPLAY"
            begin = event["dtstart"].dt
            found[str(event["summary"])] = begin.astimezone(dt.UTC) + alarm["trigger"].dt
    return found


def test_every_event_has_what_the_standard_asks_for() -> None:
    data = calendar_bytes(plan(dt.date(2027, 3, 1)), "Kingfisher", STAMP, "Europe/Berlin")
    read = events(data)
    assert len(read) == 4
    assert len({str(event["uid"]) for event in read}) == 4
    for event in read:
        assert event["dtstamp"].dt == STAMP
    text = data.decode()
    assert "BEGIN:VTIMEZONE" in text
    assert "Fill rose\\, wing\\; \u00e4" in text.replace("\r\n ", "")
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        assert b"\n" not in line


def test_work_stands_at_the_hours_of_the_shop() -> None:
    data = calendar_bytes(plan(dt.date(2027, 3, 27)), "Kingfisher", STAMP, "Europe/Berlin")
    work = [event for event in events(data) if "dtend" in event]
    assert [event["dtstart"].dt for event in work] == [
        dt.datetime(2027, 3, 27, 16, tzinfo=BERLIN),
        dt.datetime(2027, 3, 29, 8, tzinfo=BERLIN),
    ]
    assert work[1]["dtend"].dt == dt.datetime(2027, 3, 29, 9, tzinfo=BERLIN)


@pytest.mark.parametrize(
    ("first", "ready", "closes"),
    [
        # no change of the clock: 30 h after 16:20 is 22:20
        (dt.date(2027, 3, 1), (3, 2, 22, 20), (3, 2, 8, 20)),
        # summer time begins on 28 March at 2:00: the clock then shows an hour more
        (dt.date(2027, 3, 27), (3, 28, 23, 20), (3, 28, 9, 20)),
        # it ends on 31 October at 3:00: the clock then shows an hour less
        (dt.date(2027, 10, 30), (10, 31, 21, 20), (10, 31, 7, 20)),
    ],
)
def test_alarms_sound_at_the_true_moment_over_a_change_of_the_clock(
    first: dt.date, ready: tuple[int, int, int, int], closes: tuple[int, int, int, int]
) -> None:
    data = calendar_bytes(plan(first), "Kingfisher", STAMP, "Europe/Berlin")
    found = alarmed(data)
    hard = next(at for text, at in found.items() if "can be cut" in text)
    last = next(at for text, at in found.items() if "last moment" in text)
    assert hard.astimezone(BERLIN) == dt.datetime(2027, *ready, tzinfo=BERLIN)
    assert last.astimezone(BERLIN) == dt.datetime(2027, *closes, tzinfo=BERLIN) - dt.timedelta(
        minutes=WARNING_MIN
    )
    poured = dt.datetime.combine(first, dt.time(16, 20), BERLIN)
    assert hard - poured.astimezone(dt.UTC) == dt.timedelta(hours=30)


def test_without_a_zone_the_times_float() -> None:
    data = calendar_bytes(plan(dt.date(2027, 3, 27)), "Kingfisher", STAMP)
    begin = events(data)[0]["dtstart"].dt
    assert begin == dt.datetime(2027, 3, 27, 16)
    assert begin.tzinfo is None
    assert b"VTIMEZONE" not in data


def test_the_same_plan_gives_the_same_bytes() -> None:
    schedule = plan(dt.date(2027, 3, 27))
    first = calendar_bytes(schedule, "Kingfisher", STAMP, "Europe/Berlin")
    assert first == calendar_bytes(schedule, "Kingfisher", STAMP, "Europe/Berlin")


def test_done_work_needs_no_alarm() -> None:
    schedule = plan(dt.date(2027, 3, 1))
    done = replace(schedule, steps=tuple(replace(step, done=True) for step in schedule.steps))
    assert alarmed(calendar_bytes(done, "Kingfisher", STAMP, "Europe/Berlin")) == {}


@pytest.mark.parametrize(("zone", "dated"), [("Europe/Atlantis", True), ("", False)])
def test_what_cannot_be_dated_is_said(zone: str, dated: bool) -> None:
    with pytest.raises(ValueError, match=r"time zone|day the work begins"):
        calendar_bytes(plan(dt.date(2027, 3, 1), dated=dated), "Kingfisher", STAMP, zone)
