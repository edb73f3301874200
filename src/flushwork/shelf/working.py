"""How the shop works: how long hands take, where pieces cure, what things cost.

What is on hand in a shop, as far as its file tells.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from flushwork.core.findings import Source


@dataclass(frozen=True, slots=True)
class HandTimes:
    """Minutes of hand work, per piece unless said otherwise.

    All are assumed, no source; the range stands beside each, and the first job timed with a watch
    replaces it.  ``change_min`` is per cutter put in, ``mount_min`` per mounting, ``tidy_min`` per
    batch mixed (mixing and filling themselves are on the pour's card), ``air_min`` per file.
    Flattening, sealing, sanding, keying and coats hold for a face of ``timed_dm2`` and grow with
    it; of each hour of such work ``pause_min`` are a pause.
    """

    flatten_min: int = 12
    """One face planed flat: 5 to 30."""
    mount_min: int = 10
    """Held, located, zeroed, clear height checked: 5 to 20."""
    mount_next_min: int = 4
    """Each further piece on the bed: held and located beside the first: 2 to 10."""
    change_min: int = 4
    """Cutter changed and its height touched off: 2 to 8."""
    seal_min: int = 6
    """Brushed or wiped, dust taken off before: 3 to 15."""
    sand_min: int = 20
    """Sanded flush through the grits after the first levelling of a face: 10 to 40."""
    light_sand_min: int = 10
    """The same after each later levelling: 5 to 20."""
    key_min: int = 15
    """Washed, abraded and cleaned where a recoat window was missed: 8 to 30."""
    coat_min: int = 10
    """One coat of finish on both faces, rubbed down before: 5 to 20."""
    tidy_min: int = 6
    """Tools laid out for a batch, and cleared away: 3 to 12."""
    air_min: int = 2
    """Z lifted for a file's run in air, set back after it: 1 to 5."""
    timed_dm2: float = 9.0
    """The face these times were taken on: 300 mm x 300 mm, between a coaster and a large board."""
    pause_min: int = 5
    """Hands and back rest of each hour of hand work: 0 to 15."""


ASSUMED: Final = HandTimes()
"""The hand times of a shop that has timed nothing yet."""

CURE_PLACES: Final = 12
"""Level, dust-free places where pieces can lie and cure (assumed, 2 to 20; count your own)."""

EMPTY_CUP_G: Final = 10.0
"""What an empty mixing cup weighs (assumed, 3 to 40 g; put your own on the scale)."""


@dataclass(frozen=True, slots=True)
class CutterPrice:
    """What a cutter costs, and the hours of cutting after which it is dull."""

    cutter: str
    price: Decimal
    life_h: float


@dataclass(frozen=True, slots=True)
class Prices:
    """What things cost, in the shop's own currency; ``currency`` is only a word.

    ``hands_h`` is what an hour of work costs, ``wanted_h`` what it shall bring; ``machine_h`` what
    an hour of the machine costs.  Timber goes by dm3, resin and pigment by kg, thinner by litre;
    ``sundries`` (sealer, finish, abrasives, cups, gloves) by piece.
    """

    currency: str
    hands_h: Decimal
    wanted_h: Decimal
    machine_h: Decimal
    sundries: Decimal
    timber_dm3: tuple[tuple[str, Decimal], ...] = ()
    resin_kg: tuple[tuple[str, Decimal], ...] = ()
    pigment_kg: tuple[tuple[str, Decimal], ...] = ()
    thinner_l: tuple[tuple[str, Decimal], ...] = ()
    cutters: tuple[CutterPrice, ...] = ()


class StockKind(StrEnum):
    """What can be counted or weighed on a shelf."""

    RESIN = "resin"
    HARDENER = "hardener"
    PIGMENT = "pigment"
    THINNER = "thinner"
    SEALER = "sealer"
    FINISH = "finish"
    CUTTER = "cutters"
    TIMBER = "timber"


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
