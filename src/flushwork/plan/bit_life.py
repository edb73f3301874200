"""How long a bit stays sharp, counted in holes, and before which piece it is changed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from flushwork.geometry.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.plan.trim_choice import hole_cutter
from flushwork.shelf.items import Cutter

ASSUMED_LIFE: Final = 1500
"""Holes after which a small cutter is no longer sharp (assumed, 500 to 3000; a burn coupon)."""


@dataclass(frozen=True, slots=True)
class BitChange:
    """A fresh bit is put in before a piece (from 1, test pieces first), ``after`` holes of it."""

    piece: int
    after: int


@dataclass(frozen=True, slots=True)
class BitLife:
    """One bit over the whole run: its holes, how many it stays sharp for, when it is changed.

    ``assumed`` says that nobody has stated how long it stays sharp.  ``together`` pieces are
    drilled at once; a change is then told by the first of them.
    """

    cutter: Cutter
    holes_each: int
    pieces: int
    life: int
    assumed: bool
    changes: tuple[BitChange, ...]
    together: int = 1

    @property
    def holes(self) -> int:
        """All its holes in the run."""
        return self.holes_each * self.pieces


def bit_lives(job: Job, faces: Sequence[DrawnFace]) -> tuple[BitLife, ...]:
    """Return every bit that drills a pattern, in the order of the patterns."""
    counts: dict[Cutter, int] = {}
    for face in faces:
        for pattern in face.holes:
            cutter = hole_cutter(job, pattern)
            if cutter is not None:
                counts[cutter] = counts.get(cutter, 0) + len(pattern.places)
    pieces, together = job.pieces + job.test_pieces, job.bed.pieces
    return tuple(
        BitLife(
            cutter,
            each,
            pieces,
            cutter.life_holes or ASSUMED_LIFE,
            cutter.life_holes == 0,
            tuple(
                replace(change, piece=(change.piece - 1) * together + 1)
                for change in changes_of(
                    each * together,
                    math.ceil(pieces / together),
                    cutter.life_holes or ASSUMED_LIFE,
                )
            ),
            together,
        )
        for cutter, each in counts.items()
    )


def changes_of(holes_each: int, pieces: int, life: int) -> tuple[BitChange, ...]:
    """Return when a bit is changed: between pieces where one lasts for a piece, else within them.

    The first bit is fresh.
    """
    found: list[BitChange] = []
    left = life
    for piece in range(1, pieces + 1):
        if holes_each <= life:
            if holes_each > left:
                found.append(BitChange(piece, 0))
                left = life
            left -= holes_each
            continue
        done = 0
        while holes_each - done > left:
            done += left
            left = life
            found.append(BitChange(piece, done))
        left -= holes_each - done
    return tuple(found)


def piece_names(job: Job) -> tuple[str, ...]:
    """Return the names of the run's pieces as they are worked: test pieces first."""
    tests = tuple(f"T{number + 1}" for number in range(job.test_pieces))
    return (*tests, *(str(number + 1) for number in range(job.pieces)))


def change_text(life: BitLife, names: Sequence[str]) -> str:
    """Return one bit's line of the change card; ``names`` are the pieces' names in order."""
    sharp = f"sharp for about {life.life} holes" + (" (assumed)" if life.assumed else "")
    holes = "hole" if life.holes_each == 1 else "holes"
    told = f"{life.cutter.name}: {life.holes_each} {holes} each, {life.holes} in the run, {sharp}"
    if not life.changes:
        return f"{told}: one fresh bit does it"
    when = "; ".join(
        f"before piece {names[change.piece - 1]}"
        if change.after == 0
        else f"in piece {names[change.piece - 1]} after hole {change.after}"
        for change in life.changes
    )
    held = f" (and the {life.together - 1} held with it)" if life.together > 1 else ""
    return f"{told}: a fresh bit at the start and {when}{held}"
