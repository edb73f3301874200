"""Do the boards on hand hold the parts of the run?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.core.findings import Finding, Measure, Subject
from flushwork.core.words import listed, plural
from flushwork.cutlist.parts import SawPart
from flushwork.wood.box_stock import box_parts
from flushwork.wood.cut_parts import CutGroup, cut_groups_of


def boards_too_few(build: Build) -> Iterator[Finding]:
    """Yield a warning for each wood and thickness of which parts find no board."""
    cut_list = build.job.cut_list
    if cut_list is None:
        return
    jobs = [part.job for part in build.each]
    for group in cut_groups_of(jobs, box_parts(build.job, box_of_build(build))):
        out = group.layout.left_out
        if not out:
            continue
        count = sum(part.count for part in out)
        names = listed(
            [
                f"{part.count} of {part.name} ({part.along_mm:g} mm x {part.across_mm:g} mm sawn)"
                for part in out
            ],
            4,
        )
        yield Finding.warning(
            "boards-too-few",
            message=f"No board holds {names}: {_why(group, out)}.",
            remedy=_remedy(group, out),
            subjects=(Subject("material", group.wood),),
            source=(group.boards or cut_list.boards)[0].source,
            measure=Measure(plural(count, "part left out", "parts left out"), count, 0.0, ""),
        )


def _why(group: CutGroup, out: tuple[SawPart, ...]) -> str:
    if not group.boards:
        return f"none of {group.wood} is {group.thick_mm:g} mm thick, which they are sawn from"
    longest = max(board.length_mm for board in group.boards)
    widest = max(board.width_mm for board in group.boards)
    if any(part.along_mm > longest and not part.turns for part in out):
        return f"the longest board is {longest:g} mm"
    if any(part.across_mm > widest and not part.turns for part in out):
        return f"the widest board is {widest:g} mm"
    return "what the boards have clear of defects is used up"


def _remedy(group: CutGroup, out: tuple[SawPart, ...]) -> str:
    area_mm2 = sum(part.area_mm2 * part.count for part in out)
    if group.boards and _why(group, out).startswith("what"):
        return (
            f"Lay out another board: {area_mm2 / 1e4:.0f} cm2 of parts are over; or make fewer "
            "pieces, or less room in `rough stock`."
        )
    if group.boards and _why(group, out).startswith("the widest"):
        return "Glue them up of narrower strips (`glue up`), or lay out wider boards."
    if group.boards and any(part.name.startswith("box wall") for part in out):
        longest = max(part.along_mm for part in out)
        one = " in one length" in " ".join(part.name for part in out)
        instead = "write `grain: each wall by itself` in `box`" if one else "make the box smaller"
        return f"Lay out a board at least {math.ceil(longest)} mm long, or {instead}."
    return "Lay out boards that are long and thick enough, or less room in `rough stock`."


RULES = (boards_too_few,)
