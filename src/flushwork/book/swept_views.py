"""What the card of a mounting tells of where its cutters sweep: in words, and as a drawn region."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import reduce

from flushwork.book.figures import NO_BREAK, Lengths, clean, number
from flushwork.book.records import Fact
from flushwork.plan.stages import Mounting
from flushwork.toolpaths.orders import CutFile
from flushwork.toolpaths.swept import CLAMP_GAP_MM, Box, Swept, swept

_ROUNDED = 1e-6


def stays_within(found: Swept | None, lengths: Lengths) -> str:
    """Return what a file's cutter sweeps over, by the file's own zero."""
    if found is None:
        return ""
    over = lengths.say(found.over_mm)
    return (
        f"{_box(found.low, lengths)} below Z{NO_BREAK}{over}, and at that height "
        f"{_box(found.all, lengths)}, the cutter's radius counted"
    )


def keep_out_facts(
    mounting: Mounting, files: Sequence[CutFile], lengths: Lengths
) -> tuple[Fact, ...]:
    """Return where no clamp, screw or pin may stand, by the mounting's zero.

    A file for the bare spoilboard runs before anything is held.
    """
    known = [
        (file, found)
        for file in files
        if not file.order.bare and (found := swept(file.program, file.order.cutter))
    ]
    low = keep_out_box(mounting, files)
    if low is None:
        return ()
    whole = reduce(Box.and_also, (_here(mounting, file, found.all) for file, found in known))
    crossed_mm = [found.over_mm - file.order.face_above_mm for file, found in known]
    below = f"{lengths.say(max(crossed_mm))} above the wood"
    over = f"{lengths.say(min(crossed_mm))} above the wood"
    let_in = "; what it is located by ends below the face" if mounting.recesses else ""
    return (
        Fact(
            "Keep out",
            f"nothing that holds it within {_box(low, lengths)} of this zero (broken line), nor "
            f"nearer to it than {lengths.say(CLAMP_GAP_MM, 1)}: there a cutter comes lower than "
            f"{below}, its radius counted{let_in}",
        ),
        Fact("Crosses", f"{_box(whole, lengths)}: nothing there higher than {over}"),
        _holder(mounting, known, lengths),
    )


def _holder(mounting: Mounting, known: Sequence[tuple[CutFile, Swept]], lengths: Lengths) -> Fact:
    """Return how low the holders of a mounting's files come, and where they are."""

    def low_mm(each: tuple[CutFile, Swept]) -> float:
        file, found = each
        return found.deepest_mm + file.order.cutter.reach_mm - file.order.face_above_mm

    lowest = min(known, key=low_mm)
    across_mm = max(file.order.machine.holder_mm for file, _ in known)
    room = reduce(
        Box.and_also,
        (
            _here(mounting, file, found.all.grown(max(across_mm / 2.0 - found.radius_mm, 0.0)))
            for file, found in known
        ),
    )
    return Fact(
        "Holder",
        f"comes down to {lengths.say(low_mm(lowest))} above the wood in "
        f"{clean(lowest[0].file_name)}: nothing higher than that within {_box(room, lengths)}, "
        f"its nut counted {lengths.say(across_mm)} wide (`holder width`; assumed where the shop "
        "file does not say it)",
    )


def keep_out_box(mounting: Mounting, files: Sequence[CutFile]) -> Box | None:
    """Return the region of a mounting's card, by its zero; none where nothing is cut."""
    found = [
        _here(mounting, file, seen.low)
        for file in files
        if not file.order.bare and (seen := swept(file.program, file.order.cutter))
    ]
    return reduce(Box.and_also, found) if found else None


def _here(mounting: Mounting, file: CutFile, box: Box) -> Box:
    """Return a file's region by the zero of its mounting; a file from elsewhere has its own."""
    (x, y), (base_x, base_y) = file.order.origin_mm, mounting.origin_mm
    return box.moved(x - base_x, y - base_y)


def _box(box: Box, lengths: Lengths) -> str:
    return (
        f"X {_span(box.left_mm, box.right_mm, lengths)}, "
        f"Y {_span(box.near_mm, box.far_mm, lengths)}{NO_BREAK}{lengths.head}"
    )


def _span(low_mm: float, high_mm: float, lengths: Lengths) -> str:
    """Return a range, rounded outwards to a hundredth of a millimetre."""
    low = math.floor(low_mm * 100.0 + _ROUNDED) / 100.0
    high = math.ceil(high_mm * 100.0 - _ROUNDED) / 100.0
    if lengths.units == "metric":
        return f"{number(low, 2)} to {number(high, 2)}"
    return f"{lengths.cell(low)} to {lengths.cell(high)}"
