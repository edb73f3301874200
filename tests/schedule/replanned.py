"""One built board taken through other shops and logs, without cutting it again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from flushwork.built import Build
from flushwork.job.read import read_job
from flushwork.process.infer_stages import infer_plan
from flushwork.schedule.groups import days_of
from flushwork.schedule.run_problem import ScheduleOptions, schedule_options_of


def replanned(
    made: Build, folder: Path, job: str, shop: str, wishes: ScheduleOptions | None = None
) -> Build:
    """Return a build with the days of another job text and shop text, its board as it was.

    What is cut must not depend on what is changed: air, hours, hand times, pieces, the bed.
    """
    (folder / "shop.yaml").write_text("flushwork shop: 2\n" + shop, "utf-8")
    (folder / "job.yaml").write_text(job + "shop: shop.yaml\n", "utf-8")
    read = read_job(folder / "job.yaml")
    plan = infer_plan(read, made.faces)
    cut = replace(made, job=read, plan=plan)
    wishes = wishes or schedule_options_of(read)
    days = days_of((cut.asked,), wishes)
    return replace(cut, pours=days.pours, schedule=days.schedule)
