"""The days of a run, what is left of them after a day log, what they cost; and their files."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from flushwork.book.pdf import label_sheets
from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.checks.rules.work.schedule_rules import no_days
from flushwork.core.findings import Finding, FlushworkError
from flushwork.core.units.shown import shown, shown_data
from flushwork.job.day_log import read_day_log
from flushwork.pipeline import Progress, build, parts_drawn
from flushwork.pipeline import planned as planned_only
from flushwork.process.infer_stages import infer_plan
from flushwork.resin.pours import Pour
from flushwork.schedule.bit_changes import bit_lives, change_text, piece_names
from flushwork.schedule.cost import Spending, mixed_cost
from flushwork.schedule.cost_table import Costing, CostTable, cost_text
from flushwork.schedule.groups import groups_in
from flushwork.schedule.plan_days import schedule_of
from flushwork.schedule.resume import first_day, progress_of
from flushwork.schedule.run import pieces_of
from flushwork.schedule.run_problem import NotBefore, ScheduleOptions, schedule_options_of
from flushwork.schedule.schedule import Schedule
from flushwork.schedule.several_parts import cups_of
from flushwork.schedule.waits import about, planned_waits
from flushwork.store import write_folder
from flushwork.usecases.explain import finding_data
from flushwork.usecases.jobs import preread
from flushwork.views.calendar_text import calendar_bytes
from flushwork.views.context import page_of
from flushwork.views.day_sheets import day_sheet_text
from flushwork.views.labels import labels_of

# ---- What a run costs


def cost(made: Build) -> CostTable | None:
    """Return what the run of a build costs, in the currency of the shop file's prices.

    None where the shop file has no prices.
    """
    if made.job.shop.prices is None:
        return None
    groups = groups_in(made.job, made.schedule)
    costing = Costing(
        made.job,
        made.faces,
        made.plan,
        made.staged_files,
        made.replay.poured,
        groups,
        tuple(each.asked for each in made.parts),
        cups_of(made.all_pours),
        box_of_build(made),
    )
    return costing.table()


def spending(made: Build) -> Spending:
    """Return what each stage of a build's run adds to one piece: minutes, and money with prices."""
    costing = Costing(
        made.job,
        made.faces,
        made.plan,
        made.staged_files,
        made.replay.poured,
        box=box_of_build(made),
    )
    return costing.spending(made.pours)


def batch_cost(made: Build, pour: Pour) -> Decimal | None:
    """Return what the parts of a batch cost, what is left over included; None without prices."""
    prices = made.job.shop.prices
    return None if prices is None else mixed_cost(pour, prices)


# ---- The files of a plan: day sheets, data, calendar, labels, costs


def plan_files(
    made: Build,
    today: dt.date,
    zone: str = "",
    bench: str = "",
    costs: CostTable | None = None,
) -> dict[str, bytes]:
    """Return the files of a plan by name; none where there is no plan.

    ``costs`` are those of ``usecases.plan``, where the caller has counted them already.

    A calendar needs the day the work begins, costs need prices; without them those are left out.
    Raises FlushworkError where the time zone is not known.
    """
    schedule = made.all_days
    if schedule is None or schedule.hindrance is not None:
        return {}
    reads = made.job.shop.reads
    card = "".join(
        f"{part.job.part and f'{part.job.part}: '}{change_text(life, piece_names(part.job))}\n"
        for part in made.each
        for life in bit_lives(part.job, part.faces)
    )
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
    labels = tuple(
        label
        for part in made.each
        for label in labels_of(
            made.job.title,
            part.plan,
            part.schedule or schedule,
            part.pours,
            bench if part.first else "",
            part.job.loose_parts,
            part.parted,
        )
    )
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
                **({"part": step.part} if step.part else {}),
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
                "airing_min": step.airing_min or None,
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


# ---- The days of a run, or what is left of them after a day log; under other options; as files


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
        return None if self.hindered else self.build.all_days


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
        drawn = ((job, faces), *parts_drawn(planned_only(job, faces)))
        stages = {part.part: len(infer_plan(part, own).stages) for part, own in drawn}
        pieces = [piece for part, _ in drawn for piece in pieces_of(part)]
        done = progress_of(day_log, begins, pieces, stages, log.name)
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
    others = [each.asked.work for each in made.parts]
    days = schedule_of(made.job, made.plan, made.staged_files, made.all_pours, options, others)
    return days.of_part(made.job.part) if others else days


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
