"""V grooves: how deep strokes come out, and what sanding leaves of them."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt, tan

from shapely import MultiPolygon

from flushwork.built import Build
from flushwork.geometry.drawn import DrawnInlay
from flushwork.job.records import MeasuredFrom
from flushwork.proof.expected_heights import taken_after_cut_mm
from flushwork.shelf.items import Cutter


@dataclass(frozen=True, slots=True)
class Grooves:
    """The strokes of an engraved inlay: their mean width, the cutter, what is sanded off them.

    Width = tip + 2 depth tan(angle / 2), the geometry of a cone.
    """

    width_mm: float
    cutter: Cutter
    most_mm: float
    taken_mm: float

    @property
    def slope(self) -> float:
        """Width per depth."""
        return 2.0 * tan(self.cutter.angle_rad / 2.0)

    @property
    def depth_mm(self) -> float:
        """How deep a stroke of that width is cut."""
        return min(max(0.0, (self.width_mm - self.cutter.tip_mm) / self.slope), self.most_mm)

    @property
    def to_draw_mm(self) -> float:
        """How broad a stroke has to be drawn that shall be so broad once it is sanded."""
        return self.width_mm + self.taken_mm * self.slope


def stroke_width_mm(region: MultiPolygon) -> float:
    """Return the width of the strokes that a region is made of.

    Strokes of one width w and length l with round ends have the area w l + n pi w^2 / 4 and the
    outline 2 l + n pi w, n the region's parts less its holes: an exact pair of equations for w.
    """
    area, outline = region.area, region.length
    count = len(region.geoms) - sum(len(part.interiors) for part in region.geoms)
    if count <= 0:
        return 2.0 * area / outline if outline > 0.0 else 0.0
    return (outline - sqrt(max(0.0, outline**2 - 4.0 * pi * count * area))) / (pi * count)


def grooves_of(build: Build, drawn: DrawnInlay) -> Grooves | None:
    """Return the grooves of an engraved inlay, None without a cutter for it."""
    cutters = build.fit(drawn.inlay.name).cutters
    if not drawn.inlay.vee or not cutters or drawn.region.is_empty:
        return None
    taken_mm = 0.0
    if drawn.inlay.measured_from is MeasuredFrom.STANDING:
        taken_mm = taken_after_cut_mm(build, drawn.inlay.name)
    return Grooves(stroke_width_mm(drawn.region), cutters[-1], drawn.inlay.depth_mm, taken_mm)
