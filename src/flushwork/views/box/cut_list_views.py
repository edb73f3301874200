"""The cut list: what is sawn out of which board, how much is waste, what might do with less."""

from __future__ import annotations

from typing import Final

from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.cutlist.parts import Sawn
from flushwork.views.book_records import CutListView, Fact, Picture, TableView
from flushwork.views.drawing.board_layout import board_layout
from flushwork.views.figures import Lengths, clean, counted, percent
from flushwork.views.warning_lines import SAW
from flushwork.wood.box_stock import box_parts
from flushwork.wood.cut_parts import CutGroup, cut_groups_of

ORDER: Final = (
    "Crosscut first, then rip: each cut runs from edge to edge of what is left. Chalk every part "
    "with its name before you saw."
)


def cut_list_view(made: Build, width_mm: float, lengths: Lengths) -> CutListView | None:
    """Return the cut list of a build, None where its job names no boards."""
    jobs = [part.job for part in made.each]
    groups = cut_groups_of(jobs, box_parts(made.job, box_of_build(made)))
    if not groups:
        return None
    head = ("part", "number", f"sawn, {lengths.head}", f"finished, {lengths.head}", "wood", "grain")
    rows = tuple(
        (
            clean(wanted.part.name),
            str(wanted.part.count),
            _size(lengths, wanted.part.along_mm, wanted.part.across_mm, wanted.thick_mm),
            _size(lengths, *wanted.finished_mm),
            clean(wanted.wood),
            "either way" if wanted.part.turns else "along the board",
        )
        for group in groups
        for wanted in group.wanted
    )
    kerf_mm = made.job.cut_list.kerf_mm if made.job.cut_list else 0.0
    return CutListView(
        boards=tuple(
            picture for group in groups for picture in _pictures(made, group, width_mm, lengths)
        ),
        facts=(
            *(fact for group in groups for fact in _facts(group, lengths)),
            Fact("Kerf", lengths.say(kerf_mm, 1)),
        ),
        parts=TableView(head, rows, wide=(0, 4, 5)),
        notes=(ORDER, SAW),
    )


def _pictures(
    made: Build, group: CutGroup, width_mm: float, lengths: Lengths
) -> tuple[Picture, ...]:
    alike: dict[Sawn, int] = {}
    for each in group.layout.sawn:
        alike[each] = alike.get(each, 0) + 1
    colours = {wood.name: wood.colour for wood in made.job.shop.woods}
    longest_mm = max((board.length_mm for board in group.boards), default=1.0)
    return tuple(
        board_layout(sawn, times, colours[group.wood], width_mm, longest_mm, lengths)
        for sawn, times in alike.items()
    )


def _facts(group: CutGroup, lengths: Lengths) -> tuple[Fact, ...]:
    layout = group.layout
    what = f"{clean(group.wood)}, from {lengths.say(group.thick_mm, 0)}"
    if not layout.sawn:
        return (Fact(what, "no board of it is thick enough"),)
    words = [counted(len(layout.sawn), "board"), f"{percent(layout.waste)} waste"]
    if layout.left_out:
        words.append(f"{sum(part.count for part in layout.left_out)} parts find no board")
    elif layout.best:
        words.append("no less wood will do")
    else:
        words.append(f"at most {percent(layout.gap)} less wood might do")
    return (Fact(what, ", ".join(words)),)


def _size(lengths: Lengths, *sizes_mm: float) -> str:
    return " \N{MULTIPLICATION SIGN} ".join(lengths.cell(each, 1) for each in sizes_mm)
