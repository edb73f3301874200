"""Which drilled holes a canned cycle can stand for, and its numbers.

Source: NISTIR 6556, section 3.5.16.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from flushwork.toolpaths.arcs_on_grid import Grid
from flushwork.toolpaths.drill import DrillHole
from flushwork.toolpaths.moves import Move, MoveKind

_DWELL_PLACES: Final = 3


@dataclass(frozen=True, slots=True)
class Canned:
    """One hole as a cycle: all but ``x`` and ``y`` may be shared with the hole before.

    ``word`` is G81, G82 or G83, ``back`` G98 or G99; lengths are in grid steps.  The cycle must
    begin above (x, y) at ``travel``.
    """

    word: str
    back: str
    x: int
    y: int
    travel: int
    top: int
    floor: int
    peck: int
    dwell: str
    feed_mm_min: float

    @property
    def shared(self) -> tuple[object, ...]:
        """What must be the same for the next hole to be written by its place alone."""
        return (self.word, self.back, self.top, self.floor, self.peck, self.dwell)


def canned(hole: DrillHole, moves: Sequence[Move], grid: Grid) -> Canned | None:
    """Return the cycle that makes the moves of ``hole``, None where none of the three does.

    A pecked hole with a dwell on its floor has no cycle in the published language.
    """
    own = moves[hole.first : hole.last + 1]
    feeds = [move for move in own if move.kind is MoveKind.FEED]
    if not feeds or hole.first == 0 or any(move.kind is MoveKind.ARC for move in own):
        return None
    travel, top = grid.steps(moves[hole.first - 1].z_mm), grid.steps(hole.top)
    floor, end = grid.steps(hole.floor), grid.steps(own[-1].z_mm)
    pecked = len(feeds) > 1
    peck = grid.steps(hole.peck) if pecked else 0
    one_feed = all(feed.feed_mm_min == feeds[0].feed_mm_min for feed in feeds)
    at_floor = min(grid.steps(move.z_mm) for move in own) == floor
    straight = all(
        grid.steps(move.x_mm) == grid.steps(hole.x) and grid.steps(move.y_mm) == grid.steps(hole.y)
        for move in own
    )
    fits = one_feed and at_floor and straight and travel >= top > floor and end in {top, travel}
    if not fits or own[-1].kind is not MoveKind.RAPID or (pecked and peck < 1):
        return None
    dwell = f"{sum(move.dwell_s for move in own):.{_DWELL_PLACES}f}"
    if pecked and hole.dwell_s > 0.0:
        return None
    plain = "G82" if hole.dwell_s > 0.0 else "G81"
    return Canned(
        word="G83" if pecked else plain,
        back="G98" if end == travel else "G99",
        x=grid.steps(hole.x),
        y=grid.steps(hole.y),
        travel=travel,
        top=top,
        floor=floor,
        peck=peck,
        dwell=dwell if plain == "G82" else "",
        feed_mm_min=feeds[0].feed_mm_min,
    )
