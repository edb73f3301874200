"""What a cutter reproduces of a region: the records.  ``fit.opening`` computes them."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import MultiPolygon

from flushwork.geometry.drawn import DrawnInlay
from flushwork.shelf.items import Cutter


@dataclass(frozen=True, slots=True)
class Neck:
    """A place the cutter cannot pass: where, how wide the artwork is there."""

    x_mm: float
    y_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Reach:
    """What one cutter makes of one region.

    ``centres`` is where the cutter's axis may go (a slot exactly one cutter wide is a sliver at
    most ``SLOT_WIDTH_MM`` wide); ``reached`` what it then cuts; ``lost`` the rest of the region.
    ``deepest_mm`` is the greatest distance from a point of ``lost`` to ``reached``, at ``deepest``.
    """

    cutter: Cutter
    centres: MultiPolygon
    reached: MultiPolygon
    lost: MultiPolygon
    lost_mm2: float
    deepest_mm: float
    deepest: tuple[float, float] | None
    necks: tuple[Neck, ...]

    @property
    def passes(self) -> bool:
        """Whether the cutter goes everywhere (corners may stay round)."""
        return not self.necks and not self.centres.is_empty


@dataclass(frozen=True, slots=True)
class Fit:
    """The cutters for one inlay, widest first, and the reason in one sentence.

    ``cutters`` is empty where no owned cutter can cut it.  ``narrowest_needed`` reproduces all that
    any owned cutter can; ``widest_sufficient`` loses nothing visible beyond it.  ``reaches`` holds
    every owned flat (or, for V engraving, vee) cutter that was tried.  ``floor`` is what a flat
    cutter clears of an engraving's flat floor before the vee.
    """

    drawn: DrawnInlay
    cutters: tuple[Cutter, ...]
    narrowest_needed: Cutter | None
    widest_sufficient: Cutter | None
    reaches: tuple[Reach, ...]
    reason: str
    floor: Reach | None = None

    def reach(self, cutter: Cutter) -> Reach | None:
        """Return the reach of one cutter, if it was tried."""
        return next((reach for reach in self.reaches if reach.cutter == cutter), None)
