"""Bed loads: the pieces that lie on the machine together and go through a file in one run of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flushwork.job.records import Job
from flushwork.process.pour_requests import goes_ahead
from flushwork.process.stages import Plan
from flushwork.schedule.resume import Progress


@dataclass(frozen=True, slots=True)
class OnMachine:
    """The mounting that stands on the machine half worked, and a piece of its load."""

    mounting: int
    piece: int


def loads_of(job: Job, count: int, progress: Progress, bed: int) -> tuple[tuple[int, ...], ...]:
    """Return the pieces, by index, that are worked together on a bed of so many places.

    Test pieces that go ahead lie alone; spoiled pieces are left out; pieces of which one is further
    on than another are no longer worked together.
    """
    rows = [range(count)]
    if goes_ahead(job):
        rows = [range(job.test_pieces), range(job.test_pieces, count)]
    found: list[tuple[int, ...]] = []
    for row in rows:
        for first in range(row.start, row.stop, bed):
            alike: dict[int, list[int]] = {}
            for piece in range(first, min(first + bed, row.stop)):
                if piece not in progress.spoiled:
                    alike.setdefault(progress.last(piece), []).append(piece)
            found += [tuple(pieces) for pieces in alike.values()]
    return tuple(found)


def on_machine(plan: Plan, pieces: Sequence[int], progress: Progress) -> OnMachine | None:
    """Return what stands on the machine by the log: what was worked last, if it is not through.

    Whatever was mounted before it has been taken off and has to be mounted anew.
    """
    worked = [
        (end_min, piece, number)
        for piece in pieces
        for number, end_min in progress.ends(piece).items()
        if plan.stage(number).mounting
    ]
    if not worked:
        return None
    _, piece, _ = max(worked)
    mounting = plan.stage(max(number for _, other, number in worked if other == piece)).mounting
    through = max(stage.number for stage in plan.stages if stage.mounting == mounting)
    if progress.last(piece) >= through or piece in progress.spoiled:
        return None
    return OnMachine(mounting, piece)
