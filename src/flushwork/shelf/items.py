"""The things on a shop's shelf, as frozen records in mm, g, cm3, s, degrees C, radians."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from flushwork.core.findings import Finding, Source
from flushwork.shelf.hazards import UNKNOWN, Hazards
from flushwork.shelf.spinning import greatest_rpm
from flushwork.shelf.working import ASSUMED, CURE_PLACES, EMPTY_CUP_G, HandTimes, OnHand, Prices


class CutterKind(StrEnum):
    """The shapes of cutter the replay can sweep."""

    FLAT = "flat"
    VEE = "vee"
    BALL = "ball"
    DRILL = "drill"


@dataclass(frozen=True, slots=True)
class Cutter:
    """One cutter as owned.

    ``angle_rad`` is the full included angle of a vee (or a drill's point); ``tip_mm`` the flat at
    its tip.  ``flute_mm`` is the cutting length, ``reach_mm`` how far it stands out of the holder.
    ``chip_mm`` is the chip load per flute, ``pass_mm`` the depth of one pass, ``step`` the
    step-over as a share of the diameter, ``life_holes`` how many holes it stays sharp for and
    ``marked_rpm`` the greatest speed marked on it (each 0 where nobody has said it).
    """

    name: str
    kind: CutterKind
    diameter_mm: float
    number: int
    tip_mm: float = 0.0
    angle_rad: float = 0.0
    flutes: int = 2
    flute_mm: float = 12.0
    shank_mm: float = 3.175
    reach_mm: float = 20.0
    plunges: bool = True
    chip_mm: float = 0.03
    spindle_rpm: float = 18000.0
    pass_mm: float = 1.0
    step: float = 0.4
    source: str = ""
    life_holes: int = 0
    marked_rpm: float = 0.0

    @property
    def greatest_rpm(self) -> float:
        """The fastest it may turn: what is marked on it, else what its width allows."""
        return greatest_rpm(self.diameter_mm, self.marked_rpm)

    @property
    def radius_mm(self) -> float:
        """Half the diameter."""
        return self.diameter_mm / 2.0


@dataclass(frozen=True, slots=True)
class Dialect:
    """How the machine wants its cut files written, in plain facts (RS-274, NISTIR 6556)."""

    inch: bool = False
    decimals: int = 3
    arcs: bool = True
    cycles: bool = True
    line_numbers: bool = False
    program_end: str = "M2"
    spindle_clockwise: str = "M3"
    tool_change: str = "stop"


@dataclass(frozen=True, slots=True)
class Machine:
    """The router: its box in mm, limits of feed, spindle and acceleration.

    ``spindle_w`` is the power its spindle takes (0: not stated, no limit); ``wobble_mm`` how far
    apart the edges of a cutter run, holder and spindle together.  ``holder_mm`` is how wide the
    collet's nut or holder is (assumed, 16 to 40 mm: a calliper replaces it).
    ``skin_mm`` is how deep a cut file may go below the blank, into the spoilboard (assumed, 0.5 to
    2 mm).
    ``tolerance_mm`` is how far the way of a tip may lie off the outline it follows (assumed, 0.02
    to 0.1 mm): a slot that passes a cutter is narrower by up to 0.02 mm, half of it on either side,
    and rounding to three decimals and fitting arcs stay under 0.005 mm.  The controller takes
    ``lines_s`` lines of a cut file in a second without faltering (assumed, 100 to 1,000; a file of
    short moves timed on the machine would replace it): at 115,200 baud, ten bits a character and
    25 characters a line, 460 come through.
    """

    name: str
    travel_x_mm: float
    travel_y_mm: float
    travel_z_mm: float
    feed_mm_min: float
    plunge_mm_min: float
    rapid_mm_min: float
    spindle_min_rpm: float
    spindle_max_rpm: float
    acceleration_mm_s2: float
    clear_mm: float
    dialect: Dialect
    source: str = ""
    spindle_w: float = 0.0
    wobble_mm: float = 0.01
    skin_mm: float = 1.0
    holder_mm: float = 25.0
    tolerance_mm: float = 0.03
    lines_s: float = 200.0


LOCATED_BY: Final = ("dowels", "discs")
"""What may stand in the spoilboard to bring a blank back to its place."""


@dataclass(frozen=True, slots=True)
class Locating:
    """Two dowels or discs that stand in the spoilboard and reach up into the blank's waste.

    ``board_mm`` is how deep their recesses go into the spoilboard, ``blank_mm`` how deep into the
    blank, 0 where they go right through it; recesses are ``play_mm`` wider than what goes in.
    ``cutter`` is the cutter to bore them with, by name, empty where it is chosen.
    """

    by: str
    diameter_mm: float
    board_mm: float
    blank_mm: float
    play_mm: float
    cutter: str = ""


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A box that no cutter may come into: a clamp, a stop, a screw.

    Its middle lies (``x_mm``, ``y_mm``) from the place of the blank that ``anchor`` names, as seen
    looking at the face that is up; it stands ``height_mm`` above that face.  ``face`` is empty for
    both faces, ``mountings`` for all.
    """

    name: str
    anchor: str
    x_mm: float
    y_mm: float
    wide_mm: float
    deep_mm: float
    height_mm: float
    face: str = ""
    mountings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Holding:
    """A way of holding and locating the blank, and how well it comes back to the same place.

    ``locating`` are the dowels or discs it locates by, where they are to be let in by cut files;
    ``keep_outs`` its clamps.  ``tape_share`` is how much of the underside is taped, ``clamps`` how
    many press with ``clamp_n`` each, ``pins`` how many pins or screws stand in the waste; None
    where only the words say it.
    """

    name: str
    how: str
    locates_by: str
    repeat_mm: float
    source: str
    locating: Locating | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    tape_share: float | None = None
    clamps: int | None = None
    clamp_n: float | None = None
    pins: int | None = None


@dataclass(frozen=True, slots=True)
class Timber:
    """One species.

    ``radial_per_pct`` and ``tangential_per_pct`` are the change of size per percent of moisture
    (Wood Handbook, GTR-190, table 13-5).  ``pores`` is ``closed``, ``semi`` or ``open``.
    ``colour`` is the finished wood as sRGB ``#rrggbb``.  ``also`` are other names the trade has for
    it, parted by semicolons (common practice, no source).
    """

    name: str
    radial_per_pct: float
    tangential_per_pct: float
    gravity: float
    hardness_n: float
    pores: str
    colour: str
    grain_colour: str
    source: str
    also: str = ""
    hazards: Hazards = UNKNOWN

    @property
    def other_names(self) -> tuple[str, ...]:
        """The other names of the timber."""
        return tuple(name.strip() for name in self.also.split(";") if name.strip())


@dataclass(frozen=True, slots=True)
class Resin:
    """One resin system; clocks hold at ``at_c``.

    ``ratio`` is parts of resin to hardener, ``by_weight`` or by volume.  ``tolerance`` is the
    share by which the ratio may be off.  ``shrinkage`` is the share of volume lost in cure.
    ``cup_g`` is the most its label lets stand in one cup (0: it names none).
    """

    name: str
    kind: str
    ratio_resin: float
    ratio_hardener: float
    by_weight: bool
    density_resin_g_cm3: float
    density_hardener_g_cm3: float
    tolerance: float
    pot_life_s: float
    pot_mass_g: float
    viscosity_pa_s: float
    recoat_from_s: float
    recoat_until_s: float
    sandable_s: float
    cure_s: float
    at_c: float
    floor_c: float
    layer_mm: float
    shrinkage: float
    source: str
    hazards: Hazards = UNKNOWN
    cup_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Thinner:
    """A solvent thinner: density, the share that evaporates, whether it burns."""

    name: str
    density_g_cm3: float
    evaporates: float
    flammable: bool
    flash_point_c: float
    source: str
    hazards: Hazards = UNKNOWN


class PigmentKind(StrEnum):
    """How a pigment looks and behaves."""

    FLAKE = "flake"
    POWDER = "powder"
    DYE = "dye"


@dataclass(frozen=True, slots=True)
class Pigment:
    """One pigment: true and bulk density, advised and greatest share of the mix by weight.

    ``flake_mm`` is the size of one flake or grain; ``mobile`` says that it travels into bare wood.
    ``hides_mm`` is the depth at which a fill holding the middle of the advised shares lets only
    one part in fifty of the contrast beneath it show.
    """

    name: str
    kind: PigmentKind
    colour: str
    density_g_cm3: float
    bulk_g_cm3: float
    share_low: float
    share_high: float
    flake_mm: float
    hides_mm: float
    mobile: bool
    source: str
    hazards: Hazards = UNKNOWN


class ToolKind(StrEnum):
    """The measuring tools a small shop owns."""

    SCALE = "scale"
    SYRINGE = "syringe"
    CUP = "cup"
    SPOON = "spoon"


@dataclass(frozen=True, slots=True)
class MeasuringTool:
    """A scale (step and capacity in g) or a vessel (graduation and capacity in cm3).

    ``drop`` is the least amount that can be added on purpose, in the same unit as ``step``.
    """

    name: str
    kind: ToolKind
    step: float
    capacity: float
    drop: float
    source: str = ""


AS_THE_FILL: Final = "as the fill"
"""The resin of a sealer that is the same as what is poured over it."""


@dataclass(frozen=True, slots=True)
class Sealer:
    """What closes the pores of a cut wall: film per coat in mm, drying time, whether it burns.

    ``fill_within_s`` is how long after it has been put on a fill still bonds to it, 0 for ever.
    ``resin`` is the resin it is, uncured, or ``AS_THE_FILL``; empty for every other sealer.
    """

    name: str
    film_mm: float
    dry_s: float
    flammable: bool
    source: str
    fill_within_s: float = 0.0
    flash_point_c: float | None = None
    hazards: Hazards = UNKNOWN
    resin: str = ""


@dataclass(frozen=True, slots=True)
class Finish:
    """The clear finish: film in mm per coat, time between coats, whether it burns."""

    name: str
    film_mm: float
    recoat_s: float
    flammable: bool
    source: str
    flash_point_c: float | None = None
    hazards: Hazards = UNKNOWN


@dataclass(frozen=True, slots=True)
class Air:
    """The shop's air: day and night temperature, the hours of day, relative humidity as a share."""

    day_c: float
    night_c: float
    day_from_h: float
    day_until_h: float
    humidity: float


@dataclass(frozen=True, slots=True)
class Shop:
    """The whole shelf, as the shop file and the packaged tables give it.

    ``days`` counts Monday as 0; ``opens_h`` and ``closes_h`` are hours after midnight, by the clock
    of ``zone`` (a name of the IANA time zone database; empty where clocks are never changed).
    ``on_hand`` is what the file tells of what is left, ``cup_g`` what an empty mixing cup weighs;
    ``cautions`` are what its values gave cause to mention, ``places`` where the keys of its file
    stand, and the keys and named items right below them (``air.day until``, ``cutters.fine``).
    """

    name: str
    machine: Machine
    holdings: tuple[Holding, ...]
    cutters: tuple[Cutter, ...]
    timbers: tuple[Timber, ...]
    resins: tuple[Resin, ...]
    thinners: tuple[Thinner, ...]
    pigments: tuple[Pigment, ...]
    tools: tuple[MeasuringTool, ...]
    sealers: tuple[Sealer, ...]
    finishes: tuple[Finish, ...]
    air: Air
    opens_h: float
    closes_h: float
    days: tuple[int, ...]
    cup_loss_g: float
    hands: HandTimes = ASSUMED
    cure_places: int = CURE_PLACES
    prices: Prices | None = None
    zone: str = ""
    on_hand: tuple[OnHand, ...] = ()
    cup_g: float = EMPTY_CUP_G
    cautions: tuple[Finding, ...] = ()
    places: tuple[tuple[str, Source], ...] = ()
