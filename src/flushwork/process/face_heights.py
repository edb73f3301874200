"""Where a face's wood stands after each round: the planes every depth refers to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.job.records import Allowances, FaceName, Inlay, Manner, MeasuredFrom
from flushwork.process.rounds import rounds
from flushwork.resin.pours import levels_mm
from flushwork.resin.recess import keeps_share


@dataclass(frozen=True, slots=True)
class FacePlanes:
    """The rounds of one face, and the heights of its wood in mm from its as-sawn plane.

    ``rounds`` are the names of the inlays cut and filled together, first round first.  ``flat_mm``
    is the face once flattened; ``rounds_mm[k]`` after round k + 1 has been levelled and sanded.
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
    flat_mm = stands_mm = -allowances.flatten_mm
    planes: list[float] = []
    face_rounds = rounds(face)
    for number, drawn in enumerate(face_rounds, start=1):
        if needs_levelling(drawn):
            stands_mm -= allowances.level_mm
        stands_mm -= allowances.sand_mm if number == 1 else allowances.light_sand_mm
        planes.append(stands_mm)
    names = tuple(tuple(drawn.inlay.name for drawn in together) for together in face_rounds)
    return FacePlanes(face.name, names, flat_mm, tuple(planes))


def levelled_mm(allowances: Allowances) -> float:
    """Return how high over the wood a levelling stops: a skin of resin above, or in the wood.

    Where the whole face is milled, ``level`` deep, wood and resin come flush and no skin is left.
    """
    return -allowances.level_mm if allowances.level_mm > 0.0 else allowances.skin_mm


def levelled_words(allowances: Allowances) -> str:
    """Return where a levelling stops, to follow the words that say what stops there."""
    height_mm = levelled_mm(allowances)
    return f"{abs(height_mm):g} mm {'above' if height_mm >= 0.0 else 'below'} the wood"


def needs_levelling(face_round: tuple[DrawnInlay, ...]) -> bool:
    """Whether a round leaves resin proud: anything flooded or capped does."""
    return any(drawn.inlay.manner is not Manner.SCRAPED for drawn in face_round)


def above_depths_mm(planes: Sequence[FacePlanes], inlays: Iterable[Inlay]) -> dict[str, float]:
    """Return how much deeper each inlay is cut than its depth says, by its name.

    It is cut from a face that still stands above the finished one its depth counts from.
    """
    own = {each.face: each for each in planes}
    return {
        inlay.name: own[inlay.face].standing_mm(inlay)
        - own[inlay.face].floor_mm(inlay)
        - inlay.depth_mm
        for inlay in inlays
    }


def fill_levels_mm(inlay: Inlay, allowances: Allowances, planes: FacePlanes) -> tuple[float, ...]:
    """Return the heights an inlay is filled to: one for each layer poured.

    Only an inlay that the job wants ``in layers`` has more than one.
    """
    overfill_mm = allowances.overfill_mm if inlay.manner is Manner.FLOODED else 0.0
    level_mm = planes.standing_mm(inlay) + overfill_mm
    bottom_mm = planes.floor_mm(inlay)
    if not inlay.in_layers or level_mm <= bottom_mm:
        return (level_mm,)
    layer_mm = inlay.mix.resin.layer_mm
    above = levels_mm(level_mm - bottom_mm, layer_mm, keeps_share(inlay.mix, layer_mm))
    return tuple(bottom_mm + each for each in above)
