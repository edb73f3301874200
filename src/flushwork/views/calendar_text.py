"""The days as a calendar file, with alarms for cures and closing windows (RFC 5545)."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from flushwork.core.units.shown import METRIC, Units, shown
from flushwork.schedule.schedule import Schedule
from flushwork.views.day_sheets import Entry, Moment, entries_of, moments_of, shorten

if TYPE_CHECKING:
    from icalendar import Event

PRODUCT = "-//Flushwork//Plan of days//EN"
WARNING_MIN = 120
"""How long before a window closes its alarm sounds (assumed, 30 to 240 min; your way to the shop
replaces it)."""
LONGEST = 120
MINUTE = dt.timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class _Clock:
    """Turns minutes of the plan into moments of a calendar, words into the units of the shop."""

    schedule: Schedule
    zone: ZoneInfo | None
    units: Units = METRIC

    @property
    def planned(self) -> bool:
        """Whether the plan itself knows of changes of the clock, so that its minutes are shown."""
        return bool(self.schedule.days.zone)

    def local(self, minute: int) -> dt.datetime:
        """Return what the clock on the wall shows; an hour the clock leaves out moves on."""
        midnight = dt.datetime.combine(self.schedule.days.first, dt.time())
        shown = midnight + minute * MINUTE
        if self.zone is None:
            return shown
        passed = shown.replace(tzinfo=self.zone).astimezone(dt.UTC)
        return passed.astimezone(self.zone)

    def after(self, since_min: int, until_min: int) -> dt.datetime:
        """Return the moment so many minutes after another, whatever the clock does between."""
        if self.zone is None or self.planned:
            return self.local(until_min)
        since = self.local(since_min).astimezone(dt.UTC)
        return (since + (until_min - since_min) * MINUTE).astimezone(self.zone)


def calendar_bytes(
    schedule: Schedule,
    title: str,
    stamp: dt.datetime,
    zone: str = "",
    units: Units = METRIC,
) -> bytes:
    """Return the plan as a calendar file.

    ``stamp`` (in UTC) is when the file is made, ``zone`` the name of the shop's time zone, that of
    the plan where empty; without one the times float, and every calendar shows them as its own.
    What hardens takes its time whatever the clock does: over a change of the clock its alarm stays
    at the true moment.  Raises ValueError where the plan has no date or the zone is not known.
    """
    from icalendar import Calendar  # noqa: PLC0415  (only where a calendar is wanted)

    if not schedule.days.dated:
        message = "a calendar needs the day the work begins"
        raise ValueError(message)
    zone = zone or schedule.days.zone
    clock = _Clock(schedule, _zone(zone), units)
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", title)
    for event in _events(schedule, clock, title, stamp):
        calendar.add_component(event)
    if zone:
        calendar.add_missing_timezones()
    return bytes(calendar.to_ical())


def _zone(name: str) -> ZoneInfo | None:
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        message = f"there is no time zone called {name}"
        raise ValueError(message) from error


def _events(schedule: Schedule, clock: _Clock, title: str, stamp: dt.datetime) -> Iterator[Event]:
    for number, entry in enumerate(entries_of(schedule)):
        yield _work(entry, number, clock, title, stamp)
    for number, moment in enumerate(moments_of(schedule)):
        yield _moment(moment, number, clock, title, stamp)


def _work(entry: Entry, number: int, clock: _Clock, title: str, stamp: dt.datetime) -> Event:
    names = ", ".join(piece.name for piece in entry.pieces)
    return _event(
        uid=_uid(title, "work", str(number), entry.steps[0].task),
        stamp=stamp,
        begin=clock.local(entry.begin_min),
        end=clock.local(entry.end_min),
        summary=shorten(
            f"{title}: {shown('; '.join(doing.title for doing in entry.doings), clock.units)}",
            LONGEST,
        ),
        description="\n".join(
            [
                shown(f"{doing.stage}. {doing.title} {doing.note}".strip(), clock.units)
                for doing in entry.doings
            ]
            + [f"On: {names}"]
        ),
        busy=True,
    )


def _moment(moment: Moment, number: int, clock: _Clock, title: str, stamp: dt.datetime) -> Event:
    """Return an event of no length with an alarm: at once, or some time before a window closes."""
    from icalendar import Alarm  # noqa: PLC0415

    since_min = max(wait.since_min for wait in moment.waits)
    at = clock.after(since_min, moment.at_min)
    names = ", ".join(dict.fromkeys(wait.piece.name for wait in moment.waits))
    event = _event(
        uid=_uid(title, "moment", str(number), moment.text),
        stamp=stamp,
        begin=at,
        end=at,
        summary=f"{title}: {shown(moment.text, clock.units)}",
        description=f"{names}. Before you cut or sand, try a thumbnail on the leftover in the cup.",
        busy=False,
    )
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", shown(moment.text, clock.units))
    alarm.add("trigger", dt.timedelta(minutes=-WARNING_MIN if moment.closes else 0))
    event.add_component(alarm)
    return event


def _event(
    *,
    uid: str,
    stamp: dt.datetime,
    begin: dt.datetime,
    end: dt.datetime,
    summary: str,
    description: str,
    busy: bool,
) -> Event:
    from icalendar import Event  # noqa: PLC0415

    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("dtstart", begin)
    if end > begin:
        event.add("dtend", end)
    event.add("summary", summary)
    event.add("description", description)
    event.add("transp", "OPAQUE" if busy else "TRANSPARENT")
    return event


def _uid(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32] + "@flushwork.invalid"
