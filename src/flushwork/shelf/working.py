"""How the shop works: its hours and habits, how long hands take, what things cost.

What is on hand in a shop, as far as its file tells.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Annotated, Any, Final

from flushwork.core.findings import Source
from flushwork.core.keys.days import BY_VOLUME, BY_VOLUME_OF_WOOD, BY_WEIGHT, Money
from flushwork.core.keys.declare import Group, Key, Keyed
from flushwork.core.keys.quantities import Count, Measured
from flushwork.core.keys.settle import At, PerThing
from flushwork.core.keys.tree import Scalar
from flushwork.core.keys.words import TRUTH, Clock, Size, Words
from flushwork.core.units import Quantity
from flushwork.core.units.kinds import HOUR_MIN, HOUR_S, MINUTE_S, MM2_PER_DM2


@dataclass(frozen=True)
class Minutes(Measured):
    """A time in whole minutes."""

    def read(self, scalar: Scalar) -> int:
        """Return the minutes."""
        return round(Measured.read(self, scalar) / MINUTE_S)

    def text(self, value: float) -> str:
        """Write the minutes with their unit."""
        return Measured.text(self, value * MINUTE_S)


@dataclass(frozen=True)
class Hours(Measured):
    """A time in hours."""

    def read(self, scalar: Scalar) -> float:
        """Return the hours."""
        return Measured.read(self, scalar) / HOUR_S

    def text(self, value: float) -> str:
        """Write the hours with their unit."""
        return Measured.text(self, value * HOUR_S)


@dataclass(frozen=True)
class Area(Size):
    """The area of a length by a width."""

    def read(self, scalar: Scalar) -> float:  # type: ignore[override]
        """Return the area in dm2."""
        first, second = Size.read(self, scalar)
        return first * second / MM2_PER_DM2

    def text(self, value: float) -> str:  # type: ignore[override]
        """Write an area as that of a square."""
        side_mm = (value * MM2_PER_DM2) ** 0.5
        return Size.text(self, (side_mm, side_mm))


FIXED_SHARE: Final = 0.3
"""The share of work on a face that does not grow with it: taking up, looking, laying down (assumed,
0.1 to 0.5; two boards of different size, timed, replace it)."""

MINUTES: Final = Minutes(Quantity.TIME, 30.0, 8 * HOUR_S)
PAUSE: Final = Minutes(Quantity.TIME, 0.0, 30 * MINUTE_S)


@dataclass(frozen=True, slots=True)
class HandTimes(Keyed):
    """Minutes of hand work, per piece unless said otherwise.

    All are assumed, no source; the range stands beside each, and the first job timed with a watch
    replaces it.  ``change_min`` is per bit put in, ``mount_min`` per setup, ``tidy_min`` per
    batch mixed (mixing and filling themselves are on the pour's card), ``air_min`` per file.
    Surfacing, sealing, sanding, scuff-sanding and coats hold for a face of ``timed_dm2`` and grow
    with it; of each hour of such work ``pause_min`` are a pause.

    If wrong: days and price are off by as much; what is cut and poured stays the same.
    """

    surface_min: Annotated[int, MINUTES, Key("12 min")] = 12  # 5 to 30
    """One face of one piece planed flat, 12 min where left out."""
    rough_min: Annotated[int, MINUTES, Key("15 min")] = 15  # 5 to 40
    """The stock of one piece sawn and planed rough, 15 min where left out."""
    glue_min: Annotated[int, MINUTES, Key("25 min")] = 25  # 10 to 60
    """One blank's strips jointed, glued and clamped, 25 min where left out."""
    mount_min: Annotated[int, MINUTES, Key("10 min")] = 10  # 5 to 20
    """A piece held, located and zeroed, 10 min where left out."""
    mount_next_min: Annotated[int, MINUTES, Key("4 min")] = 4  # 2 to 10
    """Each further piece on the bed held and located, 4 min where left out."""
    change_min: Annotated[int, MINUTES, Key("4 min")] = 4  # 2 to 8
    """A bit changed and touched off, 4 min where left out."""
    seal_min: Annotated[int, MINUTES, Key("6 min")] = 6  # 3 to 15
    """A piece dusted and sealed, 6 min where left out."""
    sand_min: Annotated[int, MINUTES, Key("20 min")] = 20  # 10 to 40
    """A face sanded after its first flush milling, 20 min where left out."""
    light_sand_min: Annotated[int, MINUTES, Key("10 min")] = 10  # 5 to 20
    """A face sanded after a later flush milling, 10 min where left out."""
    scuff_sand_min: Annotated[int, MINUTES, Key("15 min")] = 15  # 8 to 30
    """A piece washed and scuff-sanded after a missed window, 15 min where left out."""
    coat_min: Annotated[int, MINUTES, Key("10 min")] = 10  # 5 to 20
    """One coat of finish on a piece, 10 min where left out."""
    tidy_min: Annotated[int, MINUTES, Key("6 min")] = 6  # 3 to 12
    """Laying out and clearing away for one batch, 6 min where left out."""
    air_min: Annotated[int, MINUTES, Key("2 min")] = 2  # 1 to 5
    """Z lifted for a file's run in air, and set back, 2 min where left out."""
    box_saw_min: Annotated[int, MINUTES, Key("60 min")] = 60  # 30 to 120
    """The walls and bottom of one box sawn, mitred and grooved, 60 min where left out."""
    box_plane_min: Annotated[int, MINUTES, Key("30 min")] = 30  # 15 to 60
    """The stock of one box planed to thickness, 30 min where left out."""
    box_glue_min: Annotated[int, MINUTES, Key("30 min")] = 30  # 15 to 60
    """One box glued and strapped, 30 min where left out."""
    spline_min: Annotated[int, MINUTES, Key("4 min")] = 4  # 2 to 8
    """One spline slotted, glued in and planed flush, 4 min where left out."""
    fitting_min: Annotated[int, MINUTES, Key("6 min")] = 6  # 3 to 15
    """One hinge, catch or foot let in, 6 min where left out."""
    box_sand_min: Annotated[int, MINUTES, Key("40 min")] = 40  # 20 to 80
    """One box planed at its edges, its lid cut free, and sanded, 40 min where left out."""
    box_coat_min: Annotated[int, MINUTES, Key("10 min")] = 10  # 5 to 20
    """One coat of finish on a box, 10 min where left out."""
    timed_dm2: Annotated[float, Area(), Key("300 mm x 300 mm", name="timed on")] = 9.0
    """The face that surfacing, sealing, sanding, scuff-sanding and coats were timed on, 300 mm x
    300 mm where left out; a smaller one takes less."""
    pause_min: Annotated[int, PAUSE, Key("5 min")] = 5  # 0 to 15
    """A pause in each hour of work by hand, 5 min where left out."""

    def paused_min(self, minutes: float) -> int:
        """Return the minutes of work by hand that no face's size changes, pauses included."""
        return max(1, round(minutes * HOUR_MIN / (HOUR_MIN - self.pause_min)))

    def on_face_min(self, minutes: int, dm2: float) -> int:
        """Return the minutes of work by hand on a piece whose face has ``dm2``, pauses included.

        ``minutes`` is how long it takes on a piece of the size that the shop has timed.
        """
        grown = FIXED_SHARE + (1.0 - FIXED_SHARE) * dm2 / self.timed_dm2
        return self.paused_min(minutes * grown)


ASSUMED: Final = HandTimes()
"""The hand times of a shop that has timed nothing yet."""


@dataclass(frozen=True, slots=True)
class LabelSheet(Keyed):
    """A sheet of labels: how large one is, how many stand across and down, the gaps between them.

    They stand in the middle of the page.  With one across and one down the page is no larger than
    the label: a roll.  The size is a common one (common practice, no source).

    If wrong: words are printed over the edges of the labels.
    """

    width_mm: Annotated[float, Measured(Quantity.LENGTH, 20.0, 200.0), Key("70 mm")] = 70.0
    """How wide one label is."""
    height_mm: Annotated[float, Measured(Quantity.LENGTH, 12.0, 270.0), Key("37 mm")] = 37.0
    """How high one label is."""
    columns: Annotated[int, Count(1, 8), Key("3")] = 3
    """How many stand across a sheet."""
    rows: Annotated[int, Count(1, 20), Key("8")] = 8
    """How many stand down a sheet."""
    gap_across_mm: Annotated[float, Measured(Quantity.LENGTH, 0.0, 50.0), Key("0 mm")] = 0.0
    """The gap between two that stand beside each other."""
    gap_down_mm: Annotated[float, Measured(Quantity.LENGTH, 0.0, 50.0), Key("0 mm")] = 0.0
    """The gap between two that stand one above the other."""

    @property
    def across_mm(self) -> float:
        """How wide all columns are together."""
        return self.columns * (self.width_mm + self.gap_across_mm) - self.gap_across_mm

    @property
    def down_mm(self) -> float:
        """How high all rows are together."""
        return self.rows * (self.height_mm + self.gap_down_mm) - self.gap_down_mm


COMMON_LABELS: Final = LabelSheet()
LETTER_LABELS: Final = LabelSheet(66.675, 25.4, 3, 10, 3.175)
"""Those of a US Letter sheet, of the same common practice."""

CURE_PLACES: Final = 12
"""Level, dust-free places where pieces can lie and cure (assumed, 2 to 20; count your own)."""

EMPTY_CUP_G: Final = 10.0
"""What an empty mixing cup weighs (assumed, 3 to 40 g; put your own on the scale)."""


@dataclass(frozen=True, slots=True)
class WorkHours(Keyed):
    """When you work.

    Hours after midnight: assumed, replace with your own.

    If wrong: steps are planned when nobody is there, and a pot gels overnight.
    """

    opens_h: Annotated[float, Clock(), Key("8:00")] = 8.0
    """Work begins."""
    closes_h: Annotated[float, Clock(), Key("18:00")] = 18.0
    """Work ends."""

    @property
    def open_min(self) -> int:
        """How long a day of work is."""
        return round(HOUR_MIN * (self.closes_h - self.opens_h))


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopWays(Keyed):
    """What a shop file says of the shop itself, in plain values; those of a starter shop.

    The hours are by the clock of ``zone``, a name of the IANA time zone database.

    If wrong: what the pages say is not what your shop has.
    """

    name: Annotated[str, Words(120), Key("Lakeside shop")] = "starter shop"
    """What the shop is called.

    If wrong: only the headings change."""
    hours: Annotated[WorkHours, Key()] = WorkHours()
    """When you work."""
    zone: Annotated[str, Words(60), Key("Europe/Berlin", name="time zone")] = ""
    """Where the shop is, for changes of the clock; without it the clock is never changed.

    If wrong: the calendar is an hour off when the clocks change."""
    cup_loss_g: Annotated[float, Measured(Quantity.MASS, 0.0, 50.0), Key("1.5 g")] = 1.5  # 1 to 2
    """Mixed resin left on cup and stick.

    If wrong: a batch runs out before the last pocket is full."""
    cup_g: Annotated[float, Measured(Quantity.MASS, 0.0, 500.0), Key("10 g", name="empty cup")] = (
        EMPTY_CUP_G
    )
    """What a mixing cup weighs: the scale bears it too.

    If wrong: a batch is planned that is too heavy for the scale."""
    cure_places: Annotated[int, Count(1, 500), Key("12")] = CURE_PLACES
    """Level, dust-free places where pieces can cure.

    If wrong: more pieces are poured than can lie level."""
    coats_apart: Annotated[bool, TRUTH, Key("yes")] = False
    """What gives off vapour that burns is put on and dries in another aired room, with no motor,
    flame or heat: the days then keep nothing apart.

    If wrong: a motor or a flame runs beside vapour that burns."""


@dataclass(frozen=True, slots=True)
class BitPrice(Keyed):
    """What a bit costs, and the hours of cutting after which it is dull.

    If wrong: what a piece costs is off; nothing cut or poured changes.
    """

    bit: str
    price: Annotated[Decimal, Money(), Key("18.00")]
    """What a new one costs."""
    life_h: Annotated[float, Hours(Quantity.TIME, 60.0, 1000 * HOUR_S), Key("5 h")]
    """Hours of cutting until it is dull."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Call the bit by the name that its keys stand under."""
        own["bit"] = at.path[-1]


@dataclass(frozen=True, slots=True)
class Prices(Keyed):
    """What things cost, in the shop's own currency; ``currency`` is only a word.

    ``hands_h`` is what an hour of work costs, ``wanted_h`` what it shall bring; ``machine_h`` what
    an hour of the machine costs.  Wood goes by dm3, resin and pigment by kg, thinner by litre;
    ``sundries`` (sealer, finish, abrasives, cups, gloves) by piece.

    If wrong: what a piece costs, and what to ask for it, is off; nothing cut or poured changes.
    """

    currency: Annotated[str, Words(20), Key("crowns")]
    """What your money is called."""
    hands_h: Annotated[Decimal, Money(), Key("25.00", name="hour of work")]
    """What an hour of your work costs you."""
    wanted_h: Annotated[
        Decimal,
        Money(),
        Key("40.00", name="wanted per hour", otherwise=lambda at: at.own["hands_h"]),
    ]
    """What an hour shall bring; the cost of an hour where left out."""
    machine_h: Annotated[Decimal, Money(), Key("4.00", name="hour of machine", default=Decimal(0))]
    """What an hour of the machine costs."""
    sundries: Annotated[Decimal, Money(), Key("3.50", default=Decimal(0))]
    """Sealer, finish, abrasives, cups and gloves, for each piece."""
    hinge: Annotated[Decimal | None, Money(), Key("2.50")] = None
    """One hinge of a box, with its screws; told as without a price where left out."""
    catch: Annotated[Decimal | None, Money(), Key("3.00")] = None
    """One catch of a box; told as without a price where left out."""
    foot: Annotated[Decimal | None, Money(), Key("0.40")] = None
    """One foot of a box; told as without a price where left out."""
    wood_dm3: Annotated[
        tuple[tuple[str, Decimal], ...],
        PerThing("woods", "wood", BY_VOLUME_OF_WOOD),
        Key("{black cherry: 9.50}", name="wood"),
    ] = ()
    """For each wood, its price as sawn, for one dm3 or `per board foot`, `cubic foot` or `m3`."""
    resin_kg: Annotated[
        tuple[tuple[str, Decimal], ...],
        PerThing("resins", "resin", BY_WEIGHT),
        Key("{coating epoxy: 32.00}", name="resin"),
    ] = ()
    """For each resin, its price with its hardener, for one kg or `per lb`, `oz` or `g`."""
    pigment_kg: Annotated[
        tuple[tuple[str, Decimal], ...],
        PerThing("pigments", "pigment", BY_WEIGHT),
        Key("{teal flake: 120.00}", name="pigment"),
    ] = ()
    """For each pigment, its price, for one kg or `per lb`, `oz` or `g`."""
    thinner_l: Annotated[
        tuple[tuple[str, Decimal], ...],
        PerThing("thinners", "thinner", BY_VOLUME),
        Key("{ethanol: 6.00}", name="thinner"),
    ] = ()
    """For each thinner, its price, for one litre or `per fl oz`, `gallon` or `ml`."""
    bits: Annotated[tuple[BitPrice, ...], PerThing("bits", "bit", Group(BitPrice)), Key()] = ()
    """For each bit, its price and its life."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Leave out the names that the prices of bits hold themselves."""
        own["bits"] = tuple(price for _, price in own["bits"])


class StockKind(StrEnum):
    """What can be counted or weighed on a shelf."""

    RESIN = "resin"
    HARDENER = "hardener"
    PIGMENT = "pigment"
    THINNER = "thinner"
    SEALER = "sealer"
    FINISH = "finish"
    BIT = "bits"
    WOOD = "wood"


GRAMS: Final = "g"
CM3: Final = "cm3"
PIECES: Final = ""
"""The unit of what is counted."""


@dataclass(frozen=True, slots=True)
class OnHand:
    """So much of one thing is there: ``amount`` in ``unit`` (g, cm3, or nothing for a number).

    ``name`` is the thing's name on the shelf; resin and hardener both go by the resin's.
    """

    kind: StockKind
    name: str
    amount: float
    unit: str
    source: Source
