"""The commands about days and money: ``stages``, ``plan``, ``cost``."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

from flushwork.cli.output import Console
from flushwork.core.errors import FlushworkError
from flushwork.pipeline import build
from flushwork.usecases.cost import cost, cost_text
from flushwork.usecases.jobs import load, stages, stages_text
from flushwork.usecases.plan import day_sheet_text, plan, plan_data, write_plan

DONE, STOPPED = 0, 1


def show_stages(path: Path, console: Console) -> int:
    """Print the stages of a job, each with the reason why it stands where it does."""
    found = stages(path)
    if console.as_json:
        console.data(
            [
                {
                    "number": stage.number,
                    "kind": stage.kind.value,
                    "face": stage.face,
                    "title": stage.title,
                    "because": stage.because,
                    "setup": stage.setup or None,
                    "wait_s": stage.lag_s if math.isfinite(stage.lag_s) else None,
                }
                for stage in found.stages
            ]
        )
        return DONE
    console.units = load(path).shop.reads
    console.write(stages_text(found))
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
    found = plan(path, console.progress, first=first, log=log, zone=zone)
    made, schedule = found.build, found.schedule
    console.units = made.job.shop.reads
    if schedule is None:
        console.report((*found.hindered, *found.slips), ok_to_cut=made.ok_to_cut)
        return STOPPED
    if console.as_json:
        console.data(plan_data(schedule, found.slips))
    else:
        console.write(day_sheet_text(schedule))
        if found.slips:
            console.report(found.slips, ok_to_cut=made.ok_to_cut)
    if out is not None:
        write_plan(made, path, out, today=today, zone=zone, bench=bench)
        console.say(f"Day sheets, calendar and labels: {out}")
    return DONE


def show_cost(path: Path, console: Console) -> int:
    """Print what the run costs, what has to be asked for it, and what other numbers cost."""
    made = build(path, console.progress)
    console.units = made.job.shop.reads
    costs = cost(made)
    if costs is None:
        message = (
            "the shop file has no prices: add `prices` to it (docs/job-file.md tells its keys)"
        )
        raise FlushworkError(message)
    console.write(cost_text(costs))
    return DONE
