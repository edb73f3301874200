"""A quantity a piece stands or falls by, as a linear sum of what varies."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from flushwork.checks.odds.variation import Key, Variation
from flushwork.core.findings import Subject
from flushwork.job.records import FaceName

Floats = NDArray[np.float64]
By = tuple[tuple[Variation, Floats], ...]
"""Variations, and by how much each moves a quantity at its places, (n,)."""


class Critical(StrEnum):
    """What a piece stands or falls by, in the words it is told with."""

    SEAM_COVER = "seam cover"
    FIRST_EDGE = "edge of the first pass"
    WOOD_BETWEEN = "wood between"
    WOOD_BETWEEN_FACES = "wood between faces"
    FIRST_COLOUR = "first colour left"
    LEFT_TO_SAND = "height left to sand"
    TRIM_GAP = "trim line off the inlays"
    HOLE_WALL = "wood beside holes"
    RATIO = "ratio"
    CAP = "cap left"
    BRIGHT_LINE = "bright line"
    FILL = "fill left"
    STROKE = "engraved stroke"


@dataclass(frozen=True, slots=True)
class CriticalQuantity:
    """Something that must stay above a limit at every one of its places.

    ``nominal`` (n,) are its values there, ``coefficients`` (n,) by variation how each error changes
    them.  With ``both_ways`` it must stay within plus and minus ``nominal`` (a deviation), and
    ``known`` (n,) is what it deviates by for certain; ``narrowing`` (n,) by variation is how each
    error changes that margin itself.  ``at_mm`` (n, 2) are the places.  ``stage`` is the number of
    the stage that decides it, 0 where none does.
    """

    name: Critical
    subjects: tuple[Subject, ...]
    face: FaceName
    unit: str
    limit: float
    nominal: Floats
    coefficients: dict[Key, Floats]
    variations: tuple[Variation, ...]
    at_mm: Floats
    both_ways: bool = False
    known: Floats | None = None
    stage: int = 0
    narrowing: dict[Key, Floats] = field(default_factory=dict)

    @property
    def subject(self) -> str:
        """What it is a quantity of, in words."""
        return " over ".join(subject.name for subject in self.subjects)


def variation_out(
    name: Critical,
    subjects: tuple[Subject, ...],
    face: FaceName,
    at_mm: Floats,
    nominal: Floats,
    limit: float,
    by: By,
    stage: int,
) -> CriticalQuantity:
    """Return a quantity in mm with a value at each of its places (n,)."""
    kept = tuple(
        (variation, factor) for variation, factor in by if variation.sd > 0.0 and factor.any()
    )
    return CriticalQuantity(
        name,
        subjects,
        face,
        "mm",
        limit,
        nominal,
        {variation.key: factor for variation, factor in kept},
        tuple(variation for variation, _ in kept),
        at_mm,
        stage=stage,
    )


def single(
    name: Critical,
    subjects: tuple[Subject, ...],
    face: FaceName,
    at: tuple[float, float],
    nominal: float,
    limit: float,
    by: tuple[tuple[Variation, float], ...],
    stage: int,
) -> CriticalQuantity:
    """Return a quantity in mm of one place."""
    return variation_out(
        name,
        subjects,
        face,
        np.array([at], float),
        np.array([nominal], float),
        limit,
        tuple((variation, np.array([factor])) for variation, factor in by),
        stage,
    )
