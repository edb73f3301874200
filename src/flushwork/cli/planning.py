"""The commands about days and money: ``stages``, ``plan``, ``cost``."""

from __future__ import annotations

import datetime as dt
import math
import sys
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

from flushwork.cli.output import Console
from flushwork.cli.plan_files import plan_data, plan_files
from flushwork.errors import FlushworkError
from flushwork.geometry.draw import draw_faces
from flushwork.job.day_log import read_day_log
from flushwork.job.read import read_job
from flushwork.pipeline import build
from flushwork.plan.cost_table import Costing, cost_text
from flushwork.plan.day_sheets import day_sheet_text
from flushwork.plan.explain import explained
from flushwork.plan.grouping import groups_in
from flushwork.plan.infer import infer_plan
from flushwork.plan.midway import first_day, progress_of
from flushwork.plan.run import pieces_of
from flushwork.plan.wishes import ScheduleOptions, schedule_options_of
from flushwork.proof.schedule_rules import no_days
from flushwork.store import write_folder

DONE, STOPPED = 0, 1


def show_stages(path: Path, console: Console) -> int:
    """Print the stages of a job, each with the reason why it stands where it does."""
    job = read_job(path)
    plan = infer_plan(job, draw_faces(job))
    if console.as_json:
        console.data(
            [
                {
                    "number": stage.number,
                    "kind": stage.kind.value,
                    "face": stage.face,
                    "title": stage.title,
                    "because": stage.because,
                    "mounting": stage.mounting or None,
                    "wait_s": stage.lag_s if math.isfinite(stage.lag_s) else None,
                }
                for stage in plan.stages
            ]
        )
        return DONE
    sys.stdout.write("\n".join(explained(plan)) + "\n")
    return DONE


def show_plan(
    path: Path,
    console: Console,
    *,
    first: dt.date | None,
    log: Path | None,
    out: Path | None,
    zone: str,
    bench: str,
    today: dt.date,
) -> int:
    """Plan the days of a job, or what is left of them, and print the day sheets.

    With ``out`` the sheets, the calendar and the labels are written to that folder too.
    """
    options = _options(path, first, log)
    if zone:
        options = replace(options, zone=_known(zone))
    made = build(path, console.progress, schedule_options=options)
    schedule = made.schedule
    slips = [
        item
        for item in made.findings
        if log is not None and item.source is not None and item.source.file == log.name
    ]
    if schedule is None or schedule.hindrance is not None:
        console.report([*no_days(made), *slips], may_be_cut=made.may_be_cut)
        return STOPPED
    if console.as_json:
        console.data(plan_data(schedule, slips))
    else:
        sys.stdout.write(day_sheet_text(schedule))
        if slips:
            console.report(slips, may_be_cut=made.may_be_cut)
    if out is not None:
        write_folder(out, plan_files(made, today, zone, bench), (path,))
        console.say(f"Day sheets, calendar and labels: {out}")
    return DONE


def _known(zone: str) -> str:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError) as error:
        message = f"there is no time zone called {zone}"
        raise FlushworkError(message) from error
    return zone


def _options(path: Path, first: dt.date | None, log: Path | None) -> ScheduleOptions:
    job = read_job(path)
    options = schedule_options_of(job)
    if first is not None:
        options = replace(options, first=first)
    if log is None:
        return options
    try:
        text = log.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        message = f"the day log {log} cannot be read: {error}"
        raise FlushworkError(message) from error
    day_log = read_day_log(text, log.name)
    begins = min(options.first or first_day(day_log), first_day(day_log))
    stages = len(infer_plan(job, draw_faces(job)).stages)
    progress = progress_of(day_log, begins, pieces_of(job), stages, log.name)
    return replace(options, first=begins, progress=progress)


def show_cost(path: Path, console: Console) -> int:
    """Print what the run costs, what has to be asked for it, and what other numbers cost."""
    made = build(path, console.progress)
    if made.job.shop.prices is None:
        message = (
            "the shop file has no prices: add `prices` to it (docs/job-file.md tells its keys)"
        )
        raise FlushworkError(message)
    groups = groups_in(made.job, made.schedule)
    costing = Costing(
        made.job, made.faces, made.plan, made.staged_files, made.replay.poured, groups
    )
    sys.stdout.write(cost_text(costing.table()))
    return DONE
