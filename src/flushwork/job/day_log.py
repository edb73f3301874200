"""The day log: what has been done and how warm it was, as lines the woodworker writes.

    2027-03-17 16:10  stage 6
    2027-03-18 09:55  stage 9  piece 2
    2027-03-18 03:00  9 degC
    2027-03-18 09:58  piece 3 spoiled
    2027-03-18 10:00  now

In a job of several parts each line of a stage or a piece begins with the part:
``part lid stage 6``.
A stage without a piece is done for all of them that have no line of their own.  A stage that is
done on a piece says that all before it are done on it too.  ``#`` begins a comment.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field

from flushwork.core.findings import Finding, JobRefusedError, Measure, Source
from flushwork.core.keys.days import FIRST_YEAR, LAST_YEAR
from flushwork.core.units import Quantity, UnitError, read_quantity
from flushwork.shelf.items import COLDEST_C, WARMEST_C

_LINE = re.compile(r"(\d{4}-\d{2}-\d{2})[ T]+(\d{1,2}:\d{2})\s+(\S.*)")
_PART = re.compile(r"part\s+(\S.*?)\s+((?:stage|piece|test\s+piece)\s.*)")
_STAGE = re.compile(r"stage\s+(\d{1,6})(?:\s+(test\s+)?piece\s+(\d{1,6}))?")
_SPOILED = re.compile(r"(test\s+)?piece\s+(\d{1,6})\s+spoil(?:ed|t)")


@dataclass(frozen=True, slots=True)
class LoggedStage:
    """A stage that was finished: for one piece (``number`` from 1 among its kind), or for all.

    ``line`` is where the log says so, ``part`` the part of the job as it names it.
    """

    at: dt.datetime
    stage: int
    test: bool = False
    number: int | None = None
    line: int = field(default=1, compare=False)
    part: str = ""


@dataclass(frozen=True, slots=True)
class LoggedSpoil:
    """A piece that was spoiled: it is worked no further.  ``line`` is where the log says so."""

    at: dt.datetime
    test: bool
    number: int
    line: int = field(default=1, compare=False)
    part: str = ""


@dataclass(frozen=True, slots=True)
class DayLog:
    """What a day log says; ``now`` is its ``now`` line, or its last moment."""

    now: dt.datetime
    stages: tuple[LoggedStage, ...]
    readings: tuple[tuple[dt.datetime, float], ...]
    spoiled: tuple[LoggedSpoil, ...] = ()


def read_day_log(text: str, file: str) -> DayLog:
    """Return what a day log says; raises JobRefusedError with a finding for every slip."""
    told = _Told()
    findings: list[Finding] = []
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.split("#", 1)[0].strip()
        if not line:
            continue
        source = Source(file, number, 1, "")
        try:
            if told.take(line, number):
                findings.append(twice(line, source))
        except _NoAirError as error:
            findings.append(_no_air(line, error.at_c, source))
        except (ValueError, UnitError):
            findings.append(refuse("day-log-unreadable", line, source))
    if findings:
        raise JobRefusedError(findings)
    if not told.moments:
        raise JobRefusedError([refuse("day-log-empty", "", Source(file, 1, 1, ""))])
    return DayLog(
        told.now or max(told.moments),
        tuple(told.stages),
        tuple(sorted(told.readings.items())),
        tuple(told.spoiled),
    )


class _NoAirError(Exception):
    """A temperature that no air of a shop has."""

    def __init__(self, at_c: float) -> None:
        super().__init__(at_c)
        self.at_c = at_c


@dataclass
class _Told:
    """What the lines read so far have told."""

    stages: list[LoggedStage] = field(default_factory=list)
    spoiled: list[LoggedSpoil] = field(default_factory=list)
    readings: dict[dt.datetime, float] = field(default_factory=dict)
    moments: list[dt.datetime] = field(default_factory=list)
    now: dt.datetime | None = None

    def take(self, line: str, number: int) -> bool:
        """Take a line in; whether it tells again of `now` or of the warmth at one time.

        Raises ValueError or UnitError where it cannot be read, _NoAirError where it tells of air
        too cold or too warm for any shop.
        """
        at, what = _moment(line)
        again = False
        of_part = _PART.fullmatch(what)
        part, what = of_part.groups() if of_part is not None else ("", what)
        stage, spoil = _STAGE.fullmatch(what), _SPOILED.fullmatch(what)
        if stage is not None:
            piece = int(stage[3]) if stage[3] else None
            self.stages.append(LoggedStage(at, int(stage[1]), bool(stage[2]), piece, number, part))
        elif spoil is not None:
            self.spoiled.append(LoggedSpoil(at, bool(spoil[1]), int(spoil[2]), number, part))
        elif part:
            raise ValueError(line)
        elif what == "now":
            again, self.now = self.now is not None, at
        else:
            again = at in self.readings
            at_c = read_quantity(what, Quantity.TEMPERATURE)
            if not COLDEST_C <= at_c <= WARMEST_C:
                raise _NoAirError(at_c)
            self.readings[at] = at_c
        self.moments.append(at)
        return again


def _moment(line: str) -> tuple[dt.datetime, str]:
    found = _LINE.fullmatch(line)
    if found is None:
        raise ValueError(line)
    hours, minutes = found[2].split(":")
    day = dt.date.fromisoformat(found[1])
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(line)
    return dt.datetime.combine(day, dt.time(int(hours), int(minutes))), found[3].strip()


def refuse(code: str, line: str, source: Source) -> Finding:
    """Return the finding of a line that cannot be read, or of a log without lines."""
    told = f"'{line}' is no line of a day log" if line else "the day log holds no line"
    return Finding.must_fix(
        code,
        message=f"{told}.",
        remedy="Write day, time and what was: `2027-03-17 16:10 stage 6`, `... stage 9 piece 2`, "
        "`... 9 degC`, `... piece 3 spoiled`, `... now`; in a job of several parts `... part lid "
        "stage 6`.",
        source=source,
    )


def _no_air(line: str, at_c: float, source: Source) -> Finding:
    """Return the finding of a line whose air is colder or warmer than that of any shop."""
    return Finding.must_fix(
        "day-log-air-odd",
        message=f"'{line}' is {at_c:.0f} degrees C, but the air of a shop is {COLDEST_C:g} to "
        f"{WARMEST_C:g}.",
        remedy="Was degF meant? Write the unit of the thermometer: `20 degC` is `68 degF`.",
        source=source,
        measure=Measure("air", at_c, COLDEST_C if at_c < COLDEST_C else WARMEST_C, "degrees C"),
    )


def twice(line: str, source: Source) -> Finding:
    """Return the finding of a line that tells again what another line has told."""
    return Finding.must_fix(
        "day-log-twice",
        message=f"'{line}' tells again, or otherwise, what another line of the day log has told.",
        remedy="Keep the line that is right.",
        source=source,
    )
