"""Where a face's wood stands after each round: the planes every depth refers to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flushwork.geometry.drawn import DrawnFace, DrawnInlay
from flushwork.job.records import Allowances, Inlay, Job, Manner, MeasuredFrom
from flushwork.plan.rounds import rounds
from flushwork.resin.lifts import levels_mm
from flushwork.resin.recess import keeps_share


@dataclass(frozen=True, slots=True)
class FacePlanes:
    """Heights of one face's wood in mm from its as-sawn plane.

    ``flat_mm`` once flattened; ``rounds_mm[k]`` after round k + 1 has been levelled and sanded.
    """

    flat_mm: float
    rounds_mm: tuple[float, ...]

    @property
    def finished_mm(self) -> float:
        """The finished face."""
        return self.rounds_mm[-1] if self.rounds_mm else self.flat_mm

    def before_mm(self, number: int) -> float:
        """Return where the wood stands when round ``number`` (from 1) is cut."""
        return self.flat_mm if number == 1 else self.rounds_mm[number - 2]


def face_planes(
    allowances: Allowances, face_rounds: tuple[tuple[DrawnInlay, ...], ...]
) -> FacePlanes:
    """Return the planes of a face with these rounds."""
    flat_mm = -allowances.flatten_mm
    planes: list[float] = []
    stands_mm = flat_mm
    for number, drawn in enumerate(face_rounds, start=1):
        if needs_levelling(drawn):
            stands_mm -= allowances.level_mm
        stands_mm -= allowances.sand_mm if number == 1 else allowances.light_sand_mm
        planes.append(stands_mm)
    return FacePlanes(flat_mm=flat_mm, rounds_mm=tuple(planes))


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


def floor_mm(inlay: Inlay, planes: FacePlanes, number: int) -> float:
    """Return the height of an inlay's floor when it is cut in round ``number``."""
    if inlay.measured_from is MeasuredFrom.FINISHED:
        return planes.finished_mm - inlay.depth_mm
    return planes.before_mm(number) - inlay.depth_mm


def above_depths_mm(job: Job, faces: Sequence[DrawnFace]) -> dict[str, float]:
    """Return how much deeper each inlay is cut than its depth says, by its name.

    It is cut from a face that still stands above the finished one its depth counts from.
    """
    found: dict[str, float] = {}
    for face in faces:
        face_rounds = rounds(face)
        planes = face_planes(job.allowances, face_rounds)
        for number, together in enumerate(face_rounds, start=1):
            for drawn in together:
                sunk_mm = planes.before_mm(number) - floor_mm(drawn.inlay, planes, number)
                found[drawn.inlay.name] = sunk_mm - drawn.inlay.depth_mm
    return found


def fill_levels_mm(
    inlay: Inlay, allowances: Allowances, planes: FacePlanes, number: int
) -> tuple[float, ...]:
    """Return the heights an inlay is filled to in round ``number``: one for each layer poured.

    Only an inlay that the job wants ``in layers`` has more than one.
    """
    overfill_mm = allowances.overfill_mm if inlay.manner is Manner.FLOODED else 0.0
    level_mm = planes.before_mm(number) + overfill_mm
    bottom_mm = floor_mm(inlay, planes, number)
    if not inlay.in_layers or level_mm <= bottom_mm:
        return (level_mm,)
    layer_mm = inlay.mix.resin.layer_mm
    above = levels_mm(level_mm - bottom_mm, layer_mm, keeps_share(inlay.mix, layer_mm))
    return tuple(bottom_mm + each for each in above)
