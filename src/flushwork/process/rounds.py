"""Which inlays of a face are cut and filled together: the rounds.

A round is cut, seal, fill, cure, level.  An inlay waits for the round after

- the inlays it is cut into (``second pass of``), runs along (``seam line``) or is told to follow;
- any earlier inlay of the file that it touches and that has another mix: two wet resins without
  wood between them would run together.
"""

from __future__ import annotations

from dataclasses import dataclass
from graphlib import TopologicalSorter

import shapely

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.job.order import rests_on
from flushwork.runtime.memo import memoized

TOUCHING_MM = 0.3
"""Less wood than this between two wet colours does not hold them apart (assumed, 0.2 to 1 mm; a
coupon with a ladder of lands would replace it)."""


@dataclass(frozen=True, slots=True)
class RoundWait:
    """Why an inlay stands in a later round: after whom, in plain words."""

    after: str
    because: str


def waits(face: DrawnFace) -> dict[str, tuple[RoundWait, ...]]:
    """Return, for each inlay of a face by name, what it has to wait for."""
    result: dict[str, tuple[RoundWait, ...]] = {}
    for index, drawn in enumerate(face.inlays):
        inlay = drawn.inlay
        found = [RoundWait(name, f"it is cut into {name}") for name in inlay.second_pass_of]
        if inlay.seam is not None:
            found += [
                RoundWait(name, f"it runs along the edge of {name}") for name in inlay.seam.along
            ]
        found += [RoundWait(name, f"the job asks for it after {name}") for name in inlay.after]
        named = {wait.after for wait in found}
        found += [
            RoundWait(
                other.inlay.name,
                f"it touches {other.inlay.name}, and two wet colours would run together",
            )
            for other in face.inlays[:index]
            if other.inlay.name not in named and _would_mingle(other, drawn)
        ]
        result[inlay.name] = tuple(found)
    return result


def _would_mingle(first: DrawnInlay, second: DrawnInlay) -> bool:
    if first.inlay.mix.name == second.inlay.mix.name:
        return False
    if first.inlay.name in rests_on(second.inlay) or second.inlay.name in rests_on(first.inlay):
        return False
    if first.region.is_empty or second.region.is_empty:
        return False
    return bool(shapely.dwithin(first.region, second.region, TOUCHING_MM))


@memoized
def rounds(face: DrawnFace) -> tuple[tuple[DrawnInlay, ...], ...]:
    """Return the inlays of a face by round, first round first."""
    waiting = {name: [wait.after for wait in found] for name, found in waits(face).items()}
    number: dict[str, int] = {}
    # names unknown and circles were refused where the job was read
    for name in TopologicalSorter(waiting).static_order():
        number[name] = 1 + max((number[after] for after in waiting[name]), default=0)
    return tuple(
        tuple(drawn for drawn in face.inlays if number[drawn.inlay.name] == each)
        for each in range(1, max(number.values(), default=0) + 1)
    )
