"""The files of a plan: day sheets, data, calendar, labels, costs."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from typing import Any

from flushwork.book.label_sheets import label_sheets
from flushwork.built import Build
from flushwork.core.errors import FlushworkError
from flushwork.core.findings import Finding
from flushwork.core.units.shown import shown, shown_data
from flushwork.schedule.bit_changes import bit_lives, change_text, piece_names
from flushwork.schedule.cost_table import CostTable, cost_text
from flushwork.schedule.schedule import Schedule
from flushwork.usecases.cost import cost
from flushwork.usecases.data import finding_data
from flushwork.views.calendar_text import calendar_bytes
from flushwork.views.context import page_of
from flushwork.views.day_sheets import day_sheet_text
from flushwork.views.labels import labels_of


def plan_files(
    made: Build,
    today: dt.date,
    zone: str = "",
    bench: str = "",
    costs: CostTable | None = None,
) -> dict[str, bytes]:
    """Return the files of a plan by name; none where there is no plan.

    ``costs`` are those of ``usecases.cost``, where the caller has counted them already.

    A calendar needs the day the work begins, costs need prices; without them those are left out.
    Raises FlushworkError where the time zone is not known.
    """
    schedule = made.schedule
    if schedule is None or schedule.hindrance is not None:
        return {}
    reads = made.job.shop.reads
    lives = bit_lives(made.job, made.faces)
    names = piece_names(made.job)
    card = "".join(f"{change_text(life, names)}\n" for life in lives)
    files = {"bit-changes.txt": shown(card, reads).encode()} if card else {}
    files |= {
        "day-sheets.txt": shown(day_sheet_text(schedule), reads).encode(),
        "days.json": (json.dumps(plan_data(schedule), indent=2) + "\n").encode(),
    }
    if schedule.days.dated:
        stamp = dt.datetime.combine(today, dt.time(), dt.UTC)
        try:
            files["days.ics"] = calendar_bytes(schedule, made.job.title, stamp, zone, reads)
        except ValueError as error:
            raise FlushworkError(str(error)) from error
    labels = labels_of(made.job.title, made.plan, schedule, made.pours, bench)
    told = shown_data(labels, reads, ("name", "code"))
    files["labels.pdf"] = label_sheets(
        told, made.job.shop.labels, page_of(made.job.shop.units.value)
    )
    counted = costs or cost(made)
    if counted is not None:
        files["costs.txt"] = shown(cost_text(counted), reads).encode()
    return files


def plan_data(schedule: Schedule, slips: Sequence[Finding] = ()) -> dict[str, Any]:
    """Return a schedule as plain data; minutes count from midnight of the first day.

    ``slips`` is what the day log tells of that was done out of its time.
    """
    days = schedule.days
    return {
        "first_day": days.first.isoformat() if days.dated else None,
        "status": schedule.status(),
        "proven": schedule.proven,
        "hands_min": schedule.hands_min,
        "machine_min": schedule.machine_min,
        "set_ups": schedule.set_ups,
        "bits_put_in": schedule.changes,
        "batches": schedule.batches,
        "work_days": schedule.work_days,
        "calendar_days": schedule.calendar_days,
        "log_findings": [finding_data(item) for item in slips],
        "spoiled": [piece.name for piece in schedule.spoiled],
        "steps": [
            {
                "stage": step.stage,
                "title": step.title,
                "pieces": [piece.name for piece in step.pieces],
                "begin_min": step.begin_min,
                "end_min": step.end_min,
                "pour": step.pour or None,
                "coat": step.coat or None,
                "setup": step.setup or None,
                "scuffed": step.scuffed,
                "in_air_min": step.air_min or None,
                "done": step.done,
            }
            for step in schedule.steps
        ],
        "waits": [
            {
                "piece": wait.piece.name,
                "what": wait.what,
                "since_min": wait.since_min,
                "ready_min": wait.ready_min,
                "closes_min": wait.closes_min,
                "missed": wait.missed,
            }
            for wait in schedule.waits
        ],
        "pieces": [
            {
                "piece": dates.piece.name,
                "next_cut_min": dates.cut_min,
                "next_mill_flush_min": dates.mill_flush_min,
                "last_pour_without_scuff_sanding_min": dates.last_pour_min,
                "finish_min": dates.finish_min,
                "ship_min": dates.ship_min,
            }
            for dates in schedule.milestones
        ],
    }
