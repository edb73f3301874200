"""How far each thing strays in a shop: standard deviations, and whether pieces share the error."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from flushwork.job.records import Job
from flushwork.proof.growth import comes_back, unread_stretch

ZERO_MM: Final = 0.05
"""A depth, by touching off and by the cutter's seat (common practice, no source: within 0.1 mm)."""
THICKNESS_MM: Final = 0.05
"""A blank's thickness from place to place (common practice, no source: within 0.1 mm)."""
SANDING_SHARE: Final = 0.25
"""What a sanding takes, as a share of what it should (assumed, 0.15 to 0.4; a sanding wedge)."""
CUTTER_MM: Final = 0.01
"""A cutter's width by wear and wobble (common practice, no source: within 0.02 mm)."""
SHRINKAGE_SHARE: Final = 0.25
"""A resin's shrinkage, as a share of its own (assumed, 0.1 to 0.4; two densities weighed)."""

Key = tuple[str, int]
"""What strays, and in which mounting (pour, face) it does; 0 where there is only one."""
SANDING: Final = "sanding"
MIXING: Final = "measuring"
FRONT, BACK = 1, 2
BOUND_SIGMAS: Final = 3.0
"""The worst that tools can read wrong is a bound, taken as three standard deviations (assumed, 2
to 4)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A normal error: its standard deviation in ``unit``, and whether a whole run shares it."""

    key: Key
    sd: float
    unit: str
    shared: bool
    tighten: str

    @property
    def name(self) -> str:
        """What strays, in words."""
        what, number = self.key
        if what == SANDING:
            return f"{what} of the {'front' if number == FRONT else 'back'}"
        if what == MIXING:
            return f"{what} of pour {number}"
        return f"{what} in mounting {number}" if number > 0 else what


def shift_x(job: Job, mounting: int) -> Spread:
    """Return the sideways error of a mounting."""
    return Spread(("shift x", mounting), comes_back(job).shift_mm, "mm", False, _LOCATE)


def shift_y(job: Job, mounting: int) -> Spread:
    """Return the error of a mounting away from you."""
    return Spread(("shift y", mounting), comes_back(job).shift_mm, "mm", False, _LOCATE)


def turn(job: Job, mounting: int) -> Spread:
    """Return the turn of a mounting."""
    return Spread(
        ("turn", mounting), comes_back(job).turn_rad, "rad", False, "set the pins further apart"
    )


def stretch(job: Job, mounting: int) -> Spread:
    """Return the stretch of the wood across the grain since the first mounting, if nobody read it.

    All pieces of a run stand in the same air.
    """
    return Spread(
        ("moisture", mounting), unread_stretch(job), "", True, "keep a moisture log of the wood"
    )


def zero(mounting: int) -> Spread:
    """Return the error of a depth."""
    return Spread(
        ("depth zero", mounting), ZERO_MM, "mm", False, "touch off on a gauge of known thickness"
    )


def thickness() -> Spread:
    """Return the error of a blank's thickness."""
    return Spread(("thickness", 0), THICKNESS_MM, "mm", False, "measure each blank in nine places")


def sanding(amount_mm: float, number: int) -> Spread:
    """Return the error of what a face's sandings take."""
    return Spread(
        (SANDING, number),
        SANDING_SHARE * amount_mm,
        "mm",
        False,
        "leave a thinner skin and sand by a stop or a depth mark",
    )


def mixing(pour: int, worst: float) -> Spread:
    """Return the error of a batch's ratio, whose worst is given; all its pieces share it."""
    return Spread(
        (MIXING, pour), worst / BOUND_SIGMAS, "", True, "weigh on a finer scale, or mix more"
    )


def shrinkage(share: float) -> Spread:
    """Return the error of a resin's shrinkage; a run is poured of one resin."""
    return Spread(
        ("shrinkage", 0), SHRINKAGE_SHARE * share, "", True, "weigh a cured casting of this resin"
    )


_LOCATE: Final = "locate by dowels in bushings"
