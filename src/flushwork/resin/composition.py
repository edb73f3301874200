"""What a mix is made of, by volume and by mass, from parts to shares and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flushwork.job.records import Mix
from flushwork.shelf.items import Pigment, Resin, Thinner

RESIN = "resin"
HARDENER = "hardener"
THINNER = "thinner"
PIGMENT = "pigment"
CLEAR = "clear"
REST = "rest"


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One ingredient: its name, its kind, and how much of it there is both ways."""

    name: str
    kind: str
    volume_cm3: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class Composition:
    """A mixture taken as ideal: volumes add, masses add."""

    ingredients: tuple[Ingredient, ...]

    @property
    def volume_cm3(self) -> float:
        """The whole volume; a pigment counts with its true volume, not its bulk."""
        return sum(each.volume_cm3 for each in self.ingredients)

    @property
    def mass_g(self) -> float:
        """The whole mass."""
        return sum(each.mass_g for each in self.ingredients)

    @property
    def density_g_cm3(self) -> float:
        """Mass over volume."""
        return self.mass_g / self.volume_cm3

    def volume_of(self, *kinds: str) -> float:
        """Return the volume of some kinds of ingredient, in cm3."""
        return sum(each.volume_cm3 for each in self.ingredients if each.kind in kinds)

    def mass_of(self, *kinds: str) -> float:
        """Return the mass of some kinds of ingredient, in g."""
        return sum(each.mass_g for each in self.ingredients if each.kind in kinds)


def volume_parts_to_weight(
    hardener_per_resin: float, density_resin_g_cm3: float, density_hardener_g_cm3: float
) -> float:
    """Return g of hardener per g of resin, from cm3 of hardener per cm3 of resin."""
    return hardener_per_resin * density_hardener_g_cm3 / density_resin_g_cm3


def weight_parts_to_volume(
    hardener_per_resin: float, density_resin_g_cm3: float, density_hardener_g_cm3: float
) -> float:
    """Return cm3 of hardener per cm3 of resin, from g of hardener per g of resin."""
    return hardener_per_resin * density_resin_g_cm3 / density_hardener_g_cm3


def ratio_by_weight(
    ratio_resin: float,
    ratio_hardener: float,
    *,
    by_weight: bool,
    density_resin_g_cm3: float,
    density_hardener_g_cm3: float,
) -> float:
    """Return g of hardener per g of resin for parts given by weight or by volume."""
    parts = ratio_hardener / ratio_resin
    if by_weight:
        return parts
    return volume_parts_to_weight(parts, density_resin_g_cm3, density_hardener_g_cm3)


def mix_ratio_by_weight(mix: Mix) -> float:
    """Return the g of hardener per g of resin that the job says will be measured."""
    return ratio_by_weight(
        mix.ratio_resin,
        mix.ratio_hardener,
        by_weight=mix.by_weight,
        density_resin_g_cm3=mix.resin.density_resin_g_cm3,
        density_hardener_g_cm3=mix.resin.density_hardener_g_cm3,
    )


def from_parts(
    resin: Resin,
    resin_cm3: float,
    hardener_cm3: float,
    thinner: Thinner | None = None,
    thinner_cm3: float = 0.0,
    *,
    pigments: Sequence[tuple[Pigment, float]] = (),
) -> Composition:
    """Return the composition of measured parts; pigments come as (pigment, g)."""
    ingredients = [
        Ingredient(resin.name, RESIN, resin_cm3, resin_cm3 * resin.density_resin_g_cm3),
        Ingredient(
            f"{resin.name} hardener",
            HARDENER,
            hardener_cm3,
            hardener_cm3 * resin.density_hardener_g_cm3,
        ),
    ]
    if thinner is not None and thinner_cm3 > 0.0:
        ingredients.append(
            Ingredient(thinner.name, THINNER, thinner_cm3, thinner_cm3 * thinner.density_g_cm3)
        )
    ingredients.extend(
        Ingredient(pigment.name, PIGMENT, mass_g / pigment.density_g_cm3, mass_g)
        for pigment, mass_g in pigments
    )
    return Composition(tuple(ingredients))


def mix_density_g_cm3(mix: Mix) -> float:
    """Return the density of a mix, thinner and pigments included."""
    return compose(mix, 1.0).density_g_cm3


def compose(mix: Mix, volume_cm3: float) -> Composition:
    """Return what makes ``volume_cm3`` of a mix, thinner and pigments included."""
    resin = mix.resin
    hardener_g = mix_ratio_by_weight(mix)
    resin_cm3 = 1.0 / resin.density_resin_g_cm3
    hardener_cm3 = hardener_g / resin.density_hardener_g_cm3
    thinner_share = mix.thinner_share if mix.thinner is not None else 0.0
    unit = from_parts(
        resin,
        resin_cm3,
        hardener_cm3,
        mix.thinner,
        (resin_cm3 + hardener_cm3) * thinner_share / (1.0 - thinner_share),
        pigments=[(each.pigment, each.share * (1.0 + hardener_g)) for each in mix.pigments],
    )
    return scaled(unit, volume_cm3 / unit.volume_cm3)


def scaled(composition: Composition, factor: float) -> Composition:
    """Return the same mixture in another amount."""
    return Composition(
        tuple(
            Ingredient(each.name, each.kind, each.volume_cm3 * factor, each.mass_g * factor)
            for each in composition.ingredients
        )
    )
