"""The whole of Flushwork on one page: a job file goes in, a checked build comes out.

A job is cut, planned and checked, room by room.  Every room takes frozen records and returns frozen
records; none of them writes a file, prints, or reads the clock.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from flushwork.art.drawn import Begun
from flushwork.built import Build, by_stage
from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import JobRefusedError
from flushwork.fit.all_inlays import fit_rounds, with_widths
from flushwork.gcode.program import gcode_file
from flushwork.kernels.medial import load_kernels
from flushwork.process.infer_stages import infer_plan
from flushwork.process.orders.cut_orders import cut_groups, cut_orders, cut_terms
from flushwork.process.orders.imported_files import with_imported_bits
from flushwork.process.orders.replay_steps import replay_steps
from flushwork.process.rounds import above_depths_mm
from flushwork.runtime.log import LOG
from flushwork.runtime.memo import Memo
from flushwork.runtime.pool import map_shared
from flushwork.schedule.groups import days_of, undated_pours
from flushwork.schedule.run_problem import ScheduleOptions, schedule_options_of
from flushwork.strata.palette import palette_of
from flushwork.strata.replay import board_spec, replay

Progress = Callable[[str], None]


@dataclass
class _Watch:
    """Tells which room is at work and how long each one took."""

    progress: Progress
    timings_s: list[tuple[str, float]] = field(default_factory=list)
    name: str = ""

    @contextmanager
    def room(self, name: str) -> Iterator[None]:
        """Time the room in the ``with`` block."""
        self.name = name
        self.progress(name)
        LOG.info("%s", name)
        start_s = time.perf_counter()
        yield
        self.timings_s.append((name, time.perf_counter() - start_s))

    def pause(self) -> None:
        """Tell, in the middle of a room, that it is still at work."""
        self.progress(self.name)


def build(
    path: Path | str,
    progress: Progress = lambda _: None,
    *,
    text: str | None = None,
    preread: Callable[[], Begun] | None = None,
    schedule_options: ScheduleOptions | None = None,
    memo: Memo | None = None,
    cell_mm: float | None = None,
    check: bool = True,
    on_replayed: Callable[[Build], None] = lambda _: None,
) -> Build:
    """Read a job file and take it through every room; ``text`` stands in for what the file holds.

    ``preread`` returns the job as read and drawn, where that has been begun already.
    ``schedule_options`` say what the days depend on where it is not what the job says (when the
    work begins, what is done already).  With a ``memo`` a build takes over what an earlier one
    worked out from equal arguments.  With ``cell_mm`` the replay has cells of that size; without
    ``check`` there are neither days nor findings: a first picture needs none.  ``on_replayed`` is
    called with the build once the board can be looked at, before its pours are measured and its
    checks run.  ``progress`` is called with the name of each room; it may raise, to end a build
    that nobody waits for any more, and with a memo it is called in the middle of rooms too.

    Raises JobRefusedError, with findings, where the job or its artwork cannot be read.
    """
    watch = _Watch(progress)
    with memo.active(watch.pause) if memo is not None else nullcontext():
        made = _replayed(preread or partial(_preread, Path(path), text), watch, cell_mm)
        on_replayed(made)
        made = _planned(made, watch, schedule_options, check=check)
        if check:
            with watch.room("check it"):
                made = replace(made, findings=run_checks(made))
        return replace(made, timings_s=tuple(watch.timings_s))


def _replayed(preread: Callable[[], Begun], watch: _Watch, cell_mm: float | None) -> Build:
    """Take a job from its text to the replayed board."""
    load_kernels()
    with watch.room("read the job, draw the artwork"):
        job, faces = preread()
    with watch.room("infer the stages"):
        plan = infer_plan(job, faces)
        job, faces = with_imported_bits(job, faces, plan)
    with watch.room("fit the bits"):
        above_mm = above_depths_mm(plan.planes, job.inlays)
        above_mm |= {pocket.name: 0.0 for pocket in job.pockets}
        fits, sets = fit_rounds(faces, job.shop.bits, cut_groups(plan), cut_terms(job), above_mm)
        faces = with_widths(faces, fits)
    with watch.room("write the G-code files, read them back"):
        orders = tuple(cut_orders(job, faces, fits, plan))
        files = tuple(map_shared(gcode_file, [order for _, order in orders]))
    with watch.room("replay the process"):
        spec = board_spec(job if cell_mm is None else replace(job, cell_mm=cell_mm), faces)
        stages = tuple(stage for stage, _ in orders)
        replayed = replay(spec, replay_steps(job, faces, plan, by_stage(stages, files)))
    return Build(
        job=job,
        faces=faces,
        fits=tuple(fits.values()),
        plan=plan,
        gcode_files=files,
        replay=replayed,
        pours=(),
        palette=palette_of(job),
        cut_stages=stages,
        bit_sets=sets,
    )


def _planned(made: Build, watch: _Watch, options: ScheduleOptions | None, *, check: bool) -> Build:
    """Add what is poured, and its days where the build is to be checked."""
    job, faces, plan, poured = made.job, made.faces, made.plan, made.replay.poured
    if not check:
        with watch.room("measure the pours"):
            return replace(made, pours=undated_pours(job, faces, plan, poured))
    with watch.room("measure the pours, plan the days"):
        days = days_of(
            job, faces, plan, poured, made.staged_files, options or schedule_options_of(job)
        )
        return replace(made, pours=days.pours, schedule=days.schedule)


def _preread(path: Path, text: str | None) -> Begun:
    # loaded only where needed: the libraries of the job file and of fonts take a third of a second
    from flushwork.art.draw import begin  # noqa: PLC0415

    return begin(path, text)


__all__ = ["Build", "JobRefusedError", "build"]
