"""From a day log to the state of a run, for planning the rest."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from flushwork.errors import JobRefusedError
from flushwork.findings import Finding, Severity, Source
from flushwork.job.day_log import DayLog, LoggedStage
from flushwork.plan.progress import Done, Progress
from flushwork.plan.schedule import Piece

MINUTE = dt.timedelta(minutes=1)


def first_day(log: DayLog) -> dt.date:
    """Return the day of a log's first entry: the plan counts from its midnight."""
    moments = [log.now, *(item.at for item in log.stages), *(at for at, _ in log.readings)]
    return min(moments).date()


def progress_of(
    log: DayLog, first: dt.date, pieces: Sequence[Piece], stages: int, file: str
) -> Progress:
    """Return the state of a run, in minutes from midnight of the day ``first``.

    Raises JobRefusedError where the log names a stage or a piece that does not exist.
    """
    midnight = dt.datetime.combine(first, dt.time())
    unknown = [
        item for item in log.stages if not 1 <= item.stage <= stages or _index(item, pieces) == -1
    ]
    if unknown:
        raise JobRefusedError([_unknown(item, stages, file) for item in unknown])
    return Progress(
        now_min=(log.now - midnight) // MINUTE,
        done=tuple(
            Done(item.stage, (item.at - midnight) // MINUTE, _index(item, pieces))
            for item in log.stages
        ),
        log=tuple(((at - midnight) // MINUTE, at_c) for at, at_c in log.readings),
    )


def _index(item: LoggedStage, pieces: Sequence[Piece]) -> int | None:
    """Return the place of a logged piece among all, None for all of them, -1 for none."""
    if item.number is None:
        return None
    for index, piece in enumerate(pieces):
        if (piece.test, piece.number) == (item.test, item.number):
            return index
    return -1


def _unknown(item: LoggedStage, stages: int, file: str) -> Finding:
    kind = "test piece" if item.test else "piece"
    what = f"stage {item.stage}" + (f" {kind} {item.number}" if item.number is not None else "")
    return Finding(
        code="day-log-names-nothing",
        severity=Severity.STOP,
        message=f"The day log tells of {what}, but this job has no such stage or piece "
        f"(stages 1 to {stages}).",
        remedy="`flushwork stages` lists the stages, the day sheet names the pieces.",
        subject=what,
        source=Source(file, item.line, 1, ""),
    )
