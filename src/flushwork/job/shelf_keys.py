"""The keys of the things on a shop's shelf.

Every entry may be a plain name (taken from the packaged shelf) or a group of keys that changes a
thing named by ``like``, or makes a new one.  ``fields`` ties each key to its record's field.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

from pydantic import Field

from flushwork.job.art_keys import ColourText, Length, LengthOrNone, Truth
from flushwork.job.leaves import Count, Factor, Held, Measured
from flushwork.job.section import OrList, Section
from flushwork.job.waste_keys import KeepOutKeys, LocatingKeys
from flushwork.job.waste_records import keep_outs, locating
from flushwork.job.word_leaves import OneOf, Proportion, Words
from flushwork.shelf.hazards import NONE, Basis, Hazard, Hazards, hazard_classes
from flushwork.shelf.items import CutterKind, PigmentKind, ToolKind
from flushwork.units import Quantity, Ratio

Name = Annotated[str, Words(80)]
Share = Annotated[float, Measured(Quantity.SHARE, 0.0, 1.0)]
SomeShare = Annotated[float, Measured(Quantity.SHARE, 0.0, 1.0, above=True)]
Density = Annotated[float, Measured(Quantity.DENSITY, 0.05, 25.0)]
Span = Annotated[float, Measured(Quantity.TIME, 0.0, 30 * 86400.0, above=True)]
Wait = Annotated[float, Measured(Quantity.TIME, 0.0, 90 * 86400.0)]
Warmth = Annotated[float, Measured(Quantity.TEMPERATURE, -60.0, 120.0)]
Angle = Annotated[float, Measured(Quantity.ANGLE, 0.0, 3.1, above=True)]
Film = Annotated[float, Measured(Quantity.LENGTH, 0.0, 1.0)]
Movement = Annotated[float, Measured(Quantity.SHARE, 0.0, 0.02)]


Classes = Annotated[list[Annotated[str, OneOf((*Hazard, NONE))]], OrList()]


def _field(what: str, example: str) -> Any:
    return Field(default=None, description=what, examples=[example])


def _hazards() -> Any:
    return Field(
        default=None,
        description="What can harm in it, by its safety sheet; as listed for the packaged thing, or"
        " a cautious guess, where left out.",
        examples=["[fine dust]"],
    )


class ShelfKeys(Section):
    """One thing on the shelf."""

    fields: ClassVar[Mapping[str, str]] = {}

    like: Name | None = Field(default=None, description="The packaged thing it is taken from.")
    name: Name | None = Field(
        default=None, description="What you call it; the name of `like` where left out."
    )

    def changes(self) -> dict[str, Any]:
        """Return the record's fields that the file states."""
        stated = {field: getattr(self, key) for key, field in self.fields.items()}
        classes = getattr(self, "hazards", None)
        if classes is not None:
            stated["hazards"] = Hazards(hazard_classes(classes), Basis.STATED)
        return {field: value for field, value in stated.items() if value is not None}


class CutterKeys(ShelfKeys):
    """A cutter.  Without `like`, what is left out is scaled from the nearest packaged one."""

    fields: ClassVar[Mapping[str, str]] = {
        "kind": "kind",
        "diameter": "diameter_mm",
        "number": "number",
        "tip": "tip_mm",
        "angle": "angle_rad",
        "flutes": "flutes",
        "flute_length": "flute_mm",
        "shank": "shank_mm",
        "reach": "reach_mm",
        "plunges": "plunges",
        "chip_load": "chip_mm",
        "spindle": "spindle_rpm",
        "greatest_speed": "marked_rpm",
        "pass_depth": "pass_mm",
        "step_over": "step",
        "sharp_for": "life_holes",
    }

    kind: Annotated[str, OneOf(tuple(CutterKind))] | None = _field("Its shape.", "flat")
    diameter: Annotated[float, Measured(Quantity.LENGTH, 0.0, 100.0, above=True)] | None = _field(
        "Measured, if you can.", "1/8 in"
    )
    number: Annotated[int, Count(1, 999)] | None = _field(
        "Its number, for a machine that changes by number; the next free one where left out.", "4"
    )
    tip: LengthOrNone | None = _field("The flat at the tip of a V cutter.", "0.1 mm")
    angle: Angle | None = _field("The full angle of a V cutter, or of a drill's point.", "60 deg")
    flutes: Annotated[int, Count(1, 8)] | None = _field("Cutting edges.", "2")
    flute_length: Length | None = _field("The length that cuts.", "12 mm")
    shank: Length | None = _field("Diameter of the shank.", "3.175 mm")
    reach: Length | None = _field("How far it stands out of the holder.", "20 mm")
    plunges: Truth | None = _field("It may go straight down.", "yes")
    chip_load: Annotated[float, Measured(Quantity.LENGTH, 0.0, 2.0, above=True)] | None = _field(
        "Advance per cutting edge.", "0.03 mm"
    )
    spindle: Annotated[float, Measured(Quantity.SPEED, 100.0, 100000.0)] | None = _field(
        "Spindle speed.", "18000 rpm"
    )
    greatest_speed: Annotated[float, Measured(Quantity.SPEED, 100.0, 200000.0)] | None = _field(
        "The greatest speed marked on it; what its width allows where left out.", "18000 rpm"
    )
    pass_depth: Length | None = _field("Depth of one pass.", "1 mm")
    step_over: Annotated[float, Measured(Quantity.SHARE, 0.01, 1.0)] | None = _field(
        "From pass to pass, as a share of the diameter.", "40 %"
    )
    sharp_for: Annotated[int, Count(1, 100000)] | None = _field(
        "Holes that it drills before it is changed; 1500 are assumed where left out.", "800"
    )


class ResinKeys(ShelfKeys):
    """A resin system; its clocks hold at the temperature `at`."""

    fields: ClassVar[Mapping[str, str]] = {
        "kind": "kind",
        "resin_density": "density_resin_g_cm3",
        "hardener_density": "density_hardener_g_cm3",
        "ratio_tolerance": "tolerance",
        "pot_life": "pot_life_s",
        "pot_mass": "pot_mass_g",
        "in_one_cup": "cup_g",
        "viscosity": "viscosity_pa_s",
        "recoat_from": "recoat_from_s",
        "recoat_until": "recoat_until_s",
        "sandable_after": "sandable_s",
        "cured_after": "cure_s",
        "at": "at_c",
        "coldest": "floor_c",
        "deepest_pour": "layer_mm",
        "shrinkage": "shrinkage",
    }

    kind: Annotated[str, OneOf(("coating", "casting"))] | None = _field("Its sort.", "coating")
    ratio: Annotated[Ratio, Proportion()] | None = _field(
        "Resin to hardener, by weight or by volume.", "100:44 by weight"
    )
    resin_density: Density | None = _field("Of the resin.", "1.15 g/cm3")
    hardener_density: Density | None = _field("Of the hardener.", "0.97 g/cm3")
    ratio_tolerance: SomeShare | None = _field("How far off the ratio may be.", "3 %")
    pot_life: Span | None = _field("From first contact, at `pot mass`.", "25 min")
    pot_mass: Annotated[float, Measured(Quantity.MASS, 1.0, 5000.0)] | None = _field(
        "The mass its pot life holds for.", "100 g"
    )
    in_one_cup: Annotated[float, Measured(Quantity.MASS, 1.0, 50000.0)] | None = _field(
        "The most its label lets stand in one cup; its `pot mass` where the label names none.",
        "200 g",
    )
    viscosity: Annotated[float, Measured(Quantity.VISCOSITY, 0.01, 100.0)] | None = _field(
        "Mixed.", "0.7 Pa s"
    )
    recoat_from: Wait | None = _field("The next layer, at the soonest.", "6 h")
    recoat_until: Wait | None = _field("The next layer without sanding, at the latest.", "18 h")
    sandable_after: Wait | None = _field("Hard enough to cut and sand.", "24 h")
    cured_after: Wait | None = _field("Cured through.", "7 days")
    at: Warmth | None = _field("The temperature these times hold at.", "25 degC")
    coldest: Warmth | None = _field("It may stall below this.", "15 degC")
    deepest_pour: Length | None = _field("The deepest single pour.", "6 mm")
    shrinkage: Share | None = _field("Volume lost in cure.", "3 %")
    hazards: Classes | None = _hazards()

    def changes(self) -> dict[str, Any]:
        """Return the record's fields that the file states; a bare ratio is by weight."""
        stated = super().changes()
        if self.ratio is not None:
            stated |= {"ratio_resin": self.ratio.first, "ratio_hardener": self.ratio.second}
            if self.ratio.basis:
                stated["by_weight"] = self.ratio.basis == "weight"
        return stated


class ThinnerShelfKeys(ShelfKeys):
    """A solvent thinner."""

    fields: ClassVar[Mapping[str, str]] = {
        "density": "density_g_cm3",
        "evaporates": "evaporates",
        "flammable": "flammable",
        "flash_point": "flash_point_c",
    }

    density: Density | None = _field("At 20 degC.", "0.79 g/cm3")
    evaporates: Share | None = _field("The share that leaves before the resin gels.", "100 %")
    flammable: Truth | None = _field("It burns.", "yes")
    flash_point: Warmth | None = _field("Flash point.", "12 degC")
    hazards: Classes | None = _hazards()


class PigmentShelfKeys(ShelfKeys):
    """A pigment."""

    fields: ClassVar[Mapping[str, str]] = {
        "kind": "kind",
        "colour": "colour",
        "density": "density_g_cm3",
        "bulk_density": "bulk_g_cm3",
        "least_share": "share_low",
        "most_share": "share_high",
        "flake_size": "flake_mm",
        "hides_at": "hides_mm",
        "bleeds": "mobile",
    }

    kind: Annotated[str, OneOf(tuple(PigmentKind))] | None = _field("Its sort.", "flake")
    colour: ColourText | None = _field("In resin, well hidden.", '"#0f7d83"')
    density: Density | None = _field("True density.", "2.9 g/cm3")
    bulk_density: Density | None = _field("As it lies in a spoon.", "0.35 g/cm3")
    least_share: Share | None = _field("Advised, at least, by weight.", "1 %")
    most_share: SomeShare | None = _field("Advised, at most, by weight.", "5 %")
    flake_size: LengthOrNone | None = _field("Of one flake or grain.", "0.06 mm")
    hides_at: Length | None = _field("The depth that hides what lies beneath.", "0.6 mm")
    bleeds: Truth | None = _field("It travels into bare wood.", "no")
    hazards: Classes | None = _hazards()


class SealerKeys(ShelfKeys):
    """A sealer for cut walls."""

    fields: ClassVar[Mapping[str, str]] = {
        "film": "film_mm",
        "dry_after": "dry_s",
        "fill_within": "fill_within_s",
        "resin": "resin",
        "flammable": "flammable",
        "flash_point": "flash_point_c",
    }

    film: Film | None = _field("Thickness of a coat.", "0.02 mm")
    dry_after: Wait | None = _field("Dry.", "1 h")
    fill_within: Wait | None = _field(
        "How long after it a fill still bonds without abrading; 0 h for ever.", "24 h"
    )
    resin: Annotated[str, Words(60)] | None = _field(
        "The resin that it is, uncured, or `as the fill`: it is measured and waited for like a "
        "pour.",
        "as the fill",
    )
    flammable: Truth | None = _field("It burns while wet.", "yes")
    flash_point: Warmth | None = _field("Flash point of the liquid.", "12 degC")
    hazards: Classes | None = _hazards()


class FinishShelfKeys(ShelfKeys):
    """A clear finish."""

    fields: ClassVar[Mapping[str, str]] = {
        "film": "film_mm",
        "recoat_after": "recoat_s",
        "flammable": "flammable",
        "flash_point": "flash_point_c",
    }

    film: Film | None = _field("Thickness of a coat.", "0.015 mm")
    recoat_after: Wait | None = _field("The next coat, at the soonest.", "12 h")
    flammable: Truth | None = _field("It burns while wet.", "yes")
    flash_point: Warmth | None = _field("Flash point of the liquid.", "12 degC")
    hazards: Classes | None = _hazards()


class ToolKeys(ShelfKeys):
    """A measuring tool: weights for a scale, volumes for a vessel."""

    fields: ClassVar[Mapping[str, str]] = {
        "kind": "kind",
        "step": "step",
        "capacity": "capacity",
        "drop": "drop",
    }

    kind: Annotated[str, OneOf(tuple(ToolKind))] | None = _field("Its sort.", "scale")
    step: Annotated[float, Held()] | None = _field(
        "The step of its display, or from mark to mark.", "0.01 g"
    )
    capacity: Annotated[float, Held()] | None = _field("The most it holds.", "200 g")
    drop: Annotated[float, Held()] | None = _field("The least you can add on purpose.", "0.03 g")


class TimberKeys(ShelfKeys):
    """A timber."""

    fields: ClassVar[Mapping[str, str]] = {
        "radial_movement": "radial_per_pct",
        "tangential_movement": "tangential_per_pct",
        "gravity": "gravity",
        "hardness": "hardness_n",
        "pores": "pores",
        "colour": "colour",
        "grain_colour": "grain_colour",
    }

    radial_movement: Movement | None = _field(
        "Change of size per percent of moisture, quarter-sawn.", "0.126 %"
    )
    tangential_movement: Movement | None = _field(
        "Change of size per percent of moisture, flat-sawn.", "0.248 %"
    )
    gravity: Annotated[float, Factor(2.0)] | None = _field("Specific gravity at 12 %.", "0.5")
    hardness: Annotated[float, Measured(Quantity.FORCE, 100.0, 30000.0)] | None = _field(
        "Side hardness.", "4200 N"
    )
    pores: Annotated[str, OneOf(("closed", "semi", "open"))] | None = _field("Pores.", "closed")
    colour: ColourText | None = _field("The finished wood.", '"#b4794c"')
    grain_colour: ColourText | None = _field("Its darker lines.", '"#8f5a36"')
    hazards: Classes | None = _hazards()


class HoldingKeys(ShelfKeys):
    """A way of holding and locating the blank."""

    fields: ClassVar[Mapping[str, str]] = {
        "how": "how",
        "locates_by": "locates_by",
        "repeatability": "repeat_mm",
        "tape": "tape_share",
        "clamps": "clamps",
        "clamp_force": "clamp_n",
        "pins": "pins",
    }

    how: Annotated[str, Words()] | None = _field("What holds it down.", "double-sided tape")
    locates_by: Annotated[str, Words()] | None = _field(
        "What puts it back in its place.", "two dowels on the centre line"
    )
    repeatability: Annotated[float, Measured(Quantity.LENGTH, 0.0, 5.0)] | None = _field(
        "How far from its place it comes back, usually.", "0.05 mm"
    )
    tape: Annotated[float, Measured(Quantity.SHARE, 0.0, 1.0)] | None = _field(
        "How much of the blank's underside is taped; half where `how` speaks of tape.", "60 %"
    )
    clamps: Annotated[int, Count(0, 40)] | None = _field(
        "How many clamps press on it; two where `how` speaks of clamps.", "4"
    )
    clamp_force: Annotated[float, Measured(Quantity.FORCE, 10.0, 20000.0)] | None = _field(
        "How hard each of them presses; 300 N where left out.", "300 N"
    )
    pins: Annotated[int, Count(0, 40)] | None = _field(
        "Dowels, pins and screws in the waste that take the push of a cutter; those that"
        " `how` and `locates by` speak of where left out.",
        "2",
    )
    locating: LocatingKeys | None = Field(
        default=None, description="Dowels or discs to be let in by cut files; none by default."
    )
    keep_clear_of: Annotated[list[KeepOutKeys], Field(max_length=60)] | None = Field(
        default=None, description="Its clamps and stops, that no cutter may come near."
    )

    def changes(self) -> dict[str, Any]:
        """Return the record's fields that the file states."""
        stated = super().changes()
        if self.locating is not None:
            stated["locating"] = locating(self.locating)
        if self.keep_clear_of is not None:
            stated["keep_outs"] = keep_outs(self.keep_clear_of)
        return stated
