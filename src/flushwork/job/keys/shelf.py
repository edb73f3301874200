"""The keys of the things on a shop's shelf.

Every entry may be a plain name (taken from the packaged shelf) or a group of keys that changes a
thing named by ``like``, or makes a new one.  Each key is declared by the name of the field that it
changes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Final

from flushwork.core.units import Quantity, Ratio
from flushwork.job.keys.declare import Group, Items, Key, Keyed, stated
from flushwork.job.keys.quantities import (
    LENGTH,
    LENGTH_OR_NONE,
    Count,
    Factor,
    Held,
    Measured,
    length,
    share,
)
from flushwork.job.keys.waste import KeepOutKeys, LocatingKeys
from flushwork.job.keys.words import COLOUR, TRUTH, OneOf, Proportion, Words
from flushwork.shelf.hazards import NONE, Basis, Hazard, Hazards, hazard_classes
from flushwork.shelf.items import CutterKind, KeepOut, Locating, PigmentKind, ToolKind

DENSITY: Final = Measured(Quantity.DENSITY, 0.05, 25.0)
SPAN: Final = Measured(Quantity.TIME, 0.0, 30 * 86400.0, above=True)
WAIT: Final = Measured(Quantity.TIME, 0.0, 90 * 86400.0)
WARMTH: Final = Measured(Quantity.TEMPERATURE, -60.0, 120.0)
TIP_ANGLE: Final = Measured(Quantity.ANGLE, 0.0, 3.1, above=True)
FILM: Final = length(0.0, 1.0)
MOVEMENT: Final = share(0.0, 0.02)
CLASSES: Final = Items(OneOf((*Hazard, NONE)), or_one=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfKeys(Keyed):
    """One thing on the shelf."""

    like: Annotated[str | None, Words(80), Key()] = None
    """The packaged thing it is taken from."""
    name: Annotated[str | None, Words(80), Key()] = None
    """What you call it; the name of `like` where left out."""

    def changes(self) -> dict[str, Any]:
        """Return the record's fields that the file states."""
        told = {key: each for key, each in stated(self).items() if key not in ("like", "name")}
        if "hazards" in told:
            told["hazards"] = Hazards(hazard_classes(told["hazards"]), Basis.STATED)
        return told


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterKeys(ShelfKeys):
    """A cutter.  Without `like`, what is left out is scaled from the nearest packaged one."""

    kind: Annotated[CutterKind | None, OneOf(CutterKind), Key("flat")] = None
    """Its shape."""
    diameter_mm: Annotated[float | None, length(0.0, 100.0, above=True), Key("1/8 in")] = None
    """Measured, if you can."""
    number: Annotated[int | None, Count(1, 999), Key("4")] = None
    """Its number, for a machine that changes by number; the next free one where left out."""
    tip_mm: Annotated[float | None, LENGTH_OR_NONE, Key("0.1 mm")] = None
    """The flat at the tip of a V cutter."""
    angle_rad: Annotated[float | None, TIP_ANGLE, Key("60 deg")] = None
    """The full angle of a V cutter, or of a drill's point."""
    flutes: Annotated[int | None, Count(1, 8), Key("2")] = None
    """Cutting edges."""
    flute_mm: Annotated[float | None, LENGTH, Key("12 mm", name="flute length")] = None
    """The length that cuts."""
    shank_mm: Annotated[float | None, LENGTH, Key("3.175 mm")] = None
    """Diameter of the shank."""
    reach_mm: Annotated[float | None, LENGTH, Key("20 mm")] = None
    """How far it stands out of the holder."""
    plunges: Annotated[bool | None, TRUTH, Key("yes")] = None
    """It may go straight down."""
    chip_mm: Annotated[
        float | None, length(0.0, 2.0, above=True), Key("0.03 mm", name="chip load")
    ] = None
    """Advance per cutting edge."""
    spindle_rpm: Annotated[
        float | None, Measured(Quantity.SPEED, 100.0, 100000.0), Key("18000 rpm")
    ] = None
    """Spindle speed."""
    marked_rpm: Annotated[
        float | None,
        Measured(Quantity.SPEED, 100.0, 200000.0),
        Key("18000 rpm", name="greatest speed"),
    ] = None
    """The greatest speed marked on it; what its width allows where left out."""
    pass_mm: Annotated[float | None, LENGTH, Key("1 mm", name="pass depth")] = None
    """Depth of one pass."""
    step: Annotated[float | None, share(0.01, 1.0), Key("40 %", name="step over")] = None
    """From pass to pass, as a share of the diameter."""
    life_holes: Annotated[int | None, Count(1, 100000), Key("800", name="sharp for")] = None
    """Holes that it drills before it is changed; 1500 are assumed where left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResinKeys(ShelfKeys):
    """A resin system; its clocks hold at the temperature `at`."""

    kind: Annotated[str | None, OneOf(("coating", "casting")), Key("coating")] = None
    """Its sort."""
    ratio: Annotated[Ratio | None, Proportion(), Key("100:44 by weight")] = None
    """Resin to hardener, by weight or by volume."""
    density_resin_g_cm3: Annotated[
        float | None, DENSITY, Key("1.15 g/cm3", name="resin density")
    ] = None
    """Of the resin."""
    density_hardener_g_cm3: Annotated[
        float | None, DENSITY, Key("0.97 g/cm3", name="hardener density")
    ] = None
    """Of the hardener."""
    tolerance: Annotated[float | None, share(above=True), Key("3 %", name="ratio tolerance")] = None
    """How far off the ratio may be."""
    pot_life_s: Annotated[float | None, SPAN, Key("25 min")] = None
    """From first contact, at `pot mass`."""
    pot_mass_g: Annotated[float | None, Measured(Quantity.MASS, 1.0, 5000.0), Key("100 g")] = None
    """The mass its pot life holds for."""
    cup_g: Annotated[
        float | None, Measured(Quantity.MASS, 1.0, 50000.0), Key("200 g", name="in one cup")
    ] = None
    """The most its label lets stand in one cup; its `pot mass` where the label names none."""
    viscosity_pa_s: Annotated[
        float | None, Measured(Quantity.VISCOSITY, 0.01, 100.0), Key("0.7 Pa s", name="viscosity")
    ] = None
    """Mixed."""
    recoat_from_s: Annotated[float | None, WAIT, Key("6 h")] = None
    """The next layer, at the soonest."""
    recoat_until_s: Annotated[float | None, WAIT, Key("18 h")] = None
    """The next layer without sanding, at the latest."""
    sandable_s: Annotated[float | None, WAIT, Key("24 h", name="sandable after")] = None
    """Hard enough to cut and sand."""
    cure_s: Annotated[float | None, WAIT, Key("7 days", name="cured after")] = None
    """Cured through."""
    at_c: Annotated[float | None, WARMTH, Key("25 degC")] = None
    """The temperature these times hold at."""
    floor_c: Annotated[float | None, WARMTH, Key("15 degC", name="coldest")] = None
    """It may stall below this."""
    layer_mm: Annotated[float | None, LENGTH, Key("6 mm", name="deepest pour")] = None
    """The deepest single pour."""
    shrinkage: Annotated[float | None, share(), Key("3 %")] = None
    """Volume lost in cure."""
    hazards: Annotated[tuple[str, ...] | None, CLASSES, Key("[fine dust]")] = None
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""

    def changes(self) -> dict[str, Any]:
        """Return the record's fields that the file states; a bare ratio is by weight."""
        told = ShelfKeys.changes(self)
        ratio: Ratio | None = told.pop("ratio", None)
        if ratio is not None:
            told |= {"ratio_resin": ratio.first, "ratio_hardener": ratio.second}
            if ratio.basis:
                told["by_weight"] = ratio.basis == "weight"
        return told


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinnerShelfKeys(ShelfKeys):
    """A solvent thinner."""

    density_g_cm3: Annotated[float | None, DENSITY, Key("0.79 g/cm3", name="density")] = None
    """At 20 degC."""
    evaporates: Annotated[float | None, share(), Key("100 %")] = None
    """The share that leaves before the resin gels."""
    flammable: Annotated[bool | None, TRUTH, Key("yes")] = None
    """It burns."""
    flash_point_c: Annotated[float | None, WARMTH, Key("12 degC")] = None
    """Flash point."""
    hazards: Annotated[tuple[str, ...] | None, CLASSES, Key("[fine dust]")] = None
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PigmentShelfKeys(ShelfKeys):
    """A pigment."""

    kind: Annotated[PigmentKind | None, OneOf(PigmentKind), Key("flake")] = None
    """Its sort."""
    colour: Annotated[str | None, COLOUR, Key('"#0f7d83"')] = None
    """In resin, well hidden."""
    density_g_cm3: Annotated[float | None, DENSITY, Key("2.9 g/cm3", name="density")] = None
    """True density."""
    bulk_g_cm3: Annotated[float | None, DENSITY, Key("0.35 g/cm3", name="bulk density")] = None
    """As it lies in a spoon."""
    share_low: Annotated[float | None, share(), Key("1 %", name="least share")] = None
    """Advised, at least, by weight."""
    share_high: Annotated[float | None, share(above=True), Key("5 %", name="most share")] = None
    """Advised, at most, by weight."""
    flake_mm: Annotated[float | None, LENGTH_OR_NONE, Key("0.06 mm", name="flake size")] = None
    """Of one flake or grain."""
    hides_mm: Annotated[float | None, LENGTH, Key("0.6 mm", name="hides at")] = None
    """The depth that hides what lies beneath."""
    mobile: Annotated[bool | None, TRUTH, Key("no", name="bleeds")] = None
    """It travels into bare wood."""
    hazards: Annotated[tuple[str, ...] | None, CLASSES, Key("[fine dust]")] = None
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SealerKeys(ShelfKeys):
    """A sealer for cut walls."""

    film_mm: Annotated[float | None, FILM, Key("0.02 mm")] = None
    """Thickness of a coat."""
    dry_s: Annotated[float | None, WAIT, Key("1 h", name="dry after")] = None
    """Dry."""
    fill_within_s: Annotated[float | None, WAIT, Key("24 h")] = None
    """How long after it a fill still bonds without abrading; 0 h for ever."""
    resin: Annotated[str | None, Words(60), Key("as the fill")] = None
    """The resin that it is, uncured, or `as the fill`: it is measured and waited for like a
    pour."""
    flammable: Annotated[bool | None, TRUTH, Key("yes")] = None
    """It burns while wet."""
    flash_point_c: Annotated[float | None, WARMTH, Key("12 degC")] = None
    """Flash point of the liquid."""
    hazards: Annotated[tuple[str, ...] | None, CLASSES, Key("[fine dust]")] = None
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishShelfKeys(ShelfKeys):
    """A clear finish."""

    film_mm: Annotated[float | None, FILM, Key("0.015 mm")] = None
    """Thickness of a coat."""
    recoat_s: Annotated[float | None, WAIT, Key("12 h", name="recoat after")] = None
    """The next coat, at the soonest."""
    flammable: Annotated[bool | None, TRUTH, Key("yes")] = None
    """It burns while wet."""
    flash_point_c: Annotated[float | None, WARMTH, Key("12 degC")] = None
    """Flash point of the liquid."""
    hazards: Annotated[tuple[str, ...] | None, CLASSES, Key("[fine dust]")] = None
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolKeys(ShelfKeys):
    """A measuring tool: weights for a scale, volumes for a vessel."""

    kind: Annotated[ToolKind | None, OneOf(ToolKind), Key("scale")] = None
    """Its sort."""
    step: Annotated[float | None, Held(), Key("0.01 g")] = None
    """The step of its display, or from mark to mark."""
    capacity: Annotated[float | None, Held(), Key("200 g")] = None
    """The most it holds."""
    drop: Annotated[float | None, Held(), Key("0.03 g")] = None
    """The least you can add on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimberKeys(ShelfKeys):
    """A timber."""

    radial_per_pct: Annotated[float | None, MOVEMENT, Key("0.126 %", name="radial movement")] = None
    """Change of size per percent of moisture, quarter-sawn."""
    tangential_per_pct: Annotated[
        float | None, MOVEMENT, Key("0.248 %", name="tangential movement")
    ] = None
    """Change of size per percent of moisture, flat-sawn."""
    gravity: Annotated[float | None, Factor(2.0), Key("0.5")] = None
    """Specific gravity at 12 %."""
    hardness_n: Annotated[float | None, Measured(Quantity.FORCE, 100.0, 30000.0), Key("4200 N")] = (
        None
    )
    """Side hardness."""
    pores: Annotated[str | None, OneOf(("closed", "semi", "open")), Key("closed")] = None
    """Pores."""
    colour: Annotated[str | None, COLOUR, Key('"#b4794c"')] = None
    """The finished wood."""
    grain_colour: Annotated[str | None, COLOUR, Key('"#8f5a36"')] = None
    """Its darker lines."""
    hazards: Annotated[tuple[str, ...] | None, CLASSES, Key("[fine dust]")] = None
    """What can harm in it, by its safety sheet; as listed for the packaged thing, or a cautious
    guess, where left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingKeys(ShelfKeys):
    """A way of holding and locating the blank."""

    how: Annotated[str | None, Words(), Key("double-sided tape")] = None
    """What holds it down."""
    locates_by: Annotated[str | None, Words(), Key("two dowels on the centre line")] = None
    """What puts it back in its place."""
    repeat_mm: Annotated[float | None, length(0.0, 5.0), Key("0.05 mm", name="repeatability")] = (
        None
    )
    """How far from its place it comes back, usually."""
    tape_share: Annotated[float | None, share(0.0, 1.0), Key("60 %", name="tape")] = None
    """How much of the blank's underside is taped; half where `how` speaks of tape."""
    clamps: Annotated[int | None, Count(0, 40), Key("4")] = None
    """How many clamps press on it; two where `how` speaks of clamps."""
    clamp_n: Annotated[
        float | None, Measured(Quantity.FORCE, 10.0, 20000.0), Key("300 N", name="clamp force")
    ] = None
    """How hard each of them presses; 300 N where left out."""
    pins: Annotated[int | None, Count(0, 40), Key("2")] = None
    """Dowels, pins and screws in the waste that take the push of a cutter; those that `how` and
    `locates by` speak of where left out."""
    locating: Annotated[Locating | None, Group(LocatingKeys), Key()] = None
    """Dowels or discs to be let in by cut files; none by default."""
    keep_outs: Annotated[
        tuple[KeepOut, ...] | None, Items(Group(KeepOutKeys), most=60), Key(name="keep clear of")
    ] = None
    """Its clamps and stops, that no cutter may come near."""
