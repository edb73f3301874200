"""The day log: what has been done and how warm it was, as lines the woodworker writes.

    2027-03-17 16:10  stage 6
    2027-03-18 09:55  stage 9  piece 2
    2027-03-18 03:00  9 degC
    2027-03-18 10:00  now

A stage without a piece is done for all of them; ``#`` begins a comment.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field

from flushwork.errors import JobRefusedError
from flushwork.findings import Finding, Severity, Source
from flushwork.units import Quantity, UnitError, read_quantity

_LINE = re.compile(r"(\d{4}-\d{2}-\d{2})[ T]+(\d{1,2}:\d{2})\s+(\S.*)")
_STAGE = re.compile(r"stage\s+(\d+)(?:\s+(test\s+)?piece\s+(\d+))?")


@dataclass(frozen=True, slots=True)
class LoggedStage:
    """A stage that was finished: for one piece (``number`` from 1 among its kind), or for all.

    ``line`` is where the log says so.
    """

    at: dt.datetime
    stage: int
    test: bool = False
    number: int | None = None
    line: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class DayLog:
    """What a day log says; ``now`` is its ``now`` line, or its last moment."""

    now: dt.datetime
    stages: tuple[LoggedStage, ...]
    readings: tuple[tuple[dt.datetime, float], ...]


def read_day_log(text: str, file: str) -> DayLog:
    """Return what a day log says; raises JobRefusedError with a finding for every slip."""
    findings: list[Finding] = []
    stages: list[LoggedStage] = []
    readings: list[tuple[dt.datetime, float]] = []
    moments: list[dt.datetime] = []
    now: dt.datetime | None = None
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.split("#", 1)[0].strip()
        if not line:
            continue
        try:
            at, what = _moment(line)
            stage = _STAGE.fullmatch(what)
            if stage is not None:
                piece = int(stage[3]) if stage[3] else None
                stages.append(LoggedStage(at, int(stage[1]), bool(stage[2]), piece, number))
            elif what == "now":
                now = at
            else:
                readings.append((at, read_quantity(what, Quantity.TEMPERATURE)))
            moments.append(at)
        except (ValueError, UnitError):
            findings.append(refuse("day-log-unreadable", line, Source(file, number, 1, "")))
    if findings:
        raise JobRefusedError(findings)
    if not moments:
        raise JobRefusedError([refuse("day-log-empty", "", Source(file, 1, 1, ""))])
    return DayLog(now or max(moments), tuple(stages), tuple(sorted(readings)))


def _moment(line: str) -> tuple[dt.datetime, str]:
    found = _LINE.fullmatch(line)
    if found is None:
        raise ValueError(line)
    hours, minutes = found[2].split(":")
    day = dt.date.fromisoformat(found[1])
    return dt.datetime.combine(day, dt.time(int(hours), int(minutes))), found[3].strip()


def refuse(code: str, line: str, source: Source) -> Finding:
    """Return the finding of a line that cannot be read, or of a log without lines."""
    told = f"'{line}' is no line of a day log" if line else "the day log holds no line"
    return Finding(
        code=code,
        severity=Severity.STOP,
        message=f"{told}.",
        remedy="Write day, time and what was: `2027-03-17 16:10 stage 6`, `... stage 9 piece 2`, "
        "`... 9 degC`, `... now`.",
        source=source,
    )
