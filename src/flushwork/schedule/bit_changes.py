"""Which bits are put in over a whole run, and how few that could be.

A setup is done without another between its beginning and its end, so only from one setup to
the next can a bit stay in the machine.

How long a bit stays sharp, counted in holes, and before which piece it is changed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Final

from flushwork.art.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.process.orders.drill_orders import hole_bit
from flushwork.schedule.solve.tasks import Hold, Problem, Span
from flushwork.shelf.items import Bit

MOST_SETUPS = 24
"""More setups than this are not put in order by a search: it would have too many arcs."""


@dataclass(frozen=True, slots=True)
class Mounted:
    """One setup: its first and last task, the bits it takes in order."""

    hold: Hold
    tools: tuple[str, ...]

    @property
    def inner(self) -> int:
        """How often another bit is put in within it."""
        return sum(one != two for one, two in pairwise(self.tools))


def setups_of(problem: Problem) -> tuple[Mounted, ...]:
    """Return the setups that take bits, by the machine's holds and the tasks within them.

    A hold that names no tasks is held from its first to its last.
    """
    tools = {task.name: task.tools for task in problem.tasks}
    found: list[Mounted] = []
    for hold in problem.holds:
        if not hold.whole or not hold.first:
            continue
        taken: list[str] = []
        for name in hold.tasks or (hold.first, hold.last):
            taken += tools.get(name, ())
        if taken:
            found.append(Mounted(hold, tuple(taken)))
    return tuple(found)


def changes(mounted: Sequence[Mounted], spans: Mapping[str, Span]) -> int:
    """Return how often another bit is put in than the one left in the machine."""
    row = sorted(mounted, key=lambda item: spans[item.hold.first][0])
    inside = sum(item.inner for item in row)
    left = ["", *(item.tools[-1] for item in row)]
    return inside + sum(item.tools[0] != last for item, last in zip(row, left, strict=False))


def least_changes(mounted: Sequence[Mounted], before: Mapping[str, set[str]]) -> int:
    """Return a number of changes that no order of the setups can better.

    ``before`` are all tasks that must come before each.  A bit stays in between two setups
    only if nothing that takes one must come between them; of those that begin and end with one
    bit a row saves one less than they are.
    """
    can = {
        (one, two)
        for one in range(len(mounted))
        for two in range(len(mounted))
        if one != two
        and mounted[one].tools[-1] == mounted[two].tools[0]
        and _may_follow(mounted, before, one, two)
    }
    saved = 0
    for tool in {item.tools[0] for item in mounted}:
        pairs = {pair for pair in can if mounted[pair[1]].tools[0] == tool}
        ends, begins = {one for one, _ in pairs}, {two for _, two in pairs}
        both = {
            place for place in ends | begins
            if mounted[place].tools[0] == mounted[place].tools[-1] == tool
        }  # fmt: skip
        enders, starters = len(ends - both), len(begins - both)
        if both:
            saved += len(both) - 1 + (enders > 0) + (starters > 0)
            saved += max(0, min(enders, starters) - 1)
        else:
            saved += min(enders, starters)
    return sum(item.inner + 1 for item in mounted) - saved


def _may_follow(
    mounted: Sequence[Mounted], before: Mapping[str, set[str]], one: int, two: int
) -> bool:
    """Whether a setup can come right after another."""
    first, then = mounted[one].hold, mounted[two].hold
    if then.first in before[first.first]:
        return False
    return not any(
        first.last in before[other.hold.first] and other.hold.last in before[then.first]
        for other in mounted
    )


def fewest_changes(
    model: Any, mounted: Sequence[Mounted], starts: Mapping[str, Any], ends: Mapping[str, Any]
) -> Any:
    """Add the order of the setups to a model and return how many junctions change the bit."""
    arcs: list[tuple[int, int, Any]] = []
    changed: list[Any] = []
    for one, item in enumerate(mounted, start=1):
        arcs.append((0, one, model.new_bool_var("")))
        arcs.append((one, 0, model.new_bool_var("")))
        for two, other in enumerate(mounted, start=1):
            if one == two:
                continue
            follows = model.new_bool_var("")
            arcs.append((one, two, follows))
            model.add(starts[other.hold.first] >= ends[item.hold.last]).only_enforce_if(follows)
            if item.tools[-1] != other.tools[0]:
                changed.append(follows)
    model.add_circuit(arcs)
    return sum(changed)


ASSUMED_LIFE: Final = 1500
"""Holes after which a small bit is no longer sharp (assumed, 500 to 3000; a burn test strip)."""


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

    bit: Bit
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
    counts: dict[Bit, int] = {}
    for face in faces:
        for pattern in face.holes:
            bit = hole_bit(job, pattern)
            if bit is not None:
                counts[bit] = counts.get(bit, 0) + len(pattern.places)
    pieces, together = job.pieces + job.test_pieces, job.bed.pieces
    return tuple(
        BitLife(
            bit,
            each,
            pieces,
            bit.life_holes or ASSUMED_LIFE,
            bit.life_holes == 0,
            tuple(
                replace(change, piece=(change.piece - 1) * together + 1)
                for change in changes_of(
                    each * together,
                    math.ceil(pieces / together),
                    bit.life_holes or ASSUMED_LIFE,
                )
            ),
            together,
        )
        for bit, each in counts.items()
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
    told = f"{life.bit.name}: {life.holes_each} {holes} each, {life.holes} in the run, {sharp}"
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
