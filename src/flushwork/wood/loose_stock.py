"""Loose parts as they are turned: sizes that fit their holes, sticks to make them of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from flushwork.job.records import FinishPlan, Holes, Job, LoosePart

RAISED_MM: Final = 0.05
"""Raised grain and varnish in a hole's mouth tighten it by this much (assumed, 0.02 to 0.08 mm; a
ladder of holes on a test strip)."""
TIGHT_MM, LOOSE_MM = 0.05, 0.25
"""Play of a peg in its finished hole (common practice, no source: 0.05 to 0.15 mm is wanted)."""
WANTED_MM: Final = 0.1
"""Play of a peg whose size follows from its hole: the middle of what is wanted."""
TURNED_OFF_MM: Final = 2.0
"""Left on a stick's section to be turned or sanded off (common practice, no source)."""
PARTED_MM: Final = 3.0
"""Lost beside each part when it is cut off: kerf and clean ends (common practice, no source)."""
HELD_MM: Final = 80.0
"""The end of a stick that stays in the chuck or the carrier: small parts are cut from long stock,
never held by hand (common practice, no source)."""
LONGEST_MM: Final = 400.0
"""A thin stick longer than this whips in the lathe (common practice, no source)."""


def finished_hole_mm(holes: Holes, finish: FinishPlan | None) -> float:
    """Return a hole's diameter once finished: less the film on its walls and the raised grain."""
    film = finish.finish.film_mm * finish.coats if finish is not None and finish.holes_first else 0
    return holes.diameter_mm - 2.0 * film - RAISED_MM


def made_count(part: LoosePart, pieces: int) -> int:
    """Return how many of a kind are made in all, spares counted."""
    return (part.count + part.spares) * pieces


def holes_of(part: LoosePart, job: Job) -> Holes | None:
    """Return the hole pattern a kind goes in, None where it goes in none."""
    found = (each for face in job.faces for each in face.holes if each.name == part.goes_in)
    return next(found, None) if part.goes_in else None


def coats_mm(part: LoosePart, job: Job) -> float:
    """Return what finish adds to a part's diameter."""
    film_mm = job.finish.finish.film_mm if job.finish is not None else 0.0
    return 2.0 * part.coats * film_mm


def turned_mm(part: LoosePart, job: Job) -> float | None:
    """Return what a part is turned to before any finish; None where nothing says it."""
    if part.across_mm is not None:
        return part.across_mm
    holes = holes_of(part, job)
    if holes is None:
        return None
    return finished_hole_mm(holes, job.finish) - WANTED_MM - coats_mm(part, job)


def tapered_in_mm(long_mm: float, thick_mm: float, thin_mm: float, hole_mm: float) -> float:
    """Return how deep a tapered peg goes into a finished hole narrower than its thick end.

    Negative where the hole is narrower than its tip.
    """
    return long_mm * (hole_mm - thin_mm) / (thick_mm - thin_mm)


@dataclass(frozen=True, slots=True)
class Sticks:
    """Square sticks that parts of one kind are made of: how many, their side and their length."""

    count: int
    side_mm: float
    length_mm: float
    parts_each: int


def sticks_of(part: LoosePart, job: Job) -> Sticks | None:
    """Return the sticks for all parts of a kind, none longer than ``LONGEST_MM``.

    None where a size is not known.  A die is as long as it is wide.
    """
    across = turned_mm(part, job)
    long = across if part.shape == "die" else part.long_mm
    if across is None or long is None:
        return None
    step = long + PARTED_MM
    most = max(1, math.floor((LONGEST_MM - HELD_MM) / step))
    wanted = made_count(part, job.pieces)
    count = math.ceil(wanted / most)
    each = math.ceil(wanted / count)
    return Sticks(count, across + TURNED_OFF_MM, HELD_MM + each * step, each)
