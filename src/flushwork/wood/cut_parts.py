"""The parts of a run, laid out on the boards on hand: those of one wood and thickness together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from flushwork.cutlist.lay_out import lay_out
from flushwork.cutlist.parts import Defect, Plank, SawLayout, SawPart
from flushwork.job.keys.cut_list import BoardOnHand, CutList
from flushwork.job.records import Job
from flushwork.wood.rough_stock import rough_parts


@dataclass(frozen=True, slots=True)
class WantedPart:
    """A part of the whole run: its sawn size, its finished one, its wood; sizes in mm.

    ``thick_mm`` is what a board has to be at least; ``finished_mm`` along, across, thick.
    """

    part: SawPart
    thick_mm: float
    finished_mm: tuple[float, float, float]
    wood: str


@dataclass(frozen=True, slots=True)
class CutGroup:
    """Parts of one wood and thickness, the boards they are sawn from, and how."""

    wood: str
    thick_mm: float
    wanted: tuple[WantedPart, ...]
    boards: tuple[BoardOnHand, ...]
    layout: SawLayout


def wanted_parts(job: Job) -> tuple[WantedPart, ...]:
    """Return every part of a run: the strips of its blanks, and what the cut list adds."""
    return (*_blanks(job), *_others(job))


def _blanks(job: Job) -> Iterator[WantedPart]:
    blank, more = job.blank, job.rough
    part = f"{job.part} " if job.part else ""
    several = len(blank.strips_mm) > 1
    for rough in rough_parts(job):
        wide = rough.across_mm - more.width_mm
        yield WantedPart(
            SawPart(
                part + (f"strip {wide:g}" if several else "blank"),
                rough.along_mm,
                rough.across_mm,
                rough.count,
            ),
            rough.thick_mm,
            (blank.along_mm, wide, blank.thickness_mm),
            blank.wood.name,
        )


def _others(job: Job) -> Iterator[WantedPart]:
    more, runs = job.rough, job.pieces + job.test_pieces
    for each in job.cut_list.parts if job.cut_list else ():
        along, across = each.length_mm + more.length_mm, each.width_mm + more.width_mm
        yield WantedPart(
            SawPart(each.name, along, across, each.count * runs, each.turns),
            each.thickness_mm + more.thickness_mm,
            (each.length_mm, each.width_mm, each.thickness_mm),
            each.wood.name,
        )


def cut_groups_of(jobs: Sequence[Job], boxed: tuple[WantedPart, ...] = ()) -> tuple[CutGroup, ...]:
    """Return the layouts of a run and its boxes, none where the job names no boards.

    ``jobs`` are all parts of the job, each with its own blanks; the first has the cut list.
    A board goes to the thickest parts it is thick enough for.
    """
    cut_list = jobs[0].cut_list
    if cut_list is None:
        return ()
    wanted = (*(part for job in jobs for part in wanted_parts(job)), *boxed)
    kinds = sorted({(each.wood, each.thick_mm) for each in wanted})
    return tuple(_group(cut_list, wanted, kinds, wood, thick) for wood, thick in kinds)


def _group(
    cut_list: CutList,
    wanted: tuple[WantedPart, ...],
    kinds: list[tuple[str, float]],
    wood: str,
    thick_mm: float,
) -> CutGroup:
    own = tuple(each for each in wanted if (each.wood, each.thick_mm) == (wood, thick_mm))
    thicker = min((t for w, t in kinds if w == wood and t > thick_mm), default=float("inf"))
    boards = tuple(
        each
        for each in cut_list.boards
        if each.wood.name == wood and thick_mm <= each.thickness_mm < thicker
    )
    parts = tuple(each.part for each in own)
    planks = tuple(_plank(each) for each in boards)
    layout = lay_out(parts, planks, cut_list.kerf_mm) if planks else SawLayout((), parts, 0.0)
    return CutGroup(wood, thick_mm, own, boards, layout)


def _plank(board: BoardOnHand) -> Plank:
    return Plank(
        board.name,
        board.length_mm,
        board.width_mm,
        board.count,
        tuple(
            Defect(
                each.from_mm,
                each.near_mm,
                each.until_mm - each.from_mm,
                (board.width_mm if each.far_mm is None else each.far_mm) - each.near_mm,
            )
            for each in board.defects
        ),
    )
