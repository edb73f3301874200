"""The days of a run, or what is left of them after a day log; under other options; as files."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path
from zoneinfo import ZoneInfo

from flushwork.built import Build
from flushwork.checks.rules.work.schedule_rules import no_days
from flushwork.core.errors import FlushworkError
from flushwork.core.findings import Finding
from flushwork.job.day_log import read_day_log
from flushwork.pipeline import Progress, build
from flushwork.process.infer_stages import infer_plan
from flushwork.schedule.options import NotBefore, ScheduleOptions, schedule_options_of
from flushwork.schedule.plan_days import schedule_of
from flushwork.schedule.resume import first_day, progress_of
from flushwork.schedule.run import pieces_of
from flushwork.schedule.schedule import Schedule
from flushwork.schedule.waits import about, planned_waits
from flushwork.store import write_folder
from flushwork.usecases.jobs import preread
from flushwork.usecases.plan_files import plan_data, plan_files
from flushwork.views.day_sheets import day_sheet_text


@dataclass(frozen=True, slots=True)
class Planned:
    """A build with its days.

    ``slips`` are what the day log tells of that was done out of its time; ``hindered`` says, where
    there are no days, why.
    """

    build: Build
    slips: tuple[Finding, ...] = ()
    hindered: tuple[Finding, ...] = ()

    @property
    def schedule(self) -> Schedule | None:
        """The days; None where there are none."""
        return None if self.hindered else self.build.schedule


def plan(
    path: Path | str,
    progress: Progress = lambda _: None,
    *,
    first: dt.date | None = None,
    log: Path | None = None,
    zone: str = "",
) -> Planned:
    """Build a job and plan its days, or the rest of them after what a day log tells.

    ``first`` is the first day of work, ``zone`` the time zone's name; each by default the job's
    own.  Minutes in the schedule count from midnight of the first day.  Raises FlushworkError where
    the log cannot be read or there is no such zone, JobRefusedError where the job cannot be read.
    """
    path = Path(path)
    job, faces = preread(path)
    options = schedule_options_of(job)
    if first is not None:
        options = replace(options, first=first)
    if log is not None:
        day_log = read_day_log(_text_of(log), log.name)
        begins = min(options.first or first_day(day_log), first_day(day_log))
        stages = len(infer_plan(job, faces).stages)
        done = progress_of(day_log, begins, pieces_of(job), stages, log.name)
        options = replace(options, first=begins, progress=done)
    if zone:
        options = replace(options, zone=_known(zone))
    made = build(path, progress, preread=lambda: (job, faces), schedule_options=options)
    slips = tuple(
        item
        for item in made.findings
        if log is not None and item.source is not None and item.source.file == log.name
    )
    if made.schedule is None or made.schedule.hindrance is not None:
        return Planned(made, slips, tuple(no_days(made)))
    return Planned(made, slips)


def planned_anew(made: Build, options: ScheduleOptions) -> Schedule:
    """Return the days of a build under other options; nothing is cut or checked for it."""
    return schedule_of(made.job, made.plan, made.staged_files, made.pours, options)


def write_plan(
    made: Build, path: Path, out: Path, *, today: dt.date, zone: str = "", bench: str = ""
) -> None:
    """Write the day sheets, the calendar and the labels of a build to a folder.

    ``bench`` is the bench's address for the labels' codes.  Raises StoreError where the folder
    cannot be written, FlushworkError where there is no such zone.
    """
    write_folder(out, plan_files(made, today, zone, bench), (path,))


def _text_of(log: Path) -> str:
    try:
        return log.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        message = f"the day log {log} cannot be read: {error}"
        raise FlushworkError(message) from error


def _known(zone: str) -> str:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError) as error:
        message = f"there is no time zone called {zone}"
        raise FlushworkError(message) from error
    return zone


__all__ = [
    "NotBefore",
    "Planned",
    "Schedule",
    "ScheduleOptions",
    "about",
    "day_sheet_text",
    "plan",
    "plan_data",
    "planned_anew",
    "planned_waits",
    "schedule_options_of",
    "write_plan",
]
