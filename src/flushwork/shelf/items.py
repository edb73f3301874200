"""The things on a shop's shelf, as frozen records in mm, g, cm3, s, degrees C, radians."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final

from flushwork.core.findings import Finding, Source
from flushwork.core.keys.declare import Key, Keyed
from flushwork.core.keys.quantities import Measured, share
from flushwork.core.keys.words import Clock
from flushwork.core.units import Quantity, System
from flushwork.core.units.shown import Units
from flushwork.shelf.equipment import (
    ANCHORS,
    LOCATED_BY,
    SIDES,
    Bit,
    BitKind,
    Dialect,
    Holding,
    KeepOut,
    Locating,
    Machine,
    MeasuringTool,
    ToolKind,
)
from flushwork.shelf.materials import (
    AS_THE_FILL,
    Finish,
    Pigment,
    PigmentKind,
    Resin,
    Sealer,
    Thinner,
    Wood,
)
from flushwork.shelf.working import (
    ASSUMED,
    COMMON_LABELS,
    HandTimes,
    LabelSheet,
    OnHand,
    Prices,
    ShopWays,
)

COLDEST_C: Final = -20.0
WARMEST_C: Final = 50.0
"""Air that somebody works in, or leaves pieces in overnight (assumed)."""
SHOP_AIR: Final = Measured(Quantity.TEMPERATURE, COLDEST_C, WARMEST_C)


@dataclass(frozen=True, slots=True)
class Air(Keyed):
    """The shop's air: day and night temperature, the hours of day, relative humidity as a share.

    If wrong: cures and pot lives are worked out for another room: resin is cut soft, or gels in
    the cup.
    """

    day_c: Annotated[float, SHOP_AIR, Key("20 degC", name="day temperature")]
    """By day."""
    night_c: Annotated[float, SHOP_AIR, Key("16 degC", name="night temperature")]
    """By night.

    If wrong: a cure that stalls at night is taken for done in the morning."""
    day_from_h: Annotated[float, Clock(), Key("8:00")]
    """The day's warmth begins."""
    day_until_h: Annotated[float, Clock(), Key("18:00")]
    """The day's warmth ends."""
    humidity: Annotated[float, share(0.01, 0.99), Key("45 %")]
    """Relative humidity.

    If wrong: the wood is worked at another size than it will have."""


@dataclass(frozen=True, slots=True)
class Shop(ShopWays):
    """The whole shelf, as the shop file and the packaged tables give it.

    ``days`` counts Monday as 0.  ``on_hand`` is what the file tells of what is left; ``warnings``
    are what its values gave cause to mention, ``places`` where the keys of its file stand, and the
    keys and named items right below them (``air.day until``, ``bits.fine``).  ``units`` rules what
    is printed, shown and said.
    """

    machine: Machine
    holdings: tuple[Holding, ...]
    bits: tuple[Bit, ...]
    woods: tuple[Wood, ...]
    resins: tuple[Resin, ...]
    thinners: tuple[Thinner, ...]
    pigments: tuple[Pigment, ...]
    tools: tuple[MeasuringTool, ...]
    sealers: tuple[Sealer, ...]
    finishes: tuple[Finish, ...]
    air: Air
    days: tuple[int, ...]
    hands: HandTimes = ASSUMED
    labels: LabelSheet = COMMON_LABELS
    prices: Prices | None = None
    on_hand: tuple[OnHand, ...] = ()
    warnings: tuple[Finding, ...] = ()
    places: tuple[tuple[str, Source], ...] = ()
    units: System = System.METRIC

    @property
    def reads(self) -> Units:
        """What is read in this shop: its units, and what all its scales and its vessels show."""
        scales = [each.ounces for each in self.tools if each.kind is ToolKind.SCALE]
        vessels = [each.ounces for each in self.tools if each.kind is not ToolKind.SCALE]
        things: tuple[tuple[Bit | Holding | MeasuringTool | Pigment, ...], ...]
        things = (self.bits, self.holdings, self.tools, self.pigments)
        names = tuple(each.name for some in things for each in some)
        return Units(
            self.units,
            ounces=bool(scales) and all(scales),
            fluid_ounces=bool(vessels) and all(vessels),
            names=tuple(name for name in names if any(letter.isdigit() for letter in name)),
        )

    @property
    def machine_reads(self) -> Units:
        """What is read at the machine: the units of its G-code files, finely."""
        system = System.INCH if self.machine.dialect.inch else System.METRIC
        return replace(self.reads, system=system, machine=True)
