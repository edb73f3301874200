"""What a shop works with: bits, the router, ways of holding, measuring tools.

Long because each of them is declared here once, with all its keys.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, ClassVar, Final

from flushwork.core.keys.declare import Changes, Group, Items, Key, Keyed
from flushwork.core.keys.quantities import (
    COORDINATE,
    LENGTH,
    LENGTH_OR_NONE,
    Count,
    DepthOrThrough,
    Held,
    Measured,
    length,
    share,
)
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import TRUTH, Either, FileEnding, OneOf, Words
from flushwork.core.units import Quantity
from flushwork.core.units.kinds import FLUID_OUNCE_CM3, OUNCE_G

# ---- How fast a bit may turn: its own mark rules, else its width and the speed of its edge
#
# All steps are common practice, no source; the number on the bit is what holds.


STEPS: Final = ((25.0, 24000.0), (50.0, 18000.0), (63.0, 16000.0), (90.0, 12000.0))
"""Up to this diameter in mm, at most so many turns per minute (common practice, no source)."""

UNMARKED: Final = "for a bit of its width without a mark (common practice, no source)"


def greatest_rpm(diameter_mm: float, marked_rpm: float) -> float:
    """Return the fastest a bit may turn; ``marked_rpm`` is 0 where the bit carries no mark.

    Beyond the widest step its rim may be no faster than that of the widest step.
    """
    if marked_rpm > 0.0:
        return marked_rpm
    for widest_mm, rpm in STEPS:
        if diameter_mm <= widest_mm:
            return rpm
    widest_mm, rpm = STEPS[-1]
    return rpm * widest_mm / diameter_mm


def edge_m_s(diameter_mm: float, rpm: float) -> float:
    """Return the speed of a bit's edge in m/s."""
    return math.pi * diameter_mm / 1000.0 * rpm / 60.0


FEED: Final = Measured(Quantity.FEED, 0.0, 100000.0, above=True)
SPEED: Final = Measured(Quantity.SPEED, 0.0, 200000.0)
TIP_ANGLE: Final = Measured(Quantity.ANGLE, 0.0, 3.1, above=True)
ANCHORS: Final = (
    "centre",
    "lower left",
    "lower right",
    "upper left",
    "upper right",
    "left",
    "right",
    "top",
    "bottom",
)
SIDES: Final = ("both", "front", "back")
LOCATED_BY: Final = ("dowels", "discs")
"""What may stand in the spoilboard to bring a blank back to its place."""


class BitKind(StrEnum):
    """The shapes of bit the replay can sweep."""

    FLAT = "flat"
    V_BIT = "V-bit"
    BALL = "ball"
    DRILL = "drill"
    ROUND_OVER = "round-over"
    KEYHOLE = "keyhole"


@dataclass(frozen=True, slots=True)
class Bit(Keyed):
    """One bit as owned.

    ``angle_rad`` is the full included angle of a V-bit (or a drill's point); ``tip_mm`` the flat at
    its tip.  ``flute_mm`` is the cutting length, ``reach_mm`` how far it stands out of the holder.
    ``chip_mm`` is the chip load per flute, ``pass_mm`` the depth of one pass, ``step`` the
    step-over as a share of the diameter, ``life_holes`` how many holes it stays sharp for and
    ``marked_rpm`` the greatest speed marked on it (each 0 where nobody has said it).

    If wrong: slots and pockets come out wider or narrower than was planned, or the bit burns or
    breaks.
    """

    listed: ClassVar[bool] = True

    name: str
    kind: Annotated[BitKind, OneOf(BitKind), Key("flat")]
    """Its shape."""
    diameter_mm: Annotated[float, length(0.0, 100.0, above=True), Key("1/8 in")]
    """Measured, if you can.

    If wrong: every slot is off by as much: lines overflow their neighbours or leave gaps."""
    number: Annotated[int, Count(1, 999), Key("4")]
    """Its number, for a machine that changes by number; the next free one where left out.

    If wrong: the machine takes up another bit."""
    tip_mm: Annotated[float, LENGTH_OR_NONE, Key("0.1 mm")] = 0.0
    """The flat at the tip of a V-bit.

    If wrong: fine lines come out wider than drawn."""
    angle_rad: Annotated[float, TIP_ANGLE, Key("60 deg")] = 0.0
    """The full angle of a V-bit, or of a drill's point.

    If wrong: each line it engraves is wider or narrower than drawn."""
    flutes: Annotated[int, Count(1, 8), Key("2")] = 2
    """Cutting edges."""
    flute_mm: Annotated[float, LENGTH, Key("12 mm", name="flute length")] = 12.0
    """The length that cuts.

    If wrong: the shank rubs in a deep pocket and burns its wall."""
    shank_mm: Annotated[float, LENGTH, Key("3.175 mm")] = 3.175
    """Diameter of the shank."""
    reach_mm: Annotated[float, LENGTH, Key("20 mm")] = 20.0
    """How far it stands out of the holder.

    If wrong: the holder runs into the wood."""
    plunges: Annotated[bool, TRUTH, Key("yes")] = True
    """It may go straight down.

    If wrong: a bit that cannot go straight down burns or breaks on its first plunge."""
    chip_mm: Annotated[float, length(0.0, 2.0, above=True), Key("0.03 mm", name="chip load")] = 0.03
    """Advance per cutting edge.

    If wrong: too little burns the wood, too much breaks the bit."""
    spindle_rpm: Annotated[float, Measured(Quantity.SPEED, 100.0, 100000.0), Key("18000 rpm")] = (
        18000.0
    )
    """Spindle speed."""
    pass_mm: Annotated[float, LENGTH, Key("1 mm", name="pass depth")] = 1.0
    """Depth of one pass.

    If wrong: the bit breaks where it is too deep; else it only takes longer."""
    step: Annotated[float, share(0.01, 1.0), Key("40 %", name="step over")] = 0.4
    """From pass to pass, as a share of the diameter.

    If wrong: ridges are left where it is too wide; else it only takes longer."""
    source: str = ""
    life_holes: Annotated[int, Count(1, 100000), Key("800", name="sharp for")] = 0
    """Holes that it drills before it is changed; 1500 are assumed where left out.

    If wrong: holes tear out or char before the bit is changed."""
    marked_rpm: Annotated[
        float, Measured(Quantity.SPEED, 100.0, 200000.0), Key("18000 rpm", name="greatest speed")
    ] = 0.0
    """The greatest speed marked on it; what its width allows where left out.

    If wrong: the bit turns faster than it may, and can fly apart."""
    round_mm: Annotated[float, LENGTH_OR_NONE, Key("3 mm", name="radius")] = 0.0
    """Of a round-over without a bearing: the radius of the round it leaves."""
    neck_mm: Annotated[float, LENGTH_OR_NONE, Key("4.8 mm", name="neck")] = 0.0
    """Of a keyhole bit: the diameter of its neck, above the head."""
    head_mm: Annotated[float, LENGTH_OR_NONE, Key("4.5 mm", name="head height")] = 0.0
    """Of a keyhole bit: how high its head is."""

    @property
    def flat_mm(self) -> float:
        """The flat at its tip; that of a round-over is what its two rounds leave of its width."""
        if self.kind is BitKind.ROUND_OVER:
            return self.diameter_mm - 2.0 * self.round_mm
        return self.tip_mm

    @property
    def greatest_rpm(self) -> float:
        """The fastest it may turn: what is marked on it, else what its width allows."""
        return greatest_rpm(self.diameter_mm, self.marked_rpm)

    @property
    def radius_mm(self) -> float:
        """Half the diameter."""
        return self.diameter_mm / 2.0


@dataclass(frozen=True, slots=True)
class Dialect(Keyed):
    """How the machine wants its G-code files written, in plain facts (RS-274, NISTIR 6556).

    If wrong: the controller refuses a file or reads it as something else: run the first one in
    air.
    """

    inch: Annotated[bool, Either("metric", "inch", second=True), Key("metric", name="units")] = (
        False
    )
    """Units of the G-code files.

    If wrong: everything is cut 25 times too large or too small."""
    decimals: Annotated[int, Count(2, 6), Key("3")] = 3
    """Decimal places."""
    arcs: Annotated[bool, TRUTH, Key("yes")] = True
    """It understands arcs."""
    cycles: Annotated[bool, TRUTH, Key("yes", name="drilling cycles")] = True
    """It understands drilling cycles."""
    line_numbers: Annotated[bool, TRUTH, Key("no")] = False
    """Lines are numbered."""
    program_end: Annotated[str, OneOf(("M2", "M30")), Key("M2")] = "M2"
    """The last word."""
    spindle_clockwise: Annotated[str, OneOf(("M3", "M4")), Key("M3", name="spindle start")] = "M3"
    """The word that starts the spindle.

    If wrong: the bit turns backwards and burns."""
    tool_change: Annotated[str, OneOf(("stop", "number")), Key("stop")] = "stop"
    """A stop, or a change by number.

    If wrong: the machine cuts on with the bit that is in it."""
    ending: Annotated[str, FileEnding(), Key("nc", name="file ending")] = "nc"
    """How the names of the files end, as the controller wants it."""


@dataclass(frozen=True, slots=True)
class Machine(Keyed):
    """The router: its box in mm, limits of feed, spindle and acceleration.

    ``spindle_w`` is the power its spindle takes (0: not stated, no limit); ``wobble_mm`` how far
    apart the edges of a bit run, holder and spindle together.  ``holder_mm`` is how wide the
    collet's nut or holder is (assumed, 16 to 40 mm: a calliper replaces it).
    ``spoilboard_mm`` is how deep a G-code file may go below the blank, into the spoilboard
    (assumed, 0.5 to 2 mm).
    ``tolerance_mm`` is how far the way of a tip may lie off the outline it follows (assumed, 0.02
    to 0.1 mm): a slot that passes a bit is narrower by up to 0.02 mm, half of it on either side,
    and rounding to three decimals and fitting arcs stay under 0.005 mm.  The controller takes
    ``lines_s`` lines of a G-code file in a second without faltering (assumed, 100 to 1,000; a file
    of short moves timed on the machine would replace it): at 115,200 baud, ten bits a character and
    25 characters a line, 460 come through.

    If wrong: moves are asked for that the machine cannot make, or minutes are planned that are
    not kept.
    """

    name: Annotated[str, Words(80), Key("bench router")]
    """What you call it."""
    travel_x_mm: Annotated[
        float,
        Items(LENGTH, 3, 3),
        Key("[600 mm, 420 mm, 90 mm]", name="travel", into=("travel_y_mm", "travel_z_mm")),
    ]
    """How far it moves: [right, away, up].

    If wrong: a board that does not fit is let through, and the machine runs into its end."""
    travel_y_mm: float
    travel_z_mm: float
    feed_mm_min: Annotated[float, FEED, Key("3000 mm/min", name="feed")]
    """The fastest feed.

    If wrong: the machine is driven faster than it cuts well, or slower than it could."""
    plunge_mm_min: Annotated[float, FEED, Key("800 mm/min", name="plunge")]
    """The fastest feed straight down.

    If wrong: small bits break going in."""
    rapid_mm_min: Annotated[float, FEED, Key("5000 mm/min", name="rapid")]
    """Its speed between cuts.

    If wrong: only the minutes of the plan are off."""
    spindle_min_rpm: Annotated[float, SPEED, Key("8000 rpm", name="slowest spindle")]
    """The slowest spindle speed."""
    spindle_max_rpm: Annotated[float, SPEED, Key("24000 rpm", name="fastest spindle")]
    """The fastest spindle speed."""
    acceleration_mm_s2: Annotated[
        float,
        Measured(Quantity.ACCELERATION, 0.0, 50000.0, above=True),
        Key("400 mm/s2", name="acceleration"),
    ]
    """How fast it gains speed.

    If wrong: only the minutes of the plan are off."""
    clear_mm: Annotated[float, LENGTH, Key("5 mm", name="clear height")]
    """Above the face, safe to cross.

    If wrong: the bit crosses the board too low and marks it."""
    dialect: Annotated[Dialect, Changes(Dialect), Key(name="gcode files")]
    """How it wants its G-code files written."""
    source: str = ""
    spindle_w: Annotated[
        float, Measured(Quantity.POWER, 1.0, 50000.0), Key("700 W", name="spindle power")
    ] = 0.0
    """What the spindle takes from the mains.

    If wrong: the spindle stalls in a heavy cut that was let through."""
    wobble_mm: Annotated[float, length(0.0, 0.2), Key("0.01 mm")] = 0.01
    """A dial on a bit's shank, turned by hand: from least to most.

    If wrong: fine slots come out wider than planned."""
    spoilboard_mm: Annotated[float, LENGTH_OR_NONE, Key("1 mm", name="spoilboard depth")] = 1.0
    """How deep a cut may go below the blank, into the spoilboard.

    If wrong: cuts through the blank end in the machine's bed, or stop short."""
    holder_mm: Annotated[float, length(3.0, 150.0), Key("25 mm", name="holder width")] = 25.0
    """How wide the collet's nut or holder is, across its corners.

    If wrong: the holder runs into a clamp or a wall."""
    tolerance_mm: Annotated[float, length(0.015, 1.0), Key("0.03 mm", name="cut tolerance")] = 0.03
    """How far a G-code file's path may lie off its outline, and a hole off its place."""
    lines_s: Annotated[float, Count(10, 100000), Key("200", name="lines a second")] = 200.0
    """So many lines of a G-code file its controller takes in a second."""


@dataclass(frozen=True, slots=True)
class Locating(Keyed):
    """Two dowels or discs that bring the blank back to its place, let in by G-code files.

    They stand in the spoilboard and reach up into the blank's waste.
    ``board_mm`` is how deep their recesses go into the spoilboard, ``blank_mm`` how deep into the
    blank, 0 where they go right through it; recesses are ``play_mm`` wider than what goes in.
    ``bit`` is the bit to bore them with, by name, empty where it is chosen.

    If wrong: a setup lies off the one before, or the dowels do not go in.
    """

    by: Annotated[str, OneOf(LOCATED_BY), Key(default=LOCATED_BY[0])]
    """What stands in the spoilboard."""
    diameter_mm: Annotated[float, LENGTH, Key("6 mm")]
    """Of a dowel or disc."""
    board_mm: Annotated[float, LENGTH, Key("8 mm", name="into spoilboard", default=8.0)]
    """How deep they stand in the spoilboard."""
    blank_mm: Annotated[
        float,
        DepthOrThrough(Quantity.LENGTH, 0.0, 200.0, above=True),
        Key("through", name="into blank"),
    ]
    """How far they reach into the blank, or `through`; a recess that does not go through serves
    only once the blank is flipped."""
    play_mm: Annotated[float, LENGTH_OR_NONE, Key("0.05 mm", default=0.05)]
    """How much wider their recesses are."""
    bit: Annotated[str, Words(80), Key("3.175 mm flat")] = ""
    """The bit to bore them with; chosen where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take 0 for a recess that goes through."""
        own["blank_mm"] = 0.0 if math.isinf(own["blank_mm"]) else own["blank_mm"]

    @classmethod
    def shown(cls, record: Locating) -> Mapping[str, Any]:
        """Tell of a recess that goes through by the word."""
        return {} if record.blank_mm > 0.0 else {"into blank": math.inf}


@dataclass(frozen=True, slots=True)
class KeepOut(Keyed):
    """An area that no bit may come into while it is lower than its height.

    It is a clamp, a stop, a screw.  Its middle lies (``x_mm``, ``y_mm``) from the place of the
    blank that ``anchor`` names, as seen looking at the face that is up; it stands ``height_mm``
    above that face.  ``face`` is empty for both faces, ``setups`` for all.

    If wrong: a bit runs into what stands there.
    """

    name: Annotated[str, Words(80), Key("left clamp")]
    """What stands there."""
    wide_mm: Annotated[
        float, Items(LENGTH, 2, 2), Key("[20 mm, 40 mm]", name="size", into=("deep_mm",))
    ]
    """How wide and deep it is, [right, away]."""
    deep_mm: float
    x_mm: Annotated[
        float,
        Items(COORDINATE, 2, 2),
        Key("[-5 mm, 0 mm]", name="at", into=("y_mm",), default=(0.0, 0.0)),
    ]
    """Its middle, [right, away] from the place of the blank named by `from`."""
    y_mm: float
    anchor: Annotated[str, OneOf(ANCHORS), Key(name="from", default="lower left")]
    """The place of the blank that `at` counts from, as you look at the face."""
    height_mm: Annotated[float, LENGTH, Key("25 mm")]
    """How far it stands above the face that is up."""
    face: Annotated[str, OneOf(SIDES), Key(default=SIDES[0])] = ""
    """The face that is up while it is there."""
    setups: Annotated[tuple[int, ...], Items(Count(1, 200), or_one=True), Key()] = ()
    """The setups it is there in; all where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take no face for both."""
        own["face"] = "" if own["face"] == SIDES[0] else own["face"]

    @classmethod
    def shown(cls, record: KeepOut) -> Mapping[str, Any]:
        """Tell of both faces by the word."""
        return {"face": record.face or SIDES[0]}


@dataclass(frozen=True, slots=True)
class Holding(Keyed):
    """A way of holding and locating the blank, and how well it comes back to the same place.

    ``locating`` are the dowels or discs it locates by, where they are to be let in by G-code files;
    ``keep_outs`` its clamps.  ``tape_share`` is how much of the underside is taped, ``clamps`` how
    many press with ``clamp_n`` each, ``pins`` how many pins or screws stand in the waste; None
    where only the words say it.

    If wrong: a setup lies off the one before although the check lets it through.
    """

    listed: ClassVar[bool] = True

    name: str
    how: Annotated[str, Words(), Key("double-sided tape")]
    """What holds it down.

    If wrong: the piece comes loose under the bit."""
    locates_by: Annotated[str, Words(), Key("two dowels on the centre line")]
    """What puts it back in its place."""
    repeat_mm: Annotated[float, length(0.0, 5.0), Key("0.05 mm", name="repeatability")]
    """How far from its place it comes back, usually.

    If wrong: colours meet with gaps the odds did not tell of."""
    source: str
    locating: Annotated[Locating | None, Key()] = None
    """Dowels or discs to be let in by G-code files; none by default."""
    keep_outs: Annotated[
        tuple[KeepOut, ...], Items(Group(KeepOut), most=60), Key(name="keep clear of")
    ] = ()
    """Its clamps and stops, that no bit may come near."""
    tape_share: Annotated[float | None, share(0.0, 1.0), Key("60 %", name="tape")] = None
    """How much of the blank's underside is taped; half where `how` speaks of tape.

    If wrong: the piece comes loose under the bit."""
    clamps: Annotated[int | None, Count(0, 40), Key("4")] = None
    """How many clamps press on it; two where `how` speaks of clamps.

    If wrong: the piece comes loose under the bit."""
    clamp_n: Annotated[
        float | None, Measured(Quantity.FORCE, 10.0, 20000.0), Key("300 N", name="clamp force")
    ] = None
    """How hard each of them presses; 300 N where left out.

    If wrong: the piece comes loose under the bit."""
    tape_mm: Annotated[
        float, length(3.0, 1000.0), Key("25 mm", name="tape width", default=25.0)
    ] = 25.0
    """How wide one strip of the tape is; the setup card tells where the strips go."""
    pins: Annotated[int | None, Count(0, 40), Key("2")] = None
    """Dowels, pins and screws in the waste that take the push of a bit; those that `how` and
    `locates by` speak of where left out."""


class ToolKind(StrEnum):
    """The measuring tools a small shop owns."""

    SCALE = "scale"
    SYRINGE = "syringe"
    CUP = "cup"
    SPOON = "spoon"


@dataclass(frozen=True, slots=True)
class MeasuringTool(Keyed):
    """A scale (step and capacity in g) or a vessel (graduation and capacity in cm3).

    ``drop`` is the least amount that can be added on purpose, in the same unit as ``step``.

    If wrong: a batch is planned that this tool cannot measure: the ratio is off and the mix
    stays soft.
    """

    listed: ClassVar[bool] = True

    name: str
    kind: Annotated[ToolKind, OneOf(ToolKind), Key("scale")]
    """Its sort."""
    step: Annotated[float, Held(), Key("0.01 g")]
    """The step of its display, or from mark to mark."""
    capacity: Annotated[float, Held(), Key("200 g")]
    """The most it holds."""
    drop: Annotated[float, Held(), Key("0.03 g")]
    """The least you can add on purpose."""
    source: str = ""

    @property
    def ounces(self) -> bool:
        """Whether it shows ounces, or fluid ounces.

        Its step is then no round metric figure, but a round or an even part of an ounce.
        """
        step = self.step / (OUNCE_G if self.kind is ToolKind.SCALE else FLUID_OUNCE_CM3)
        metric = abs(self.step * 1000.0 - round(self.step * 1000.0)) < 1e-3
        even = any(
            abs(step * parts - max(1, round(step * parts))) < 1e-3 for parts in (1000, 48, 384)
        )
        return not metric and even
