"""How far each thing varies in a shop, and what a piece stands or falls by as a sum of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.checks.seam_cover import comes_back, unread_stretch
from flushwork.core.findings import Subject
from flushwork.job.records import FaceName, Job

ZERO_MM: Final = 0.05
"""A depth, by touching off and by the bit's seat (common practice, no source: within 0.1 mm)."""
THICKNESS_MM: Final = 0.05
"""A blank's thickness from place to place (common practice, no source: within 0.1 mm)."""
SANDING_SHARE: Final = 0.25
"""What a sanding takes, as a share of what it should (assumed, 0.15 to 0.4; a sanding wedge)."""
BIT_MM: Final = 0.01
"""A bit's width by wear and wobble (common practice, no source: within 0.02 mm)."""
BENDS_SHARE: Final = (7.0 / 12.0) ** 0.5
"""Root mean square of a bend between half of the dull bit's, as the sharp one's is, and the
whole of it: that of a rectangle from 1/2 to 1."""
BLUR_MM: Final = 0.015
"""The blur of a sanded edge from piece to piece, about its mean (assumed, 0.01 to 0.03 mm; seam
test strips under a loupe)."""
FLAT_MM: Final = 0.02
"""A surfaced face from place to place, where nobody measured it (assumed, 0.01 to 0.05 mm; nine
readings with a dial gauge)."""
FLAT_SIGMAS: Final = 2.970
"""The highest and lowest of nine normal readings lie this many deviations apart on average (L. H.
C. Tippett, On the Extreme Individuals and the Range of Samples, Biometrika 17, 1925)."""
SHRINKAGE_SHARE: Final = 0.25
"""A resin's shrinkage, as a share of its own (assumed, 0.1 to 0.4; two densities weighed)."""

Key = tuple[str, int]
"""What varies, and in which setup (pour, face) it does; 0 where there is only one."""
SANDING: Final = "sanding"
MIXING: Final = "measuring"
FACE_NUMBER: Final[dict[FaceName, int]] = {"front": 1, "back": 2}
OF_FACES: Final = (SANDING, "flatness", "edge blur")
"""What varies by face, not by setup."""
BOUND_SIGMAS: Final = 6.0**0.5
"""Two readings that may each be off by anything up to a bound add up to a triangle; half its width
is this many deviations (JCGM 100, GUM, 2008, 4.3.9)."""


@dataclass(frozen=True, slots=True)
class Variation:
    """An error: its standard deviation in ``unit``, and whether a whole run shares it.

    It is normal, or, ``bounded``, a triangle that ends at ``BOUND_SIGMAS`` deviations.
    """

    key: Key
    sd: float
    unit: str
    shared: bool
    tighten: str
    bounded: bool = False

    @property
    def name(self) -> str:
        """What varies, in words."""
        what, number = self.key
        if what in OF_FACES:
            return f"{what} of the {'front' if number == FACE_NUMBER['front'] else 'back'}"
        if what == MIXING:
            return f"{what} of pour {number}"
        return f"{what} in setup {number}" if number > 0 else what


def shift_x(job: Job, setup: int) -> Variation:
    """Return the sideways error of a setup."""
    return Variation(("shift x", setup), comes_back(job).shift_mm, "mm", False, _LOCATE)


def shift_y(job: Job, setup: int) -> Variation:
    """Return the error of a setup away from you."""
    return Variation(("shift y", setup), comes_back(job).shift_mm, "mm", False, _LOCATE)


def turn(job: Job, setup: int) -> Variation:
    """Return the turn of a setup."""
    return Variation(
        ("turn", setup), comes_back(job).turn_rad, "rad", False, "set the pins further apart"
    )


def stretch(job: Job, setup: int) -> Variation:
    """Return the stretch of the wood across the grain since the first setup, if nobody read it.

    All pieces of a run stand in the same air.
    """
    return Variation(
        ("moisture", setup), unread_stretch(job), "", True, "keep a moisture log of the wood"
    )


def zero(setup: int) -> Variation:
    """Return the error of a depth."""
    return Variation(
        ("depth zero", setup), ZERO_MM, "mm", False, "touch off on a gauge of known thickness"
    )


def thickness() -> Variation:
    """Return the error of a blank's thickness."""
    return Variation(
        ("thickness", 0), THICKNESS_MM, "mm", False, "measure each blank in nine places"
    )


def flatness(job: Job, face: FaceName) -> Variation:
    """Return how far a face lies off its plane at a place: measured, or as surfacing leaves it."""
    measured = job.blank.flatness_mm
    sd = FLAT_MM if measured is None else measured / FLAT_SIGMAS
    return Variation(
        ("flatness", FACE_NUMBER[face]),
        sd,
        "mm",
        False,
        "surface it again and read it in nine places",
    )


def bit(setup: int) -> Variation:
    """Return the error of a bit's width; a whole run is cut with the same one."""
    return Variation(("bit width", setup), BIT_MM, "mm", True, "measure a slot cut on a test strip")


def bending(setup: int) -> Variation:
    """Return how far bits are pushed aside, as a share of the bend at the end of their life."""
    how = "finish with a light pass, or take a stouter bit"
    return Variation(("bending", setup), BENDS_SHARE, "", False, how)


def blur(face: FaceName) -> Variation:
    """Return how much the blur of sanded edges changes from piece to piece."""
    return Variation(
        ("edge blur", FACE_NUMBER[face]), BLUR_MM, "mm", False, "sand with a hard, fresh block"
    )


def sanded_mm(job: Job, amount_mm: float, times: int = 1) -> float:
    """Return the amount of sanding of which a share varies: what is taken, or the job's own."""
    if "allowances.sanding variation" in job.given:
        return float(job.allowances.sand_variation_mm * times**0.5 / SANDING_SHARE)
    return amount_mm


def sanding(face: FaceName) -> Variation:
    """Return the error of what a face's sandings take, as a share of ``sanded_mm``."""
    how = "leave less proud and sand by a stop or a depth mark"
    return Variation((SANDING, FACE_NUMBER[face]), SANDING_SHARE, "", False, how)


def mixing(pour: int, worst: float) -> Variation:
    """Return the error of a batch's ratio, whose worst is given; all its pieces share it."""
    how = "weigh on a finer scale, or mix more"
    return Variation((MIXING, pour), worst / BOUND_SIGMAS, "", True, how, bounded=True)


def shrinkage() -> Variation:
    """Return the error of a resin's shrinkage, as a share of it; a run is poured of one resin."""
    how = "weigh a cured casting of this resin"
    return Variation(("shrinkage", 0), SHRINKAGE_SHARE, "", True, how)


_LOCATE: Final = "locate by dowels in bushings"


# ---- A quantity a piece stands or falls by, as a linear sum of what varies


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
    error changes that margin itself.  Of a blank that is ``parted``, ``piece_of`` (n,) tells which
    of its pieces each place is on; None where every piece stands or falls by it.
    ``at_mm`` (n, 2) are the places.  ``stage`` is the number of
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
    parted: int = 1
    piece_of: NDArray[np.intp] | None = None

    @property
    def subject(self) -> str:
        """What it is a quantity of, in words."""
        return " over ".join(subject.name for subject in self.subjects)


def of_piece(quantity: CriticalQuantity, piece: int) -> CriticalQuantity | None:
    """Return a quantity at its places on one piece of its blank; None where it has none there."""
    if quantity.piece_of is None:
        return quantity
    mine = quantity.piece_of == piece
    if not mine.any():
        return None
    return replace(
        quantity,
        nominal=quantity.nominal[mine],
        coefficients={key: each[mine] for key, each in quantity.coefficients.items()},
        narrowing={key: each[mine] for key, each in quantity.narrowing.items()},
        known=None if quantity.known is None else quantity.known[mine],
        at_mm=quantity.at_mm[mine],
        piece_of=quantity.piece_of[mine],
    )


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
