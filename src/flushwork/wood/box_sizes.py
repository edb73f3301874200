"""A mitred box: its sizes from the board it holds, its saw angles, what meets at its corners.

Plain geometry, worked out here.  In plan, u runs along a wall from the outer corner and w into it
from its outer face.  A slot of depth d along the diagonal takes all of u + w < d sqrt(2), so that
it shows d sqrt(2) on either outer face and breaks through inside at u + w = 2 t, a depth of
t sqrt(2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from flushwork.job.records import HeldHow, LidLies, SideArt, WoodenBox

ROOT_2: Final = math.sqrt(2.0)
LEAST_HELD_MM: Final = 1.0
"""Of the board still in its groove or on its ledge in the driest month, pushed right over to the
other side (assumed, 0.5 to 2 mm)."""
SPARE_MM: Final = 2.0
"""Added to each wall's length when it is first sawn square, taken off by its mitres (assumed)."""
BOTTOM_PLAY_MM: Final = 0.3
"""Left free on each side of a bottom at least (assumed, 0.2 to 0.5 mm)."""
CUT_OFF_DEG: Final = 0.1
"""A mitre saw's setting comes out this far off (common practice, no source: 0.05 to 0.1)."""


def compound_mitre(pitch_rad: float, sides: int = 4) -> tuple[float, float]:
    """Return the gauge's angle off square and the blade's tilt, rad, for walls that meet in mitres.

    ``pitch_rad`` is a wall's slope from flat: a right angle is upright.  tan M = cos S tan(pi/n),
    sin B = sin S sin(pi/n): D. L. Snyder and B. Gottesman, "Compound-Angle Joinery", 2014, rev.
    2015 (the faces of a joint bisect the dihedral angle of the walls).
    """
    part = math.pi / sides
    return (
        math.atan(math.cos(pitch_rad) * math.tan(part)),
        math.asin(math.sin(pitch_rad) * math.sin(part)),
    )


@dataclass(frozen=True, slots=True)
class BoxBoard:
    """The finished board: its size along the blank's length and across it, its thickness.

    ``edge_mm`` is how thick its edge is where a rebate along the trim line, ``rebate_mm`` wide, has
    taken wood.  ``grows_mm`` and ``shrinks_mm`` are what its two sizes do, each as a whole, in the
    dampest and the driest month.
    """

    size_mm: tuple[float, float]
    thick_mm: float
    edge_mm: float
    rebate_mm: float
    grows_mm: tuple[float, float]
    shrinks_mm: tuple[float, float]


Kind = Literal["inlay", "groove", "cut", "hinge", "foot", "edge"]


@dataclass(frozen=True, slots=True)
class AtCorner:
    """What stands at every corner between two heights, from u + w = ``reach_mm`` on."""

    kind: Kind
    name: str
    low_mm: float
    high_mm: float
    reach_mm: float


@dataclass(frozen=True, slots=True)
class MadeBox:
    """A box with the board it is made around; pairs are along the blank's length and across it.

    ``bottom_grows`` is by which share a bottom widens across its grain until the dampest month,
    ``lid_grows`` by which a lid that lifts off does.  ``dyed`` is the colour of dyed splines.
    """

    box: WoodenBox
    board: BoxBoard | None
    bottom_grows: float = 0.0
    lid_grows: float = 0.0
    dyed: str = ""

    @property
    def into_mm(self) -> float:
        """How far groove or rebate go into the walls."""
        held = self.box.board
        return 0.0 if held is None or held.how is HeldHow.LOOSE else held.depth_mm

    @property
    def free_mm(self) -> tuple[float, float]:
        """What is left free at each end of the board: its play, or half of what it grows."""
        held = self.box.board
        if held is None or self.board is None:
            return 0.0, 0.0
        along, across = (max(held.play_mm, grows / 2.0) for grows in self.board.grows_mm)
        return along, across

    @property
    def asked_mm(self) -> tuple[float, float] | None:
        """The clear size that the board asks for, None where there is none."""
        if self.board is None:
            return None
        along, across = (
            size + 2.0 * (free - self.into_mm)
            for size, free in zip(self.board.size_mm, self.free_mm, strict=True)
        )
        return along, across

    @property
    def inside_mm(self) -> tuple[float, float]:
        """The clear size between the walls; at the base where they lean."""
        given = self.box.inside_x_mm, self.box.inside_y_mm
        if given[0] is not None and given[1] is not None:
            return given[0], given[1]
        return self.asked_mm or (0.0, 0.0)

    @property
    def outside_mm(self) -> tuple[float, float]:
        """From outer face to outer face; at the base where the walls lean."""
        both = 2.0 * self.box.wall_mm / math.cos(self.box.lean_rad)
        return self.inside_mm[0] + both, self.inside_mm[1] + both

    @property
    def longest_mm(self) -> tuple[float, float]:
        """The walls' long edges: those of the base, or of the top where they lean."""
        more = 2.0 * self.box.height_mm * math.tan(self.box.lean_rad)
        return self.outside_mm[0] + more, self.outside_mm[1] + more

    @property
    def slant_mm(self) -> float:
        """A wall's width: as high as the box where it is upright."""
        lean = self.box.lean_rad
        return self.box.height_mm / math.cos(lean) + self.box.wall_mm * math.tan(lean)

    @property
    def angles_rad(self) -> tuple[float, float]:
        """The gauge off square, and the blade's tilt."""
        return compound_mitre(math.pi / 2.0 - self.box.lean_rad)

    @property
    def finished_height_mm(self) -> float:
        """Of the closed box: its edges planed, the lid's cut gone."""
        lost = self.box.lid.lost_mm if self.box.lid else 0.0
        return self.box.height_mm - 2.0 * self.box.trim_mm - lost

    @property
    def rebate_mm(self) -> float:
        """How wide a rebate the board's edge needs, so that its shoulder never meets the wall."""
        held = self.box.board
        return 0.0 if held is None else held.depth_mm + held.reveal_mm

    @property
    def shows_mm(self) -> float:
        """How far along each outer face a slot shows from the corner."""
        return self.box.splines.depth_mm * ROOT_2 if self.box.splines else 0.0

    @property
    def spline_colour(self) -> str:
        """The splines' colour: of the mix they are dyed to, or of their wood."""
        splines = self.box.splines
        if splines is None:
            return self.box.wood.colour
        return self.dyed or splines.wood.colour

    @property
    def breaks_at_mm(self) -> float:
        """The depth along the diagonal at which a slot breaks through inside."""
        return self.box.wall_mm * ROOT_2

    @property
    def opens_mm(self) -> float:
        """How far the last corner opens where each of eight cuts is a little off.

        n joints, each of two faces off by e, leave 2 n e, along the face of the mitre.
        """
        return self.box.wall_mm * ROOT_2 * 8.0 * math.radians(CUT_OFF_DEG)

    @property
    def run_mm(self) -> float:
        """The walls one after the other, each a little long, with three cuts between them."""
        return 2.0 * sum(self.longest_mm) + 4.0 * SPARE_MM + 3.0 * self.kerf_mm

    @property
    def kerf_mm(self) -> float:
        """What a saw cut takes."""
        return self.box.lid.kerf_mm if self.box.lid else 3.0

    @property
    def bottom_free_mm(self) -> tuple[float, float]:
        """What is left free on each side of the bottom, along and across: half of what it grows."""
        bottom = self.box.bottom
        if bottom is None:
            return 0.0, 0.0
        return self._free_mm(BOTTOM_PLAY_MM, bottom.depth_mm, self.bottom_grows)

    def _free_mm(self, play_mm: float, into_mm: float, grows: float) -> tuple[float, float]:
        """Return what is left free on each side of a panel whose grain runs along the box."""
        across = 0 if self.grain_along_x else 1
        wide_mm = self.inside_mm[1 if self.grain_along_x else 0] + 2.0 * into_mm
        free = [play_mm, play_mm]
        free[1 - across] = max(play_mm, wide_mm * grows / 2.0)
        return free[0], free[1]

    @property
    def grain_along_x(self) -> bool:
        """Whether the grain of bottom and lid runs along the blank's length: the longer way."""
        return self.inside_mm[0] >= self.inside_mm[1]

    @property
    def lid_free_mm(self) -> tuple[float, float]:
        """What is left free on each side of a lid in a rebate, along and across."""
        panel = self.box.lid_panel
        if panel is None or panel.how is LidLies.ON_TOP:
            return 0.0, 0.0
        return self._free_mm(panel.play_mm, panel.depth_mm, self.lid_grows)

    @property
    def lid_mm(self) -> tuple[float, float] | None:
        """The size of a lid that lifts off, along and across; None where there is none."""
        panel = self.box.lid_panel
        if panel is None:
            return None
        if panel.how is LidLies.ON_TOP:
            along, across = (each + 2.0 * panel.overhang_mm for each in self.longest_mm)
            return along, across
        along, across = (
            size + 2.0 * (panel.depth_mm - free)
            for size, free in zip(self.inside_mm, self.lid_free_mm, strict=True)
        )
        return along, across

    @property
    def bottom_mm(self) -> tuple[float, float] | None:
        """The size of the bottom along the blank's length and across, None where there is none."""
        bottom = self.box.bottom
        if bottom is None:
            return None
        along, across = (
            size + 2.0 * (bottom.depth_mm - free)
            for size, free in zip(self.inside_mm, self.bottom_free_mm, strict=True)
        )
        return along, across

    def grooves(self) -> tuple[AtCorner, ...]:
        """Return what runs round all four walls inside."""
        box, found = self.box, []
        held = box.board
        if held is not None and held.how is not HeldHow.LOOSE:
            groove = held.how is HeldHow.GROOVE
            top = held.from_base_mm + held.width_mm if groove else box.height_mm
            name = "the groove of the board" if groove else "the rebate of the board"
            reach = 2.0 * (box.wall_mm - held.depth_mm)
            found.append(AtCorner("groove", name, held.from_base_mm, top, reach))
        if box.bottom is not None:
            low, reach = box.bottom.from_base_mm, 2.0 * (box.wall_mm - box.bottom.depth_mm)
            high = low + box.bottom.width_mm
            found.append(AtCorner("groove", "the groove of the bottom", low, high, reach))
        panel = box.lid_panel
        if panel is not None and panel.how is LidLies.REBATE:
            reach = 2.0 * (box.wall_mm - panel.depth_mm)
            name = "the rebate of the lid"
            found.append(AtCorner("groove", name, panel.from_base_mm, box.height_mm, reach))
        return tuple(found)

    def at_corners(self) -> tuple[AtCorner, ...]:
        """Return all that a spline slot may meet."""
        box = self.box
        found = [*self.grooves()]
        found += [_art(each) for each in box.art]
        if box.lid is not None:
            found.append(AtCorner("cut", "the lid cut", box.lid.low_mm, box.lid.high_mm, 0.0))
            if box.hinges is not None:
                deep = max(box.hinges.recess_mm, box.hinges.screws_mm)
                low, high = box.lid.low_mm - deep, box.lid.high_mm + deep
                found.append(AtCorner("hinge", "a hinge", low, high, box.hinges.from_corner_mm))
        if box.feet is not None:
            reach = box.feet.from_corner_mm + box.wall_mm / 2.0 - box.feet.diameter_mm / ROOT_2
            found.append(AtCorner("foot", "a foot", 0.0, box.trim_mm + box.feet.recess_mm, reach))
        found.append(AtCorner("edge", "the lower edge", -1.0, box.trim_mm, 0.0))
        top = box.height_mm - box.trim_mm
        found.append(AtCorner("edge", "the upper edge", top, box.height_mm + 1.0, 0.0))
        return tuple(found)


def _art(art: SideArt) -> AtCorner:
    return AtCorner("inlay", art.name, art.from_base_mm, art.to_mm, art.from_corner_mm)


def steps_mm(lost_mm: float, leans_rad: float) -> float:
    """Return how far a line that leans so from upright steps sideways where a height is lost."""
    return lost_mm * math.tan(leans_rad)
