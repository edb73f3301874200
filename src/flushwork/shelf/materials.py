"""What a shop works on and fills with: woods, resins, pigments, sealers, finishes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, ClassVar, Final

from flushwork.core.keys.declare import Items, Key, Keyed
from flushwork.core.keys.quantities import (
    LENGTH,
    LENGTH_OR_NONE,
    Factor,
    Measured,
    length,
    share,
)
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import COLOUR, TRUTH, OneOf, Proportion, Words
from flushwork.core.units import Quantity
from flushwork.core.units.kinds import DAY_S
from flushwork.shelf.hazards import NONE, UNKNOWN, Basis, Hazard, Hazards, hazard_classes

DENSITY: Final = Measured(Quantity.DENSITY, 0.05, 25.0)
SPAN: Final = Measured(Quantity.TIME, 0.0, 30 * DAY_S, above=True)
WAIT: Final = Measured(Quantity.TIME, 0.0, 90 * DAY_S)
AIRING: Final = Measured(Quantity.TIME, 0.0, 3 * DAY_S)
WARMTH: Final = Measured(Quantity.TEMPERATURE, -60.0, 120.0)
FILM: Final = length(0.0, 1.0)
COVERAGE: Final = Measured(Quantity.COVERAGE, 0.5, 200.0)
MOVEMENT: Final = share(0.0, 0.02)
CARRIERS: Final = ("water", "spirit", "oil")
"""What a finish is thinned with, and what moves a dye (common practice, no source)."""
AS_THE_FILL: Final = "as the fill"
"""The resin of a sealer that is the same as what is poured over it."""


@dataclass(frozen=True)
class Classes(Items):
    """The hazard classes that a shop states of a thing."""

    def resolve(self, value: Any, at: At) -> Any:
        """Return them with where they are from."""
        del at
        return Hazards(hazard_classes(value), Basis.STATED)


HAZARDS: Final = Classes(OneOf((*Hazard, NONE)), or_one=True)


@dataclass(frozen=True, slots=True)
class Wood(Keyed):
    """One species.

    ``radial_per_pct`` and ``tangential_per_pct`` are the change of size per percent of moisture
    (Wood Handbook, GTR-190, table 13-5).  ``pores`` is ``closed``, ``semi`` or ``open``.
    ``colour`` is the finished wood as sRGB ``#rrggbb``.  ``also`` are other names the trade has for
    it, parted by semicolons (common practice, no source).

    If wrong: the board moves, cuts or looks other than the pages say.
    """

    listed: ClassVar[bool] = True

    name: str
    radial_per_pct: Annotated[float, MOVEMENT, Key("0.126 %", name="radial movement")]
    """Change of size per percent of moisture, quarter-sawn."""
    tangential_per_pct: Annotated[float, MOVEMENT, Key("0.248 %", name="tangential movement")]
    """Change of size per percent of moisture, flat-sawn."""
    gravity: Annotated[float, Factor(2.0), Key("0.5")]
    """Specific gravity at 12 %."""
    hardness_n: Annotated[float, Measured(Quantity.FORCE, 100.0, 30000.0), Key("4200 N")]
    """Side hardness."""
    pores: Annotated[str, OneOf(("closed", "semi", "open")), Key("closed")]
    """Pores.

    If wrong: resin runs into open pores that nobody sealed."""
    colour: Annotated[str, COLOUR, Key('"#b4794c"')]
    """The finished wood."""
    grain_colour: Annotated[str, COLOUR, Key('"#8f5a36"')]
    """Its darker lines."""
    source: str
    also: str = ""
    hazards: Annotated[Hazards, HAZARDS, Key("[fine dust]")] = UNKNOWN
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""

    @property
    def other_names(self) -> tuple[str, ...]:
        """The other names of the wood."""
        return tuple(name.strip() for name in self.also.split(";") if name.strip())


@dataclass(frozen=True, slots=True)
class Resin(Keyed):
    """One resin system; clocks hold at ``at_c``.

    ``ratio`` is parts of resin to hardener, ``by_weight`` or by volume.  ``tolerance`` is the
    share by which the ratio may be off.  ``shrinkage`` is the share of volume lost in cure.
    ``cup_g`` is the most its label lets stand in one cup (0: it names none).

    If wrong: the mix stays soft, gels in the cup, or is cut before it is hard. Its label rules.
    """

    listed: ClassVar[bool] = True

    name: str
    kind: Annotated[str, OneOf(("coating", "casting")), Key("coating")]
    """Its sort."""
    ratio_resin: Annotated[float, Proportion(), Key("100:44 by weight", name="ratio")]
    """Resin to hardener, by weight or by volume.

    If wrong: it never cures, and the board is lost. Its label rules."""
    ratio_hardener: float
    by_weight: bool
    density_resin_g_cm3: Annotated[float, DENSITY, Key("1.15 g/cm3", name="resin density")]
    """Of the resin."""
    density_hardener_g_cm3: Annotated[float, DENSITY, Key("0.97 g/cm3", name="hardener density")]
    """Of the hardener."""
    tolerance: Annotated[float, share(above=True), Key("3 %", name="ratio tolerance")]
    """How far off the ratio may be."""
    pot_life_s: Annotated[float, SPAN, Key("25 min")]
    """From first contact, at `pot mass`.

    If wrong: it gels in the cup before the last pocket is full."""
    pot_mass_g: Annotated[float, Measured(Quantity.MASS, 1.0, 5000.0), Key("100 g")]
    """The mass its pot life holds for."""
    viscosity_pa_s: Annotated[
        float, Measured(Quantity.VISCOSITY, 0.01, 100.0), Key("0.7 Pa s", name="viscosity")
    ]
    """Mixed."""
    recoat_from_s: Annotated[float, WAIT, Key("6 h")]
    """The next layer, at the soonest."""
    recoat_until_s: Annotated[float, WAIT, Key("18 h")]
    """The next layer without sanding, at the latest.

    If wrong: the next layer does not bond, or is sanded in vain."""
    sandable_s: Annotated[float, WAIT, Key("24 h", name="sandable after")]
    """Hard enough to cut and sand.

    If wrong: it is milled while soft: it smears, and its dust makes allergic."""
    cure_s: Annotated[float, WAIT, Key("7 days", name="cured after")]
    """Cured through."""
    at_c: Annotated[float, WARMTH, Key("25 degC")]
    """The temperature these times hold at."""
    floor_c: Annotated[float, WARMTH, Key("15 degC", name="coldest")]
    """It may stall below this.

    If wrong: it stalls overnight in a cold shop."""
    layer_mm: Annotated[float, LENGTH, Key("6 mm", name="deepest pour")]
    """The deepest single pour.

    If wrong: a pour too deep heats itself, cracks or smokes."""
    shrinkage: Annotated[float, share(), Key("3 %")]
    """Volume lost in cure."""
    source: str
    hazards: Annotated[Hazards, HAZARDS, Key("[fine dust]")] = UNKNOWN
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out.

    If wrong: a caution is missing where it is needed. Its safety sheet rules."""
    cup_g: Annotated[
        float, Measured(Quantity.MASS, 1.0, 50000.0), Key("200 g", name="in one cup")
    ] = 0.0
    """The most its label lets stand in one cup; its `pot mass` where the label names none.

    If wrong: a full cup heats itself until it smokes."""


@dataclass(frozen=True, slots=True)
class Thinner(Keyed):
    """A solvent thinner: density, the share that evaporates, whether it burns.

    If wrong: a caution is missing where its vapour meets a spark or heat. Its safety sheet
    rules.
    """

    listed: ClassVar[bool] = True

    name: str
    density_g_cm3: Annotated[float, DENSITY, Key("0.79 g/cm3", name="density")]
    """At 20 degC."""
    evaporates: Annotated[float, share(), Key("100 %")]
    """The share that leaves before the resin gels."""
    flammable: Annotated[bool, TRUTH, Key("yes")]
    """It burns."""
    flash_point_c: Annotated[float, WARMTH, Key("12 degC")]
    """Flash point."""
    source: str
    hazards: Annotated[Hazards, HAZARDS, Key("[fine dust]")] = UNKNOWN
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""
    air_s: Annotated[float | None, AIRING, Key("30 min", name="air for")] = None
    """How long nothing hot or sparking runs once it is put on, where its vapour burns; 30 min where
    left out."""


class PigmentKind(StrEnum):
    """How a pigment looks and behaves."""

    FLAKE = "flake"
    POWDER = "powder"
    DYE = "dye"


@dataclass(frozen=True, slots=True)
class Pigment(Keyed):
    """One pigment: true and bulk density, advised and greatest share of the mix by weight.

    ``flake_mm`` is the size of one flake or grain; ``mobile`` says that it travels into bare wood.
    ``hides_mm`` is the depth at which a fill holding the middle of the advised shares lets only
    one part in fifty of the contrast beneath it show.

    If wrong: the colour on the pages is not that on the board, or what lies beneath shows
    through.
    """

    listed: ClassVar[bool] = True

    name: str
    kind: Annotated[PigmentKind, OneOf(PigmentKind), Key("flake")]
    """Its sort."""
    colour: Annotated[str, COLOUR, Key('"#0f7d83"')]
    """In resin, well hidden."""
    density_g_cm3: Annotated[float, DENSITY, Key("2.9 g/cm3", name="density")]
    """True density."""
    bulk_g_cm3: Annotated[float, DENSITY, Key("0.35 g/cm3", name="bulk density")]
    """As it lies in a spoon."""
    share_low: Annotated[float, share(), Key("1 %", name="least share")]
    """Advised, at least, by weight.

    If wrong: the fill shows what lies beneath."""
    share_high: Annotated[float, share(above=True), Key("5 %", name="most share")]
    """Advised, at most, by weight.

    If wrong: the mix stays soft or too thick to fill fine lines."""
    flake_mm: Annotated[float, LENGTH_OR_NONE, Key("0.06 mm", name="flake size")]
    """Of one flake or grain."""
    hides_mm: Annotated[float, LENGTH, Key("0.6 mm", name="hides at")]
    """The depth that hides what lies beneath."""
    mobile: Annotated[bool, TRUTH, Key("no", name="bleeds")]
    """It travels into bare wood.

    If wrong: a dye runs into bare wood that was not sealed."""
    source: str
    hazards: Annotated[Hazards, HAZARDS, Key("[fine dust]")] = UNKNOWN
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out.

    If wrong: a caution is missing where it is needed. Its safety sheet rules."""
    runs_in: Annotated[
        tuple[str, ...] | None, Items(OneOf(CARRIERS), 1, 3, or_one=True), Key("[water, spirit]")
    ] = None
    """Finishes that carry it on once it has run into bare wood; of what `bleeds`, water and spirit
    where left out."""


@dataclass(frozen=True, slots=True)
class Sealer(Keyed):
    """What closes the pores of a cut wall: film per coat in mm, drying time, whether it burns.

    ``fill_within_s`` is how long after it has been put on a fill still bonds to it, 0 for ever.
    ``resin`` is the resin it is, uncured, or ``AS_THE_FILL``; empty for every other sealer.

    If wrong: resin bleeds into the wood, or does not bond to what was put on.
    """

    listed: ClassVar[bool] = True

    name: str
    film_mm: Annotated[float, FILM, Key("0.02 mm")]
    """Thickness of a coat."""
    dry_s: Annotated[float, WAIT, Key("1 h", name="dry after")]
    """Dry."""
    flammable: Annotated[bool, TRUTH, Key("yes")]
    """It burns while wet.

    If wrong: a spark meets its vapour although the check lets it through."""
    source: str
    fill_within_s: Annotated[float, WAIT, Key("24 h")] = 0.0
    """How long after it a fill still bonds without scuff-sanding; 0 h for ever."""
    flash_point_c: Annotated[float | None, WARMTH, Key("12 degC")] = None
    """Flash point of the liquid."""
    hazards: Annotated[Hazards, HAZARDS, Key("[fine dust]")] = UNKNOWN
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out.

    If wrong: a caution is missing where it is needed. Its safety sheet rules."""
    resin: Annotated[str, Words(60), Key("as the fill")] = ""
    """The resin that it is, uncured, or `as the fill`: it is measured and waited for like a
    pour."""
    air_s: Annotated[float | None, AIRING, Key("30 min", name="air for")] = None
    """How long nothing hot or sparking runs once it is put on, where its vapour burns; the longer
    of 30 min and `dry after` where left out."""
    covers_m2_l: Annotated[float, COVERAGE, Key("10 m2/l", name="coverage")] = 10.0
    """What a litre of it covers, one thin coat (common practice, no source: 8 to 12 m2)."""


@dataclass(frozen=True, slots=True)
class Finish(Keyed):
    """The clear finish: film in mm per coat, time between coats, whether it burns.

    If wrong: a coat goes on too soon and stays soft, or too little of it is on hand.
    """

    listed: ClassVar[bool] = True

    name: str
    film_mm: Annotated[float, FILM, Key("0.015 mm")]
    """Thickness of a coat."""
    recoat_s: Annotated[float, WAIT, Key("12 h", name="recoat after")]
    """The next coat, at the soonest."""
    flammable: Annotated[bool, TRUTH, Key("yes")]
    """It burns while wet.

    If wrong: a spark meets its vapour although the check lets it through."""
    source: str
    flash_point_c: Annotated[float | None, WARMTH, Key("12 degC")] = None
    """Flash point of the liquid."""
    hazards: Annotated[Hazards, HAZARDS, Key("[fine dust]")] = UNKNOWN
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out.

    If wrong: a caution is missing where it is needed. Its safety sheet rules."""
    air_s: Annotated[float | None, AIRING, Key("30 min", name="air for")] = None
    """How long nothing hot or sparking runs once it is put on, where its vapour burns; 30 min where
    left out."""
    covers_m2_l: Annotated[float, COVERAGE, Key("15 m2/l", name="coverage")] = 15.0
    """What a litre of it covers, one thin coat (common practice, no source: 10 to 18 m2, a wiped
    oil up to 30)."""
    carried_by: Annotated[str | None, OneOf(CARRIERS), Key("water")] = None
    """What it is thinned with; water where it does not burn, oil where it does, if left out."""
