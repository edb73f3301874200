"""What planning a run as a whole saves against making one piece after another.

Run: ``python design/days_against_piece_after_piece.py [JOB]``; the travelling set by default.
Prints one table: days, hours of work, set-ups, batches, and how long the search took.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

from flushwork.job.records import Lead
from flushwork.pipeline import build
from flushwork.process.pour_requests import pour_requests
from flushwork.resin.cup.batches import plan_pours
from flushwork.schedule.plan_days import schedule_of, yardstick
from flushwork.schedule.run_problem import schedule_options_of
from flushwork.schedule.schedule import Schedule

ROOT = Path(__file__).parents[1]


def row(name: str, schedule: Schedule, seconds: float) -> str:
    """Return one line of the table."""
    goals = {goal.name: goal for goal in schedule.goals}
    check = (
        "proven" if schedule.proven else f"gap {goals['finish'].reached - goals['finish'].bound}"
    )
    return (
        f"{name:44}{schedule.calendar_days:6}{schedule.work_days:10}"
        f"{schedule.hands_min / 60:10.1f}{schedule.machine_min / 60:10.1f}"
        f"{schedule.set_ups:9}{schedule.changes:9}{schedule.batches:9}{seconds:8.2f}  {check}"
    )


def main() -> None:
    """Print the table."""
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "examples" / "kingfisher" / "job.yaml"
    made = build(path)
    wishes = schedule_options_of(made.job)
    print(
        f"{made.job.title}: {made.job.pieces} pieces, {made.job.test_pieces} test pieces\n"
        f"{'':44}{'days':>6}{'worked':>10}{'hands h':>10}{'machine':>10}"
        f"{'set-ups':>9}{'bits':>9}{'batches':>9}{'s':>8}"
    )
    start_s = time.perf_counter()
    whole = schedule_of(made.job, made.plan, made.staged_files, made.pours, wishes)
    print(row("as one run", whole, time.perf_counter() - start_s))
    for lead in Lead if made.job.test_pieces else ():
        if lead is made.job.test_ahead:
            continue
        job = replace(made.job, test_ahead=lead)
        requests = pour_requests(job, made.faces, made.plan, made.replay.poured)
        pours = plan_pours(requests, job.shop)
        start_s = time.perf_counter()
        ahead = schedule_of(job, made.plan, made.staged_files, pours, schedule_options_of(job))
        print(row(f"test piece ahead: {lead.value}", ahead, time.perf_counter() - start_s))
    start_s = time.perf_counter()
    alone = yardstick(made.job, made.plan, made.staged_files, made.pours, wishes)
    print(row("piece after piece, each with its own batches", alone, time.perf_counter() - start_s))


if __name__ == "__main__":
    main()
