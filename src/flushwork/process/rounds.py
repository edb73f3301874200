"""The rounds of a face, and where its wood stands after each: the planes every depth refers to.

A round is cut, seal, fill, cure, mill flush.  An inlay waits for the round after

- the inlays it is cut into (``second pass of``), runs along (``seam line``) or is told to follow;
- any earlier inlay of the file that it touches and that has another mix: two wet resins without
  wood between them would run together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from graphlib import TopologicalSorter

import shapely

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.job.keys.inlays import rests_on
from flushwork.job.records import Allowances, FaceName, Inlay, Manner, MeasuredFrom
from flushwork.resin.pours import levels_mm
from flushwork.resin.recess import keeps_share
from flushwork.runtime.memo import memoized

TOUCHING_MM = 0.3
"""Less wood than this between two wet colours does not hold them apart (assumed, 0.2 to 1 mm; a
test strip with a ladder of narrow strips of wood would replace it)."""


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


@dataclass(frozen=True, slots=True)
class FacePlanes:
    """The rounds of one face, and the heights of its wood in mm from its as-sawn plane.

    ``rounds`` are the names of the inlays cut and filled together, first round first.  ``flat_mm``
    is the face once surfaced; ``rounds_mm[k]`` after round k + 1 has been milled flush and sanded.
    A face that nothing is cut into has no rounds; where it is sanded it has one such height.
    """

    face: FaceName
    rounds: tuple[tuple[str, ...], ...]
    flat_mm: float
    rounds_mm: tuple[float, ...]

    @property
    def finished_mm(self) -> float:
        """The finished face."""
        return self.rounds_mm[-1] if self.rounds_mm else self.flat_mm

    def before_mm(self, number: int) -> float:
        """Return where the wood stands when round ``number`` (from 1) is cut."""
        return self.flat_mm if number == 1 else self.rounds_mm[number - 2]

    def round_of(self, inlay: str) -> int:
        """Return the round that an inlay is cut in, from 1."""
        return next(number for number, names in enumerate(self.rounds, start=1) if inlay in names)

    def drawn(self, face: DrawnFace) -> tuple[tuple[DrawnInlay, ...], ...]:
        """Return the inlays of the face by round, first round first."""
        by_name = {drawn.inlay.name: drawn for drawn in face.inlays}
        return tuple(tuple(by_name[name] for name in names) for names in self.rounds)

    def standing_mm(self, inlay: Inlay) -> float:
        """Return where the wood stands when an inlay is cut."""
        return self.before_mm(self.round_of(inlay.name))

    def floor_mm(self, inlay: Inlay) -> float:
        """Return the height of an inlay's floor when it is cut."""
        if inlay.measured_from is MeasuredFrom.FINISHED:
            return self.finished_mm - inlay.depth_mm
        return self.standing_mm(inlay) - inlay.depth_mm


def planes_of(allowances: Allowances, faces: Sequence[DrawnFace]) -> tuple[FacePlanes, ...]:
    """Return the rounds and planes of each face."""
    return tuple(_planes(allowances, face) for face in faces)


def _planes(allowances: Allowances, face: DrawnFace) -> FacePlanes:
    flat_mm = stands_mm = -allowances.surface_mm
    planes: list[float] = []
    face_rounds = rounds(face)
    for number, drawn in enumerate(face_rounds, start=1):
        if needs_milling(drawn):
            stands_mm -= allowances.mill_flush_mm
        stands_mm -= allowances.sand_mm if number == 1 else allowances.light_sand_mm
        planes.append(stands_mm)
    if allowances.sand_bare and not face.worked:
        planes.append(flat_mm - allowances.sand_mm)
    names = tuple(tuple(drawn.inlay.name for drawn in together) for together in face_rounds)
    return FacePlanes(face.name, names, flat_mm, tuple(planes))


def milled_to_mm(allowances: Allowances) -> float:
    """Return how high over the wood a flush milling stops: resin left proud above, or in the wood.

    Where the whole face is milled, ``mill flush`` deep, wood and resin come flush and nothing is
    left proud.
    """
    return -allowances.mill_flush_mm if allowances.mill_flush_mm > 0.0 else allowances.left_proud_mm


def milled_to_words(allowances: Allowances) -> str:
    """Return where a flush milling stops, to follow the words that say what stops there."""
    height_mm = milled_to_mm(allowances)
    return f"{abs(height_mm):g} mm {'above' if height_mm >= 0.0 else 'below'} the wood"


def needs_milling(face_round: tuple[DrawnInlay, ...]) -> bool:
    """Whether a round leaves resin proud: anything overfilled or capped does."""
    return any(drawn.inlay.manner is not Manner.SCRAPED for drawn in face_round)


def fill_levels_mm(inlay: Inlay, allowances: Allowances, planes: FacePlanes) -> tuple[float, ...]:
    """Return the heights an inlay is filled to: one for each layer poured.

    Only an inlay that the job wants ``in layers`` has more than one.
    """
    overfill_mm = allowances.overfill_mm if inlay.manner is Manner.OVERFILLED else 0.0
    level_mm = planes.standing_mm(inlay) + overfill_mm
    bottom_mm = planes.floor_mm(inlay)
    if not inlay.in_layers or level_mm <= bottom_mm:
        return (level_mm,)
    layer_mm = inlay.mix.resin.layer_mm
    above = levels_mm(level_mm - bottom_mm, layer_mm, keeps_share(inlay.mix, layer_mm))
    return tuple(bottom_mm + each for each in above)
