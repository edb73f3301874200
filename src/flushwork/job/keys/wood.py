"""The blank, how it comes out of rough boards, its final outline and its finish."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Final

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Group, Items, Key, Keyed, Spread
from flushwork.core.keys.quantities import LENGTH, Count, Measured, length, share
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import TRUTH, Either
from flushwork.core.units import Quantity
from flushwork.core.units.kinds import DAY_S, MM2_PER_DM2
from flushwork.job.keys.art import Artwork
from flushwork.job.keys.placing import PAIR
from flushwork.shelf.items import Bit, Finish, Wood

# ---- How a blank comes out of rough boards: its strips, what is bought for them, how they rest


ADD_UP_MM: Final = 0.05
"""Strips make up a blank within this: they are read off a rule."""
RESTED: Final = Measured(Quantity.TIME, 0.0, 60 * DAY_S)


@dataclass(frozen=True, slots=True)
class GlueUp(Keyed):
    """A blank glued edge to edge of strips, the near edge's first, their grain along the blank's.

    ``alternating`` says that the rings of neighbours curve up and down in turn.
    """

    strips_mm: Annotated[
        tuple[float, ...], Items(length(5.0, 1000.0), 2, 60), Key("[62 mm, 62 mm, 66 mm]")
    ]
    """Their widths across the grain once glued, the near edge's first; together the blank's."""
    alternating: Annotated[bool, Either("alternating", "alike"), Key(name="rings")] = True
    """Whether the rings of neighbours curve up and down in turn, or all one way."""
    dries_s: Annotated[float, RESTED, Key("24 h", name="glue dries")] = DAY_S
    """How long the glue has until the blank is surfaced; what its label says replaces it."""

    @property
    def joints_mm(self) -> tuple[float, ...]:
        """Where the joints run, from the near edge (or the left one, across the length)."""
        return tuple(math.fsum(self.strips_mm[: at + 1]) for at in range(len(self.strips_mm) - 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class RoughStock(Keyed):
    """What a rough board has to be larger by than what is made of it, and how it rests.

    All are assumed, common practice: a planer that does not snipe asks for less length, straight
    boards for less width.
    """

    length_mm: Annotated[float, length(0.0, 300.0), Key("30 mm")] = 30.0
    """Longer than the blank, for both ends."""
    width_mm: Annotated[float, length(0.0, 100.0), Key("6 mm")] = 6.0
    """Wider than the blank or each of its strips, for both edges."""
    thickness_mm: Annotated[float, length(0.0, 50.0), Key("6 mm")] = 6.0
    """Thicker than the blank, for both faces."""
    waste: Annotated[float, share(0.0, 0.8), Key("25 %")] = 0.25
    """Of what is bought: knots, checks, sapwood and ends."""
    rest_s: Annotated[float, RESTED, Key("5 days")] = 0.0
    """How long the rough-sawn parts lie on sticks before they are made to size; 0 days for wood
    that is settled."""


def check_strips(own: dict[str, Any], at: At) -> None:
    """Hold the strips of a blank against its size across the grain."""
    glue_up = own["glue_up"]
    if glue_up is None:
        return
    wide = own["width_mm"] if own["grain_along_x"] else own["length_mm"]
    whole = math.fsum(glue_up.strips_mm)
    if abs(whole - wide) > ADD_UP_MM:
        last = glue_up.strips_mm[-1] + wide - whole
        remedy = f"write {last:g} mm for the last" if last >= 5.0 else "make them narrower"
        at.out_of_range(
            f"strips: they are {whole:g} mm together, and the blank is {wide:g} mm across the "
            "grain",
            f"{remedy}, or change the blank",
            *("glue up", "strips"),
        )


# ---- The blank, what preparation takes off it, its final outline and its finish


@dataclass(frozen=True, slots=True)
class Blank(Keyed):
    """The piece of wood before trimming, as sawn.

    ``grain_along_x`` says the grain runs along the length; ``flat_sawn`` picks tangential
    movement across it.  ``turn_about_x`` says the blank is flipped top to bottom (the far
    edge comes near), otherwise side to side (right becomes left).  ``moisture`` is a share of
    the dry weight (0.08 is 8 %).  ``flatness_mm`` is the measured spread of heights of a face as
    it lies on the machine, None where nobody has measured it.
    """

    wood: Annotated[Wood, On("woods", "wood"), Key("black cherry")]
    """A wood of the shelf."""
    length_mm: Annotated[float, length(5.0, 3000.0), Key("340 mm")]
    """Along x, as sawn."""
    width_mm: Annotated[float, length(5.0, 3000.0), Key("190 mm")]
    """Along y, as sawn."""
    thickness_mm: Annotated[float, length(1.0, 300.0), Key("19 mm")]
    """As sawn."""
    grain_along_x: Annotated[
        bool, Either("along the length", "along the width"), Key(name="grain", default=True)
    ]
    """Which way the grain runs."""
    flat_sawn: Annotated[bool, Either("flat", "quarter"), Key(name="sawn", default=True)]
    """How the board was sawn from the log."""
    moisture: Annotated[float, share(0.02, 0.3), Key("8 %", default=0.08)]
    """Moisture content, of the dry weight."""
    turn_about_x: Annotated[
        bool, Either("top to bottom", "side to side"), Key(name="flipped", default=True)
    ]
    """Which way it is flipped for the back."""
    source: Source
    thickness_source: Source
    flatness_mm: Annotated[float | None, length(0.0, 20.0), Key("0.1 mm")] = None
    """Measured: highest less lowest place of the face as it is cut."""
    ring_radius_mm: Annotated[float, length(10.0, 2000.0), Key("150 mm")] = 150.0
    """Radius of the growth rings at its end, in the middle of its width; assumed, 50 to 300 mm,
    until you lay a plate on them."""
    glue_up: Annotated[GlueUp | None, Group(GlueUp), Key()] = None
    """The strips it is glued of; one board where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Hold the strips against the size of the blank."""
        own.setdefault("glue_up", None)
        check_strips(own, at)

    @property
    def strips_mm(self) -> tuple[float, ...]:
        """The widths across the grain that it is made of."""
        across_mm = self.width_mm if self.grain_along_x else self.length_mm
        return self.glue_up.strips_mm if self.glue_up else (across_mm,)

    @property
    def face_dm2(self) -> float:
        """The area of one of its faces."""
        return self.length_mm * self.width_mm / MM2_PER_DM2

    @property
    def along_mm(self) -> float:
        """Its size along the grain."""
        return self.length_mm if self.grain_along_x else self.width_mm


@dataclass(frozen=True, slots=True)
class Allowances(Keyed):
    """What each preparation takes off a face, in mm of wood, and what it leaves.

    The finished face lies ``surface + sand + (rounds - 1) * light_sand + rounds * mill_flush``
    below the as-sawn plane, where a round is cut, fill, cure, mill flush.
    """

    surface_mm: Annotated[float, length(0.0, 10.0), Key("0.5 mm")] = 0.5
    """Wood taken off each face first of all."""
    mill_flush_mm: Annotated[float, length(0.0, 5.0), Key("0 mm")] = 0.0
    """Wood taken by each flush milling on the machine, from the whole face; 0 mm mills only the
    resin."""
    left_proud_mm: Annotated[float, length(0.0, 3.0), Key("0.15 mm")] = 0.15
    """Resin left proud by flush milling; none where `mill flush` mills the whole face."""
    sand_mm: Annotated[float, length(0.0, 5.0), Key("0.2 mm")] = 0.2
    """Wood taken by the first sanding of a face."""
    light_sand_mm: Annotated[float, length(0.0, 3.0), Key("0.05 mm")] = 0.05
    """Wood taken by each later sanding."""
    overfill_mm: Annotated[float, length(0.0, 5.0), Key("0.4 mm")] = 0.4
    """How proud an overfilled fill stands."""
    overspill_mm: Annotated[float, length(0.0, 10.0), Key("1 mm")] = 1.0
    """How far an overfilled fill runs over the edge."""
    wood_between_mm: Annotated[
        float, length(0.0, 50.0), Key("3 mm", name="least wood between faces")
    ] = 3.0
    """The least wood between the faces."""
    sand_variation_mm: Annotated[
        float, length(0.0, 1.0), Key("0.02 mm", name="sanding variation")
    ] = 0.02
    """Standard deviation of what one sanding takes; assumed, 0.01 to 0.05 mm, until a step wedge
    tells."""
    sand_bare: Annotated[bool, TRUTH, Key("no", name="sand bare face", default=True)] = True
    """Whether a face nothing is cut into is sanded too, by as much as a first sanding takes."""


@dataclass(frozen=True, slots=True)
class Outline(Keyed):
    """The final outline; its place counts from the blank.

    It is artwork on the front face (centred on the blank); ``None`` leaves the blank untrimmed.
    ``hidden_mm`` is the width inside the trim line that a frame will cover.
    """

    artwork: Annotated[Artwork | None, Spread(Artwork)]
    hidden_mm: Annotated[float, length(0.0, 500.0), Key("6 mm", name="hidden border", default=0.0)]
    """Inside the trim line, covered later by a frame."""
    tabs: Annotated[int, Count(0, 40), Key("4", default=4)]
    """Bridges left to hold the piece."""
    tab_mm: Annotated[float, LENGTH, Key("4 mm", name="tab length", default=4.0)]
    """Length of a tab along the line."""
    tab_height_mm: Annotated[float, LENGTH, Key("1.2 mm", default=1.2)]
    """Thickness of a tab."""
    bit: Annotated[Bit | None, On("bits", "bit"), Key(optional=True)]
    """The bit to trim with; chosen where left out."""
    source: Source


def untrimmed(at: At) -> Outline:
    """Return the outline of a job that says nothing of one."""
    return Outline(None, 0.0, 0, 0.0, 0.0, None, at.source("trim line"))


@dataclass(frozen=True, slots=True)
class FinishPlan(Keyed):
    """The clear finish, its coats, and whether holes are drilled before it."""

    finish: Annotated[
        Finish, On("finishes", "finish", none=True), Key("wiping varnish", name="name")
    ]
    """A finish of the shelf, or none."""
    coats: Annotated[int, Count(1, 20), Key("3")] = 3
    """Coats."""
    holes_first: Annotated[bool, Either("before", "after"), Key(name="holes")] = True
    """Holes are drilled before the finish, or after."""


def first_finish(at: At) -> Any:
    """Return the finish of a job that says nothing of one: the shop's first."""
    return FinishPlan(at.shop.finishes[0]) if at.shop.finishes else None


@dataclass(frozen=True, slots=True)
class Bed(Keyed):
    """Pieces that lie side by side on the machine, each a step from the one before."""

    pieces: Annotated[int, Count(2, 100), Key("4", required=True)] = 1
    """How many."""
    step_x_mm: Annotated[
        float, PAIR, Key("[0 mm, 210 mm]", name="step", into=("step_y_mm",), required=True)
    ] = 0.0
    """From one blank's lower left corner to the next one's, [right, away]."""
    step_y_mm: float = 0.0
