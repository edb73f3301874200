"""The whole of Flushwork on one page: a job file goes in, a checked build comes out.

====================  ====================================================  ===================
read and draw         the job's text and its artwork                        Job, DrawnFace
infer the stages      what is done, in which order, in how many setups      Plan
fit the bits          what each bit reaches, which of them cut what         Fit, BitSet
write the G-code      one file a bit and setup, as read back from its text  GcodeFile
replay                those files run over the board, filled and sanded     Replay
pours and days        what is mixed, and when all of it is done             Pour, Schedule
check                 every rule, over all of it                            Finding
====================  ====================================================  ===================

Every room takes frozen records and returns frozen records; none of them writes a file, prints, or
reads the clock.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from flushwork.art.drawn import Begun, DrawnFace
from flushwork.built import Build, by_stage
from flushwork.checks.all_rules import of_all_parts, run_checks
from flushwork.checks.expected_box import box_of_build
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.gcode.program import gcode_file
from flushwork.job.records import Job
from flushwork.kernels.medial import load_kernels
from flushwork.process.infer_stages import infer_plan
from flushwork.process.orders.cut_orders import cut_orders
from flushwork.process.orders.imported_files import with_imported_bits
from flushwork.process.orders.replay_steps import replay_steps
from flushwork.process.plan_bits import fit_bits
from flushwork.process.rounds import planes_of
from flushwork.resin.pours import Pour
from flushwork.runtime.log import LOG
from flushwork.runtime.memo import Memo
from flushwork.runtime.pool import map_shared
from flushwork.schedule.groups import days_of, undated_pours
from flushwork.schedule.run_problem import ScheduleOptions, schedule_options_of
from flushwork.schedule.schedule import Schedule
from flushwork.schedule.several_parts import PartPoured
from flushwork.strata.palette import palette_of
from flushwork.strata.replay import board_spec, replay
from flushwork.strata.surfaces import Replay
from flushwork.wood.box_pieces import as_sawn, piece_of_box

Progress = Callable[[str], None]


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
        made = _replayed(preread or partial(_read_and_drawn, Path(path), text), watch, cell_mm)
        drawn = parts_drawn(made)
        others = (_replayed(partial(_known, part), watch, cell_mm) for part in drawn)
        made = replace(made, parts=tuple(others))
        on_replayed(made)
        if check:
            made = _dated(made, watch, schedule_options or schedule_options_of(made.job))
            with watch.room("check it"):
                made = _checked(made)
        else:
            with watch.room("measure the pours"):
                made = _shared_out(made, undated_pours(_asked(made)), None)
        return replace(made, timings_s=tuple(watch.timings_s))


def _replayed(begin: Callable[[], Begun], watch: _Watch, cell_mm: float | None) -> Build:
    """Take a job from its text to the replayed board."""
    load_kernels()
    with watch.room("read the job, draw the artwork"):
        job, faces = begin()
    with watch.room("infer the stages"):
        plan = infer_plan(job, faces)
        job, faces = with_imported_bits(job, faces, plan)
    with watch.room("fit the bits"):
        fits, bit_sets, faces = fit_bits(job, faces, plan)
    with watch.room("write the G-code files, read them back"):
        orders = cut_orders(job, faces, fits, plan)
        stages = tuple(stage for stage, _ in orders)
        files = tuple(map_shared(gcode_file, [order for _, order in orders]))
    with watch.room("replay the process"):
        spec = board_spec(job if cell_mm is None else replace(job, cell_mm=cell_mm), faces)
        steps = replay_steps(job, faces, plan, by_stage(stages, files))
        replayed = replay(spec, steps)
    return Build(
        job=job,
        faces=faces,
        fits=tuple(fits.values()),
        plan=plan,
        gcode_files=files,
        replay=replayed,
        palette=palette_of(job),
        cut_stages=stages,
        bit_sets=bit_sets,
    )


def _dated(made: Build, watch: _Watch, options: ScheduleOptions) -> Build:
    """Add what is poured, and the days of the run: which pours share a cup depends on them."""
    with watch.room("measure the pours, plan the days"):
        days = days_of(_asked(made), options)
        return _shared_out(made, days.pours, days.schedule)


def _asked(made: Build) -> tuple[PartPoured, ...]:
    """Return what each part of a job asks of cups and days."""
    return tuple(each.asked for each in made.each)


def _shared_out(made: Build, pours: tuple[Pour, ...], days: Schedule | None) -> Build:
    """Give each part of a job its own pours, and what the days hold for it."""

    def one(part: Build) -> Build:
        name = part.job.part
        return replace(
            part,
            pours=tuple(pour for pour in pours if pour.part == name),
            other_pours=tuple(pour for pour in pours if pour.part != name),
            schedule=days.of_part(name) if days is not None and name else days,
        )

    if not made.parts:
        return one(made)
    return replace(one(made), parts=tuple(one(part) for part in made.parts), run=days)


def _checked(made: Build) -> Build:
    """Check each part of a job; what is wrong with another part than the first names it."""
    parts = tuple(replace(part, findings=run_checks(part)) for part in made.parts)
    first = run_checks(made)
    return replace(made, parts=parts, findings=of_all_parts(first, parts))


def parts_drawn(made: Build) -> tuple[Begun, ...]:
    """Draw the parts of a job beside its first; raises JobRefusedError with all that is wrong."""
    found: list[Begun] = []
    wrong: list[Finding] = []
    for part in made.job.parts:
        try:
            found.append(part_drawn(made, part))
        except JobRefusedError as refused:
            wrong += refused.findings
    if wrong:
        raise JobRefusedError(wrong, made.job.shop.reads)
    return tuple(found)


def planned(job: Job, faces: tuple[DrawnFace, ...]) -> Build:
    """Return a build of which only the stages are known: nothing is cut for it."""
    nothing = Replay(board_spec(job, faces), (), (), (), ())
    return Build(job, faces, (), infer_plan(job, faces), (), nothing, palette_of(job))


def part_drawn(made: Build, part: Job) -> Begun:
    """Draw a part beside the first of a job; a piece of the box has its size from there.

    Of the first part only the plan is asked.  Raises JobRefusedError where its artwork is wrong.
    """
    from flushwork.art.draw import draw_faces  # noqa: PLC0415  (as the fonts of the first part)

    of_box, box = part.of_box, box_of_build(made)
    if of_box is None or box is None:
        return part, draw_faces(part)
    sized = piece_of_box(part, of_box, box, made.job)
    faces = draw_faces(sized)
    taken_mm = -sum(each.finished_mm for each in planes_of(sized.allowances, faces))
    return as_sawn(sized, of_box, taken_mm), faces


def _known(begun: Begun) -> Begun:
    return begun


def _read_and_drawn(path: Path, text: str | None) -> Begun:
    # loaded only where needed: the libraries of the job file and of fonts take a third of a second
    from flushwork.art.draw import begin  # noqa: PLC0415

    return begin(path, text)


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


__all__ = ["Build", "JobRefusedError", "build", "parts_drawn", "planned"]
