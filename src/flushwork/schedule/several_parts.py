"""Several parts of one job in one run: their tasks one after another, their pours in one cup.

Each part is worked as a job of its own would be; what they share is the shop, its days, its cups.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from flushwork.art.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.process.pour_requests import goes_ahead, pour_requests
from flushwork.process.stages import Plan
from flushwork.resin.cup.batches import in_one_cup, plan_pours, split_pieces
from flushwork.resin.pours import Pour
from flushwork.schedule.resume import NOTHING_DONE, Progress
from flushwork.schedule.run import StagePart, parts_of
from flushwork.shelf.items import Shop
from flushwork.strata.surfaces import Poured
from flushwork.toolpaths.orders import GcodeFile


@dataclass(frozen=True, slots=True)
class PartWork:
    """What is done to one part of a job: its stages, and its G-code files by stage number."""

    job: Job
    plan: Plan
    gcode_files: Mapping[int, Sequence[GcodeFile]]


def all_parts(
    works: Sequence[PartWork],
    pours: Sequence[Pour],
    longest_min: int,
    progress: Progress = NOTHING_DONE,
    bed: int | None = None,
) -> tuple[StagePart, ...]:
    """Return the tasks of all parts of a job; their pieces count on from part to part.

    Of what the log tells only the last that was set up stands on the machine, of whatever part.
    """
    found: list[StagePart] = []
    first, on_bed = 0, _last_cut(works, progress)
    for work in works:
        count = work.job.pieces + work.job.test_pieces
        name = work.job.part
        own = [pour for pour in pours if pour.part == name]
        done = replace(progress.of_pieces(first, count), taken_off=work is not on_bed)
        tasks = parts_of(work.job, work.plan, work.gcode_files, own, longest_min, done, bed)
        found += [
            replace(
                task,
                name=f"{name}/{task.name}" if name else task.name,
                pieces=tuple(first + piece for piece in task.pieces),
                part=name,
            )
            for task in tasks
        ]
        first += count
    return tuple(found)


def _last_cut(works: Sequence[PartWork], progress: Progress) -> PartWork | None:
    """Return the part that was worked on the machine last, by the log."""
    latest: tuple[int, PartWork] | None = None
    first = 0
    for work in works:
        count = work.job.pieces + work.job.test_pieces
        own = progress.of_pieces(first, count).done
        cut = [each.end_min for each in own if work.plan.stage(each.stage).setup]
        if cut and (latest is None or max(cut) > latest[0]):
            latest = (max(cut), work)
        first += count
    return latest[1] if latest is not None else None


@dataclass(frozen=True, slots=True)
class PartPoured:
    """One part of a job: what is done to it, and the liquid that its replay asks for."""

    job: Job
    faces: Sequence[DrawnFace]
    plan: Plan
    poured: Sequence[Poured]
    gcode_files: Mapping[int, Sequence[GcodeFile]]

    @property
    def work(self) -> PartWork:
        """What is done to it."""
        return PartWork(self.job, self.plan, self.gcode_files)


def groups_of(job: Job, count: int) -> tuple[int, ...]:
    """Return how many pieces each of so many groups holds, test pieces among the first.

    Test pieces that go ahead are a group of their own besides.
    """
    ahead = (job.test_pieces,) if goes_ahead(job) else ()
    rest = grouped(job)
    return (*ahead, *split_pieces(rest, min(count, rest)))


def grouped(job: Job) -> int:
    """Return how many pieces are parted into groups: all but test pieces that go ahead."""
    return job.pieces + (0 if goes_ahead(job) else job.test_pieces)


def pours_in_groups(parts: Sequence[PartPoured], count: int) -> tuple[Pour, ...]:
    """Return the pours of all parts of a job, each in so many groups; their numbers count on."""
    found: tuple[Pour, ...] = ()
    for part in parts:
        groups = groups_of(part.job, count)
        requests = pour_requests(part.job, part.faces, part.plan, part.poured, groups)
        found += tuple(
            replace(
                pour,
                number=len(found) + pour.number,
                shares_clear_with=tuple(len(found) + each for each in pour.shares_clear_with),
                part=part.job.part,
            )
            for pour in plan_pours(requests, part.job.shop)
        )
    return found


PourPlace = tuple[str, int, int]
"""A pour by its part of the job, its stage, and the first piece it fills."""


def place_of(pour: Pour) -> PourPlace:
    """Return where a pour stands in its job, whatever its number is."""
    return pour.part, pour.stage, pour.first


def cups_of(pours: Sequence[Pour]) -> tuple[tuple[PourPlace, PourPlace], ...]:
    """Return the pours of different parts of a job that come out of one cup, in the order taken."""
    pairs = ((place_of(one), place_of(two)) for one, two in poured_together(pours))
    return tuple((one, two) for one, two in pairs if one[0] != two[0])


def poured_together(pours: Sequence[Pour]) -> Iterator[tuple[Pour, Pour]]:
    """Yield the pours that come out of one cup, in the order taken."""
    by_number = {pour.number: pour for pour in pours}
    for pour in pours:
        for other in pour.also_fills:
            yield pour, by_number[other]


def in_cups(
    pours: Sequence[Pour], cups: Sequence[tuple[PourPlace, PourPlace]], shop: Shop
) -> tuple[Pour, ...]:
    """Return pours with those made in one cup that are so in the plan, where one cup holds them."""
    found = {place_of(pour): pour for pour in pours}
    for one, two in cups:
        if one in found and two in found:
            made = in_one_cup(found[one], found[two], shop)
            if made is not None:
                found[one], found[two] = made
    by_number = {pour.number: pour for pour in found.values()}
    return tuple(by_number.get(pour.number, pour) for pour in pours)
