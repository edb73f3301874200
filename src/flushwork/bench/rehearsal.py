"""The walk of ``pipeline.build`` for a text not saved yet, remembering what has not changed.

The rooms and their order are the pipeline's own; what is kept between two walks are the answers of
rooms that were asked the very same question: an inlay weighed, the cut file of an order.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import partial

from flushwork.bench.sharing import shared
from flushwork.colour.palette import palette_of
from flushwork.findings import Finding
from flushwork.fit.choice import Weighed
from flushwork.fit.reach import Fit
from flushwork.fit.together import fit_rounds, weigh_all, with_widths
from flushwork.geometry.draw import draw_faces
from flushwork.geometry.drawn import DrawnInlay
from flushwork.job.records import Job
from flushwork.pipeline import Build, Progress
from flushwork.plan.brought_work import with_brought_cutters
from flushwork.plan.cutting_work import cut_groups, cut_orders, cut_terms
from flushwork.plan.grouping import days_of, groups_of
from flushwork.plan.infer import infer_plan
from flushwork.plan.pouring import pour_requests
from flushwork.plan.replay_steps import replay_steps
from flushwork.plan.schedule import Schedule
from flushwork.plan.wishes import wishes_of
from flushwork.proof.case import Case
from flushwork.proof.registry import prove
from flushwork.resin.batches import plan_pours
from flushwork.shelf.items import Cutter
from flushwork.strata.board import Replay
from flushwork.strata.cell import board_spec
from flushwork.strata.replay import replay
from flushwork.strata.steps import BoardSpec, ReplayStep
from flushwork.toolpaths.cut_file import cut_file
from flushwork.toolpaths.orders import CutFile, CutOrder


@dataclass
class Memory:
    """Answers of the last walk, by what was asked."""

    weighed: dict[tuple[Hashable, ...], Fit | Weighed] = field(default_factory=dict)
    cut_files: dict[CutOrder, CutFile] = field(default_factory=dict)
    replays: dict[bool, tuple[BoardSpec, tuple[ReplayStep, ...], Replay]] = field(
        default_factory=dict
    )


@dataclass
class _Walk:
    progress: Progress
    timings_s: list[tuple[str, float]] = field(default_factory=list)

    @contextmanager
    def room(self, name: str) -> Iterator[None]:
        self.progress(name)
        start_s = time.perf_counter()
        yield
        self.timings_s.append((name, time.perf_counter() - start_s))


def rehearse(
    read: Callable[[], Job],
    memory: Memory,
    progress: Progress = lambda _: None,
    *,
    cell_mm: float | None = None,
    proof: bool = True,
) -> Build:
    """Take a job through every room; with ``cell_mm``, replayed on cells of that size.

    Without ``proof`` there are neither days nor findings: a first picture needs none.  ``progress``
    may raise, to leave a walk that nobody waits for any more.  Raises
    ``JobRefusedError`` as ``read`` does.
    """
    walk = _Walk(progress)
    with walk.room("read the job"):
        job = read()
    with walk.room("draw the artwork"):
        faces = draw_faces(job)
    with walk.room("infer the stages"):
        plan = infer_plan(job, faces)
        job, faces = with_brought_cutters(job, faces, plan)
    with walk.room("fit the cutters"):
        fitted, sets = fit_rounds(
            faces, job.shop.cutters, cut_groups(plan), cut_terms(job), partial(_weighed, memory)
        )
        faces = with_widths(faces, fitted)
        fits = tuple(fitted.values())
    with walk.room("write the cut files, read them back"):
        orders = cut_orders(job, faces, fitted, plan)
        files = _cut_files([order for _, order in orders], memory, progress)
    by_stage: dict[int, list[CutFile]] = {}
    for (stage, _), file in zip(orders, files, strict=True):
        by_stage.setdefault(stage, []).append(file)
    with walk.room("replay the process"):
        spec = board_spec(job if cell_mm is None else replace(job, cell_mm=cell_mm), faces)
        steps = replay_steps(job, faces, plan, by_stage)
        replayed = _replayed(spec, steps, memory, coarse=cell_mm is not None)
    palette = palette_of(job)
    schedule: Schedule | None = None
    findings: tuple[Finding, ...] = ()
    if proof:
        with walk.room("measure the pours, plan the days"):
            days = days_of(job, faces, plan, replayed.poured, by_stage, wishes_of(job))
            pours, schedule = days.pours, days.schedule
        with walk.room("prove it"):
            case = Case(job, faces, fits, plan, files, replayed, pours, palette, schedule)
            findings = prove(case)
    else:
        with walk.room("measure the pours"):
            groups = groups_of(job, job.groups or 1)
            requests = pour_requests(job, faces, plan, replayed.poured, groups)
            pours = plan_pours(requests, job.shop)
    return Build(
        job=job,
        faces=faces,
        fits=fits,
        plan=plan,
        cut_files=files,
        replay=replayed,
        pours=pours,
        palette=palette,
        findings=findings,
        timings_s=tuple(walk.timings_s),
        schedule=schedule,
        cut_stages=tuple(stage for stage, _ in orders),
        cutter_sets=sets,
    )


def _replayed(
    spec: BoardSpec, steps: tuple[ReplayStep, ...], memory: Memory, *, coarse: bool
) -> Replay:
    """Return the replay; steps that are the same to the last one need no other."""
    kept = memory.replays.get(coarse)
    if kept is not None and kept[0] == spec and kept[1] == steps:
        return kept[2]
    replayed = shared(replay(spec, steps), kept[2] if kept is not None else None)
    memory.replays[coarse] = (spec, steps, replayed)
    return replayed


def _weighed(
    memory: Memory, drawn: Sequence[DrawnInlay], cutters: Sequence[Cutter]
) -> list[Fit | Weighed]:
    """Weigh inlays against the cutters; those that are cut as before need no new weighing."""
    keys = [(_what_is_cut(each), tuple(cutters)) for each in drawn]
    new = [number for number, key in enumerate(keys) if key not in memory.weighed]
    found = weigh_all([drawn[number] for number in new], cutters)
    known = memory.weighed | {keys[number]: item for number, item in zip(new, found, strict=True)}
    memory.weighed = {key: known[key] for key in keys}
    return [replace(memory.weighed[key], drawn=each) for key, each in zip(keys, drawn, strict=True)]


def _what_is_cut(drawn: DrawnInlay) -> tuple[Hashable, ...]:
    """Return all of an inlay but its fill and the lines of the file it is written in."""
    inlay = drawn.inlay
    return (
        drawn.region,
        drawn.strokes,
        inlay.name,
        inlay.face,
        tuple(piece.art for piece in inlay.artwork),
        inlay.seam,
        inlay.depth_mm,
        inlay.measured_from,
        inlay.manner,
        inlay.second_pass_of,
        inlay.after,
        inlay.vee,
        inlay.cutters,
    )


def _cut_files(
    orders: Sequence[CutOrder], memory: Memory, progress: Progress
) -> tuple[CutFile, ...]:
    asked: dict[CutOrder, CutFile] = {}
    for order in orders:
        progress("write the cut files, read them back")
        asked[order] = memory.cut_files.get(order) or cut_file(order)
    memory.cut_files = asked
    return tuple(asked[order] for order in orders)
