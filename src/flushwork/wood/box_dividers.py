"""The dividers of a box: how long they are, where they cross, how large what is between them."""

from __future__ import annotations

from flushwork.job.records import HeldHow, LidLies
from flushwork.wood.box_sizes import MadeBox


def dividers_mm(made: MadeBox) -> tuple[tuple[str, float, int], ...]:
    """Return the dividers each way: along or across, their length, how many."""
    dividers = made.box.dividers
    if dividers is None:
        return ()
    more = 2.0 * (dividers.groove_mm - dividers.play_mm)
    along, across = (size + more for size in made.inside_mm)
    return ("along", along, dividers.along), ("across", across, dividers.across)


def room_mm(size_mm: float, dividers: int, thick_mm: float) -> float:
    """Return how wide each of the rooms is that dividers part a size into."""
    return (size_mm - dividers * thick_mm) / (dividers + 1)


def divider_middles_mm(size_mm: float, dividers: int, thick_mm: float) -> tuple[float, ...]:
    """Return where the middles of evenly spaced dividers stand, from the wall's inner face."""
    step = room_mm(size_mm, dividers, thick_mm) + thick_mm
    return tuple(at * step - thick_mm / 2.0 for at in range(1, dividers + 1))


def divided_mm(made: MadeBox) -> tuple[float, float]:
    """Return the rooms' size, along the blank's length and across it; negative without any room."""
    dividers = made.box.dividers
    if dividers is None:
        return made.inside_mm
    thick, (along, across) = dividers.thickness_mm, made.inside_mm
    return room_mm(along, dividers.across, thick), room_mm(across, dividers.along, thick)


def headroom_mm(made: MadeBox) -> float:
    """Return the height inside, from the bottom to what lies over it."""
    box, held = made.box, made.box.board
    floor = box.bottom.from_base_mm + box.bottom.width_mm if box.bottom is not None else box.trim_mm
    top = box.height_mm - box.trim_mm
    if held is not None and held.how is HeldHow.LOOSE and made.board is not None:
        top -= made.board.thick_mm
    elif held is not None and held.how is not HeldHow.LOOSE:
        top = held.from_base_mm
    if box.lid_panel is not None and box.lid_panel.how is LidLies.REBATE:
        top = min(top, box.lid_panel.from_base_mm)
    return top - floor
